"""Where was I: after an hour or after weeks, what was done last, where the wafers are, what comes next; and handing over."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import islice

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from filmwright.desk.bench import Bench, HandOver, Progress, hand_over, where_was_i
from filmwright.web.coming import coming_of
from filmwright.web.context import bench_of
from filmwright.web.forms import Form, posted, to
from filmwright.web.render import page

_SAID: Mapping[str, str] = {
    "start": "began", "finish": "finished", "skip": "skipped", "repeat": "repeats", "rework": "goes back to",
    "note": "noted", "hold": "decided", "timer": "set a timer", "handover": "handed over to", "place": "moved",
    "cleave": "cut off", "leave": "gave to lot", "enter": "took in from lot", "flow": "saved a new version of the flow",
    "split": "split", "photo": "took a photo of", "extra": "did an extra step", "acknowledge": "accepted",
}  # fmt: skip
_LINES = 12


@dataclass(frozen=True, kw_only=True)
class Told:
    """One moment of the log in words: what one person wrote of one step at one time.

    Attributes
    ----------
    happened, who : str
    said : str
        What was done.
    code, title : str
        Of the step; empty for the lot as a whole.
    wafers : tuple of str
        Empty: all.
    words : str
    """

    happened: str
    who: str
    said: str
    code: str = ""
    title: str = ""
    wafers: tuple[str, ...] = ()
    words: str = ""


def told(bench: Bench, lot: str, progress: Progress) -> Iterator[Told]:
    """The log backwards; entries of several wafers at one time are one line, values are left to the step's own page."""
    steps = {step.number: step for step in progress.steps}
    waiting: Told | None = None
    over: set[tuple[str, str]] = set()
    for event in reversed(bench.events(lot)):
        place = (event.step, event.wafer)
        if event.kind == "finish":
            over.add(place)
        # That a step began says nothing more once it was finished.
        if event.kind not in _SAID or (event.kind == "start" and place in over):
            continue
        step = steps.get(event.step)
        more = event.name if event.kind in ("handover", "hold", "timer", "cleave", "leave", "enter") else ""
        line = Told(
            happened=event.happened,
            who=event.who,
            said=f"{_SAID[event.kind]} {more}".strip(),
            code=step.code if step else event.step,
            title=step.title if step else "",
            wafers=(event.wafer,) if event.wafer else (),
            words=event.text,
        )
        if waiting is not None and _same(waiting, line):
            waiting = Told(**{**vars(waiting), "wafers": tuple(sorted({*waiting.wafers, *line.wafers}))})
        else:
            if waiting is not None:
                yield waiting
            waiting = line
    if waiting is not None:
        yield waiting


def _same(first: Told, second: Told) -> bool:
    return {**vars(first), "wafers": ()} == {**vars(second), "wafers": ()}


def resume_page(request: Request) -> Response:
    """The page."""
    bench, name = bench_of(request), request.path_params["lot"]
    lot, progress, then = bench.lot(name), bench.progress(name), where_was_i(bench, name)
    lines = list(islice(told(bench, name, progress), _LINES + 1))
    return page(
        request,
        "resume.html",
        title="Where was I",
        lot=lot.name,
        started=lot.started,
        note=lot.note,
        then=then,
        progress=progress,
        coming=coming_of(bench, name, (*then.expired, *then.running)),
        lines=lines,
    )


def give(request: Request, form: Form) -> Response:
    """Give the lot to another person; who takes it is written down."""
    lot = request.path_params["lot"]
    asked = HandOver(
        lot=lot,
        to=form.text("to", limit=60),
        who=form.who,
        note=form.text("words", limit=2000),
        id=form.entry_id,
    )
    hand_over(bench_of(request), asked)
    return to(f"/lot/{lot}/resume")


routes = [
    Route("/lot/{lot}/resume", resume_page),
    Route("/lot/{lot}/hand-over", posted(give, needs="log"), methods=["POST"]),
]
