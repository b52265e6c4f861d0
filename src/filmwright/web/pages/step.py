"""A step at the bench, and the clocks that run in its lot."""

from __future__ import annotations

import json

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from filmwright.desk.bench.step_card import FIRST, Knob, StepCard, step_card, worked_out
from filmwright.web.context import bench_of
from filmwright.web.pages.pictures import picture_address
from filmwright.web.render import page, static_digest

_SAME = "read the same as planned"
"""What an as-run value says that was confirmed, not keyed in; the plan itself is never written as what was done."""
_WORDS = {
    "waiting": "Not yet", "ready": "Ready", "running": "Running", "held": "Hold point", "done": "Done",
    "skipped": "Skipped", "rework": "To be done again", "scrapped": "Scrapped", "away": "In another lot",
}  # fmt: skip


def step_page(request: Request) -> Response:
    """One step, for one wafer or for all."""
    lot, code = request.path_params["lot"], request.path_params["code"]
    card = step_card(bench_of(request), lot, code, request.query_params.get("wafer", ""))
    before, after = (
        picture_address(request, svg) if svg else ""
        for svg in ((card.planned.before, card.planned.after) if card.planned else ("", ""))
    )
    planned = _as_planned(card.knobs)
    return page(
        request,
        "step.html",
        title=card.title,
        lot=card.lot,
        card=card,
        words=_WORDS,
        before=before,
        after=after,
        same=_SAME,
        path=f"/lot/{card.lot}/step/{card.code}",
        ask=f"?wafer={card.wafer}" if card.wafer else "",
        as_planned=[json.dumps(each) for each in planned],
        as_names=[each["name"] for each in planned],
        finish=json.dumps({"kind": "finish"}),
        end_of_start=json.dumps(_timer(card)) if card.timer else "",
        units=lambda knob: json.dumps(dict(knob.units)),
        stage=_stage(card),
        one=_one(card),
    )


def _as_planned(knobs: tuple[Knob, ...]) -> list[dict[str, str]]:
    """The settings that nobody has entered yet, as they were planned."""
    return [
        {"kind": "set", "name": each.name, "value": each.planned, "unit": each.plan.unit, "text": _SAME}
        for each in knobs
        if each.plan is not None and not each.actual
    ]


def _timer(card: StepCard) -> dict[str, str]:
    """The clock that runs as long as the step is planned to take."""
    time = next(each for each in card.knobs if each.name == "time" and each.plan is not None)
    unit = time.plan.unit if time.plan else "s"
    return {"kind": "timer", "name": card.title, "value": time.planned, "unit": unit}


def _one(card: StepCard) -> str:
    """The wafer that asks for a hand first, where the wafers stand or are planned differently."""
    here = [each for each in card.wafers if each.here] or list(card.wafers)
    return min(here, key=lambda each: FIRST.index(each.state)).name


def _stage(card: StepCard) -> str:
    """Which main action the bar offers: one wafer of several, the hold point before it, start, finish, hold or next."""
    if card.mixed or card.parted:
        return "choose"
    if card.blocked:
        return "blocked"
    if card.state == "running":
        return "running"
    if card.state == "held":
        return "held"
    return "done" if card.state in {"done", "skipped", "scrapped", "away"} else "ready"


def timers(request: Request) -> Response:
    """The clocks of a lot, by their end times; none where its plan cannot be read, for its page asks all the same."""
    bench, lot = bench_of(request), request.path_params["lot"]
    if bench.trouble(bench.lot(lot).name):
        return JSONResponse({"timers": []}, headers={"x-version": static_digest()})
    progress = bench.progress(lot)
    codes = {each.number: each.code for each in progress.steps}
    return JSONResponse(
        {
            "timers": [
                {
                    "id": each.id,
                    "name": each.name,
                    "wafer": each.wafer,
                    "code": codes.get(each.step, each.step),
                    "ends": each.ends,
                    "path": f"/lot/{lot}/step/{codes.get(each.step, each.step)}",
                }
                for each in progress.timers
            ]
        },
        headers={"x-version": static_digest()},
    )


def mark(request: Request) -> Response:
    """Whether more has been worked out of a step since the page was made."""
    bench, lot = bench_of(request), request.path_params["lot"]
    code, wafer = request.path_params["code"], request.query_params.get("wafer", "")
    known, working = worked_out(bench, lot, code, wafer)
    return JSONResponse({"mark": known, "working": working})


routes = [
    Route("/lot/{lot}/step/{code}/mark", mark, methods=["GET"]),
    Route("/lot/{lot}/step/{code}", step_page, methods=["GET"]),
    Route("/lot/{lot}/timers", timers, methods=["GET"]),
]
