"""Verbs that put a plan on paper: draw and sheet."""

from __future__ import annotations

import re
from pathlib import Path

from filmwright.desk.accepted import informed
from filmwright.desk.answers import FilesAnswer
from filmwright.desk.files import RECORD_NAME, Work, load, today, write
from filmwright.emulate import Look, Trace, looks_of, walk
from filmwright.outputs import (
    Lot,
    findings_html,
    legend_of,
    run_sheet_of,
    run_sheet_pdf,
    story_html,
    story_of,
)
from filmwright.record import Store
from filmwright.review import Finding
from filmwright.review import review as judge


def draw(
    plan: Path, lab: Path | None = None, cut: str = "", into: Path | None = None, on: str = ""
) -> FilesAnswer:
    """One cross-section per step and one page that steps through them."""
    work = load(plan, lab)
    trace = walk(work.flow, work.lab, work.facts, work.drawing, on=on or today(), cut=cut or None)
    return drawn(trace, work, judge(trace, work.facts), into or plan.parent / "pictures")


def drawn(trace: Trace, work: Work, findings: tuple[Finding, ...], folder: Path) -> FilesAnswer:
    """Write the pictures of a walked flow into a folder."""
    story = story_of(trace, findings, legend_of(work.facts.materials), seen_at_each_step(trace))
    pages = [
        write(folder / "steps.html", story_html(story)),
        write(
            folder / "findings.html", findings_html(findings, trace.flow.title, invented=trace.flow.invented)
        ),
    ]
    sections = [
        write(folder / "sections" / _name(place, each.title), each.section)
        for place, each in enumerate(story.steps, start=1)
        if each.section
    ]
    along = f'{len(sections)} sections along the cut "{trace.cut}" ({trace.cut_length_nm / 1000:.4g} µm)'
    said = (along if trace.start.section is not None else "no drawing, so no section: columns of films",)
    return FilesAnswer(written=(*pages, *sections), open=pages[0], said=said)


def seen_at_each_step(trace: Trace) -> tuple[Look, ...]:
    """How the die looks as bought and after each step, under daylight, straight down."""
    return looks_of([trace.start.plan, *(state.wafer.plan for state in trace.states)])


def _name(place: int, title: str) -> str:
    return f"{place:02d}-{re.sub(r'[^a-z0-9]+', '-', title.lower()).strip('-')[:48]}.svg"


def sheet(
    plan: Path,
    lab: Path | None = None,
    lot: str = "",
    wafers: int = 2,
    into: Path | None = None,
    record: Path | None = None,
    on: str = "",
) -> FilesAnswer:
    """The run sheet as PDF; with a lot that was started, for its wafers and with what was accepted since."""
    work = informed(plan, lab, record)
    names = tuple(f"W{number}" for number in range(1, wafers + 1))
    place = record or Path(RECORD_NAME)
    if lot and (record is not None or place.is_file()):
        with Store.open(place) as store:
            names = store.lot(lot).wafers
    day = on or today()
    trace = walk(work.flow, work.lab, work.facts, work.drawing, on=day)
    findings = judge(trace, work.facts)
    path = into or plan.parent / "run-sheet.pdf"
    write(path, sheet_of(trace, work, findings, Lot(name=lot, wafers=names, date=day)))
    stops = sum(each.severity == "stop" for each in findings)
    said = (
        f"{len(trace.states)} steps for {', '.join(names)}",
        *((f"{stops} stop findings are printed on it: mend the plan first",) if stops else ()),
    )
    return FilesAnswer(written=(path,), open=path, said=said)


def sheet_of(trace: Trace, work: Work, findings: tuple[Finding, ...], lot: Lot) -> bytes:
    """The PDF of a walked flow."""
    legend = legend_of(work.facts.materials)
    return run_sheet_pdf(run_sheet_of(trace, findings, lot, legend))
