"""Verbs that put a plan on paper: draw and sheet."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from filmwright.desk.accepted import informed
from filmwright.desk.answers import FilesAnswer
from filmwright.desk.bench import Bench
from filmwright.desk.edge_pages import EDGES_PAGE, edges_page
from filmwright.desk.files import Work, load, record_if_any, today, write
from filmwright.desk.places import Box, box_of
from filmwright.emulate import (
    Look,
    Trace,
    end_traces,
    film_results,
    looks_of,
    mark_contrasts,
    walk,
    with_colours,
    with_outlook,
)
from filmwright.errors import BadInput, Problem
from filmwright.outputs import (
    FRAME,
    Legend,
    Lot,
    Story,
    findings_html,
    frame_png,
    gif_of,
    legend_of,
    plan_window_svg,
    run_sheet_of,
    run_sheet_pdf,
    story_html,
    story_of,
    view_window_svg,
)
from filmwright.review import Finding
from filmwright.review import review as judge

Tell = Callable[[int, int, str], None]
"""Called with how many frames are drawn, of how many, and which one comes."""

_MEGABYTE = 1e6


def draw(  # noqa: PLR0913 - one for each thing that can be asked for
    plan: Path | None = None,
    lab: Path | None = None,
    cut: str = "",
    into: Path | None = None,
    on: str = "",
    png: Path | None = None,
    gif: Path | None = None,
    window: str = "",
    lot: str = "",
    wafer: str = "",
    at: str = "",
    record: Path | None = None,
    tell: Tell | None = None,
) -> FilesAnswer:
    """One cross-section per step and one page that steps through them.

    Parameters
    ----------
    plan, lab, cut, on
        As for every verb that walks a plan.
    into : Path or None
        Folder; ``pictures`` beside the plan when None.
    png : Path or None
        Folder for one picture a step, with its caption.
    gif : Path or None
        File for all of them, moving.
    window : str
        A place of the die to be drawn by itself: the name of a device, or four lengths x0, y0, x1, y1 of the drawing.
    lot, wafer, at, record
        A wafer of a lot as it is, instead of a plan: see :func:`filmwright.desk.lot_pictures.draw_wafer`.
    tell : callable or None
        Told of each frame.
    """
    if lot or plan is None:
        return _of_lot(plan, lot, wafer, at, record, into)
    work = load(plan, lab)
    trace = walk(work.flow, work.lab, work.facts, work.drawing, on=on or today(), cut=cut or None)
    box = box_of(window, trace, plan) if window else None
    folder = into or plan.parent / "pictures"
    legend, looks, findings = (
        legend_of(work.facts.materials),
        seen_at_each_step(trace),
        judge(trace, work.facts),
    )
    ends = end_traces(trace, work.facts)
    coloured = with_colours(trace, looks, mark_contrasts(trace, work.facts))
    story = story_of(coloured, findings, legend, looks, ends)
    edges, kinds_of_edges = edges_page(trace, work)
    answer = _written(replace(story, edges_page=EDGES_PAGE if edges else ""), findings, trace, folder)
    if edges:
        answer = _with(answer, (write(folder / EDGES_PAGE, edges),), kinds_of_edges)
    if box is not None:
        answer = _with(answer, *_of_window(trace, looks[-1], legend, box, folder))
    if png or gif:
        answer = _with(answer, *_moving(story, png, gif, tell))
    return answer


def _of_lot(
    plan: Path | None, lot: str, wafer: str, at: str, record: Path | None, into: Path | None
) -> FilesAnswer:
    """A wafer of a lot; its plan is the one that the record keeps."""
    if plan is not None or not lot:
        raise BadInput(
            Problem(
                what="what is drawn",
                expected="a plan, or --lot with a lot of the record",
                got=f"{plan} and lot {lot}" if lot else "neither",
                why="the lot has its own plan, frozen when it began",
                remedy="leave one of the two out" if lot else "name the plan, such as my-run/plan.yaml",
            )
        )
    from filmwright.desk.lot_pictures import draw_wafer

    return draw_wafer(lot, wafer, at, record, into)


def drawn(trace: Trace, work: Work, findings: tuple[Finding, ...], folder: Path) -> FilesAnswer:
    """Write the pictures of a walked flow into a folder."""
    looks = seen_at_each_step(trace)
    story = story_of(
        with_colours(trace, looks, mark_contrasts(trace, work.facts)),
        findings,
        legend_of(work.facts.materials),
        looks,
        end_traces(trace, work.facts),
    )
    return _written(story, findings, trace, folder)


def _written(story: Story, findings: tuple[Finding, ...], trace: Trace, folder: Path) -> FilesAnswer:
    pages = [
        write(folder / "steps.html", story_html(story)),
        write(folder / "findings.html", findings_html(findings, story.title, invented=story.invented)),
    ]
    sections = [
        write(folder / "sections" / f"{_name(place, each.title)}.svg", each.section)
        for place, each in enumerate(story.steps, start=1)
        if each.section
    ]
    along = f'{len(sections)} sections along the cut "{trace.cut}" ({trace.cut_length_nm / 1000:.4g} µm)'
    said = (along if trace.start.section is not None else "no drawing, so no section: columns of films",)
    return FilesAnswer(written=(*pages, *sections), open=pages[0], said=said)


def _with(answer: FilesAnswer, files: tuple[Path, ...], said: str) -> FilesAnswer:
    return FilesAnswer(written=(*answer.written, *files), open=answer.open, said=(*answer.said, said))


def _moving(
    story: Story, png: Path | None, gif: Path | None, tell: Tell | None
) -> tuple[tuple[Path, ...], str]:
    """The frames of the story as files."""
    frames = []
    for place, step in enumerate(story.steps):
        if tell is not None:
            tell(place, len(story.steps), f"frame {step.number} {step.title}"[:46])
        frames.append(frame_png(story, place))
    files = []
    if png is not None:
        for place, (step, frame) in enumerate(zip(story.steps, frames, strict=True), start=1):
            files.append(write(png / f"{_name(place, step.title)}.png", frame))
    if gif is not None:
        files.append(write(gif, gif_of(frames, [step.seconds for step in story.steps])))
    size = sum(path.stat().st_size for path in files) / _MEGABYTE
    return tuple(files), f"{len(frames)} frames of {FRAME[0]} × {FRAME[1]} dots, {size:.1f} MB"


def _of_window(
    trace: Trace, look: Look, legend: Legend, box: Box, folder: Path
) -> tuple[tuple[Path, ...], str]:
    """A window of the finished die, by materials and as a microscope shows it."""
    x0, y0, x1, y1 = box
    files = (
        write(folder / "window.svg", plan_window_svg(trace, legend, box)),
        write(folder / "window-seen.svg", view_window_svg(look, box)),
    )
    return files, f"window of the finished die, {(x1 - x0) / 1000:.4g} µm × {(y1 - y0) / 1000:.4g} µm"


def seen_at_each_step(trace: Trace) -> tuple[Look, ...]:
    """How the die looks as bought and after each step, under daylight, straight down."""
    own = {film: each.value for film, each in film_results(trace.states, "refractive index").items()}
    return looks_of([trace.start.plan, *(state.wafer.plan for state in trace.states)], own=own)


def _name(place: int, title: str) -> str:
    return f"{place:02d}-{re.sub(r'[^a-z0-9]+', '-', title.lower()).strip('-')[:48]}"


def sheet(
    plan: Path,
    lab: Path | None = None,
    lot: str = "",
    wafers: int = 2,
    into: Path | None = None,
    record: str | Path | None = None,
    on: str = "",
) -> FilesAnswer:
    """The run sheet as PDF; with a lot that was started, of its newest flow, for its wafers and with what was accepted since."""
    work = informed(plan, lab, record)
    names = tuple(f"W{number}" for number in range(1, wafers + 1))
    place = record_if_any(record)
    other: tuple[str, ...] = ()
    if lot and place is not None:
        with Bench.open(place) as bench:
            names = bench.lot(lot).wafers
            if bench.flow_text(lot) != work.flow.text:
                number = bench.versions(lot)[-1].number
                other = (
                    f"it is of version {number} of the lot's flow, which is not the text of {plan.name}",
                )
                work = replace(work, flow=bench.flow(lot))
    day = on or today()
    trace = walk(work.flow, work.lab, work.facts, work.drawing, on=day)
    findings = judge(trace, work.facts)
    path = into or plan.parent / "run-sheet.pdf"
    write(path, sheet_of(trace, work, findings, Lot(name=lot, wafers=names, date=day)))
    stops = sum(each.severity == "stop" for each in findings)
    said = (
        f"{len(trace.states)} steps for {', '.join(names)}",
        *other,
        *((f"{stops} stop findings are printed on it: mend the plan first",) if stops else ()),
    )
    return FilesAnswer(written=(path,), open=path, said=said)


def sheet_of(trace: Trace, work: Work, findings: tuple[Finding, ...], lot: Lot) -> bytes:
    """The PDF of a walked flow."""
    legend = legend_of(work.facts.materials)
    coloured = with_colours(trace, seen_at_each_step(trace), mark_contrasts(trace, work.facts))
    coloured = with_outlook(coloured, work.facts, drawing=work.drawing)
    return run_sheet_pdf(run_sheet_of(coloured, findings, lot, legend))
