"""Lots, how far they are, what was written about them, and new entries."""

from __future__ import annotations

from typing import Annotated, Any, TypeVar

from fastapi import APIRouter, Path, Query, Request, Response

from filmwright.desk.bench import Visitor
from filmwright.desk.bench.entries import Tap, Wanted, enter
from filmwright.desk.bench.step_card import step_card
from filmwright.web.api.guard import needs
from filmwright.web.api.models import (
    CellOut,
    EntryOut,
    LotOut,
    NewerOut,
    Out,
    PieceOut,
    ProgressOut,
    StepOut,
    TapIn,
    TapOut,
)
from filmwright.web.context import bench_of
from filmwright.web.guard import Refused
from filmwright.web.shares import spend_entries

routes = APIRouter()

LotName = Annotated[str, Path(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$")]
WaferName = Annotated[str, Path(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$")]
_UNKNOWN = "There is none of this name."


@routes.get("/lots", dependencies=[needs("read")])
def read_lots(request: Request) -> list[LotOut]:
    """All lots in the order in which they were started."""
    bench = bench_of(request)
    heads = bench.heads()
    return [_lot(bench, each, heads[each]) for each in heads]


@routes.get("/lots/{lot}", dependencies=[needs("read")])
def read_lot(request: Request, lot: LotName) -> LotOut:
    """One lot."""
    bench = bench_of(request)
    return _lot(bench, bench.lot(lot).name, bench.head(lot))


@routes.get("/lots/{lot}/progress", dependencies=[needs("read")])
def read_progress(request: Request, lot: LotName) -> ProgressOut:
    """How far each wafer has come, step by step."""
    bench = bench_of(request)
    held = bench.lot(lot)
    progress = bench.progress(held.name)
    return ProgressOut(
        lot=held.name, position=bench.head(held.name), steps=[_as(StepOut, each) for each in progress.steps],
        wafers=[_as(PieceOut, each) for each in progress.pieces],
        cells=[_as(CellOut, progress.cell(piece.name, step.number)) for piece in progress.pieces for step in progress.steps],
    )  # fmt: skip


@routes.get("/lots/{lot}/entries", dependencies=[needs("read")])
def read_entries(
    request: Request,
    lot: LotName,
    after: Annotated[int, Query(ge=0, le=2**53)] = 0,
    most: Annotated[int, Query(ge=1, le=1000)] = 200,
) -> list[EntryOut]:
    """What was written, in the order of writing, with corrected and withdrawn entries as they were."""
    bench = bench_of(request)
    written = bench.written(bench.lot(lot).name)
    return [_entry(k, each) for k, each in enumerate(written[after : after + most], start=after + 1)]


@routes.get("/lots/{lot}/wafers/{wafer}", dependencies=[needs("read")])
def read_wafer(request: Request, lot: LotName, wafer: WaferName) -> list[EntryOut]:
    """What holds for one wafer: corrected entries in place, withdrawn ones left out."""
    bench = bench_of(request)
    held = bench.lot(lot)
    if wafer not in {each.name for each in bench.progress(held.name).pieces}:
        raise Refused(_UNKNOWN, 404)
    places = {each.id: k for k, each in enumerate(bench.written(held.name), start=1)}
    return [
        _entry(places.get(each.id, 0), each) for each in bench.events(held.name) if each.wafer in ("", wafer)
    ]


@routes.get("/lots/{lot}/steps/{code}", dependencies=[needs("read")])
def read_step(
    request: Request,
    lot: LotName,
    code: Annotated[str, Path(pattern=r"^[A-Za-z0-9][A-Za-z0-9.-]{0,19}$")],
    wafer: Annotated[str, Query(max_length=40)] = "",
) -> dict[str, Any]:
    """One step as the page shows it: what to dial in with band, age and source, cautions, what was entered."""
    bench = bench_of(request)
    return dict(step_card(bench, bench.lot(lot).name, code, wafer).fields())


@routes.post(
    "/lots/{lot}/entries", status_code=201, responses={200: {"model": TapOut}, 409: {"model": TapOut}}
)
def write_entries(
    request: Request, response: Response, lot: LotName, sent: TapIn, caller: Annotated[Visitor, needs("log")]
) -> TapOut:
    """Write down what was done, seen or measured at a step: all of it or nothing, once."""
    bench = bench_of(request)
    if not bench.has(lot):
        raise Refused(_UNKNOWN, 404)
    spend_entries(request, caller.name, len(sent.entries))
    tap = Tap(
        id=sent.id, lot=lot, step=sent.step, wafers=tuple(sent.wafers), seen=sent.seen,
        happened=sent.happened, who=caller.name or sent.who, sure=sent.sure,
        entries=tuple(
            Wanted(
                kind=each.kind, name=each.name, value="" if each.value is None else repr(each.value), unit=each.unit,
                text=each.text, sha256=each.sha256,
            )
            for each in sent.entries
        ),
    )  # fmt: skip
    done = enter(bench, tap)
    response.status_code = {"kept": 201, "already there": 200}.get(done.state, 409)
    return TapOut(
        state=done.state, id=done.id, said=done.said, position=done.position, events=[each.id for each in done.events],
        newer=[_as(NewerOut, each) for each in done.newer], checks=[each.fields() for each in done.checks],
    )  # fmt: skip


def _lot(bench: Any, name: str, head: int) -> LotOut:
    held = bench.lot(name)
    return LotOut(
        name=held.name, title="" if bench.trouble(name) else bench.flow(name).title, wafers=list(held.wafers), started=held.started,
        flow_digest=held.flow_digest, entries=head, invented=held.invented, note=held.note,
    )  # fmt: skip


Model = TypeVar("Model", bound=Out)


def _as(model: type[Model], thing: Any) -> Model:
    """The fields of a model, taken from an answer that has more."""
    return model(**{name: getattr(thing, name) for name in model.model_fields})


def _entry(position: int, event: Any) -> EntryOut:
    names = [each for each in EntryOut.model_fields if each != "position"]
    return EntryOut(position=position, **{each: getattr(event, each) for each in names})
