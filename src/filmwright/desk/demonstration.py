"""The verb demo: the whole job on the bundled examples, which are invented throughout."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Sequence
from pathlib import Path

from filmwright.desk.answers import FilesAnswer
from filmwright.desk.explain import Story, gather
from filmwright.desk.files import Work, load, write
from filmwright.desk.invent import invent
from filmwright.desk.learning import compared
from filmwright.desk.lots import keep_drawing, new_lot
from filmwright.desk.pictures import drawn, sheet_of
from filmwright.desk.planning import EXAMPLES, new
from filmwright.desk.reporting import content_of
from filmwright.emulate import Trace, walk
from filmwright.errors import BadInput, Problem
from filmwright.outputs import (
    IndexFlow,
    IndexLink,
    final_plan_svg,
    final_section_svg,
    index_html,
    legend_of,
    report_html,
)
from filmwright.outputs import (
    Lot as SheetLot,
)
from filmwright.record import Lot, MeasurementFile, Store
from filmwright.review import Finding, counts
from filmwright.review import review as judge
from filmwright.units import convert, to_si

DAY, STARTED, SEED = "2026-10-26", "2026-10-26T08:30:00+01:00", 20261026
"""Day, hour and seed of the invented run."""

_MARK = ".made-by-filmwright-demo"
_WAFERS = 2

SIZES = "devices.csv"
"""Beside the folder of the invented curves: which file is which device, and its sizes."""

Tell = Callable[[int, int, str], None]


def demo(folder: Path = Path("demo"), tell: Tell | None = None) -> FilesAnswer:
    """Plan, review, pictures, sheet, an invented run, curves, comparison, next run and report, into one folder."""
    _clear(folder)
    say = _Counter(tell, total=3 * len(EXAMPLES) + 4)
    flows, written = [], []
    for example in EXAMPLES:
        place = folder / example
        say(f"{example}: plan, masks, lab")
        new(place, example, on=DAY)
        work = load(place / "plan.yaml")
        say(f"{example}: walk and review")
        trace = walk(work.flow, work.lab, work.facts, work.drawing, on=DAY)
        findings = judge(trace, work.facts)
        say(f"{example}: pictures and run sheet")
        drawn(trace, work, findings, place / "pictures")
        first = example == EXAMPLES[0]
        lot = (
            new_lot(
                work, place / "plan.yaml", _WAFERS, "an invented run of the bundled example", STARTED, SEED
            )
            if first
            else None
        )
        names = lot.wafers if lot else ("W1", "W2")
        write(
            place / "run-sheet.pdf",
            sheet_of(trace, work, findings, SheetLot(name=lot.name if lot else "", wafers=names, date=DAY)),
        )
        more: tuple[IndexLink, ...] = ()
        if lot is not None:
            more = _run(place, lot, work, trace, say)
        flows.append(_entry(example, work, trace, findings, more))
        written.append(place)
    say("index")
    page = write(
        folder / "index.html",
        index_html("The whole job, on invented examples", _INTRO, flows, commands=_commands()),
    )
    say("done")
    return FilesAnswer(
        written=(page, *written), open=page, said=("Everything here is invented: plan, lab, run and curves.",)
    )


_INTRO = (
    "Three plans of an invented lab, from a stack and masks to a run sheet; the first one was also run, probed and explained. "
    "Every number says where it comes from."
)


def _commands() -> tuple[str, ...]:
    return (
        "filmwright new my-run",
        "filmwright review my-run/plan.yaml",
        "filmwright settings my-run/plan.yaml",
        "filmwright sheet my-run/plan.yaml",
        "filmwright predict my-run/plan.yaml --device T07",
        'filmwright extract humidity-switch/curves/W1-T07.csv --width "100 um" --length "5 um" --capacitance "180 nF/cm^2"',
    )


def _run(
    place: Path, lot: Lot, work: Work, trace: Trace, say: Callable[[str], None]
) -> tuple[IndexLink, ...]:
    record = place / "record.sqlite"
    say("an invented run of two wafers")
    with Store.open(record, create=True) as store:
        store.start_lot(lot)
        keep_drawing(store, lot, place / "plan.yaml", work)
        invent(store, lot, trace, work.drawing, work.facts)
        say("comparison of plan, run and measurement")
        story = gather(store, lot.name, sections=True)
        head = store.verify(lot.name).head
        kept = store.files(lot.name)
        for each in kept:
            write(place / "curves" / each.name, store.raw(each.sha256))
        write(place / SIZES, _sizes(story, kept))
    compared(story, place / "comparison.html")
    say("report of the lot")
    write(place / "report.html", report_html(content_of(story, head)))
    return (
        IndexLink(
            href=f"{place.name}/report.html",
            title="Report of the lot",
            what="yield by cause, parameters with intervals, what to change next",
        ),
        IndexLink(
            href=f"{place.name}/comparison.html",
            title="Predicted and measured",
            what="as planned, as run and measured side by side",
        ),
    )


def _sizes(story: Story, kept: Sequence[MeasurementFile]) -> str:
    """A table of the devices of the kept files: what statistics, lengths and extract want to know of each."""
    rows = ["file,wafer,device,W [um],L [um],x [mm],y [mm]"]
    for each in kept:
        found = story.planned.devices.named(each.device)
        if found is not None and found.width and found.length:
            x, y = (convert(to_si(at, "nm"), "mm") for at in found.place)
            sizes = f"{convert(found.width, 'um'):.2f},{convert(found.length, 'um'):.2f}"
            rows.append(f"{each.name},{each.wafer},{each.device},{sizes},{x:.3f},{y:.3f}")
    return "\n".join(rows) + "\n"


def _entry(
    example: str, work: Work, trace: Trace, findings: tuple[Finding, ...], more: tuple[IndexLink, ...]
) -> IndexFlow:
    legend = legend_of(work.facts.materials)
    found = counts(findings)
    return IndexFlow(
        title=work.flow.title,
        because=work.flow.because,
        digest=work.flow.digest,
        picture=final_section_svg(trace, legend, prefix=f"{example}-s-"),
        plan=final_plan_svg(trace, legend, prefix=f"{example}-p-"),
        stops=found["stop"],
        warns=found["warn"],
        notes=found["note"],
        links=(
            *more,
            IndexLink(
                href=f"{example}/run-sheet.pdf",
                title="Run sheet",
                what="PDF to print, with boxes for what was really done",
            ),
            IndexLink(
                href=f"{example}/pictures/steps.html",
                title="Step by step",
                what="section and plan after each step",
            ),
            IndexLink(
                href=f"{example}/pictures/findings.html",
                title="Findings",
                what="what a review says before day one",
            ),
            IndexLink(href=f"{example}/plan.yaml", title="The plan", what="the text behind all of it"),
            IndexLink(href=f"{example}/lab.yaml", title="The lab file", what="tools, calibrations, limits"),
        ),
        invented=work.flow.invented,
    )


def _clear(folder: Path) -> None:
    """Make the folder anew; one that this verb did not make is never touched."""
    if folder.exists() and any(folder.iterdir()) and not (folder / _MARK).exists():
        raise BadInput(
            Problem(
                what="the folder of the demo",
                expected="empty, missing, or made by an earlier demo",
                got="a folder with other files",
                why="its content would be lost",
                remedy="name another folder: filmwright demo my-demo",
                file=str(folder),
            )
        )
    shutil.rmtree(folder, ignore_errors=True)
    write(folder / _MARK, "This folder is made anew by each demo.\n")


class _Counter:
    """Tells how far the demo is."""

    def __init__(self, tell: Tell | None, total: int) -> None:
        self.tell, self.total, self.done = tell, total, 0

    def __call__(self, what: str) -> None:
        if self.tell is not None:
            self.tell(self.done, self.total, what)
        self.done += 1
