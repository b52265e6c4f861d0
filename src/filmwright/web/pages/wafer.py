"""A wafer: how it is now and was at every moment, what its films lost, and every entry that tells of it."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from filmwright.desk.bench.grid import joined
from filmwright.desk.bench.measured_lots import measured_lots
from filmwright.desk.bench.measured_views import WaferMap, maps_of, parameters_of, words
from filmwright.desk.bench.wafer_page import WaferPage, wafer_page
from filmwright.web.context import bench_of
from filmwright.web.pages.pictures import picture_address
from filmwright.web.render import page

_LINES = 60
"""Entries that are listed before the rest is asked for."""


def wafer_shown(request: Request) -> Response:
    """The page of a wafer at one moment."""
    found = _asked(request, None if request.query_params.get("all") == "yes" else _LINES)
    moment = found.moment
    return page(
        request,
        "wafer.html",
        title=f"Wafer {found.label}",
        lot=found.lot,
        found=found,
        moment=moment,
        section=picture_address(request, moment.section) if moment is not None and moment.section else "",
        path=f"/lot/{found.lot}/wafer/{found.piece.name}",
        lines=found.lines,
        joined=[each for each in joined(bench_of(request), found.lot) if each.wafer == found.piece.name],
        drawn=_maps(request, found),
        words=words,
        more=found.older,
    )


def _maps(request: Request, found: WaferPage) -> list[tuple[str, WaferMap]]:
    """A map of each measured parameter, as far as they are worked out; never waited for."""
    if not any(each.device for each in found.files):
        return []
    told = measured_lots(bench_of(request)).doing(bench_of(request), found.lot).told
    if told is None:
        return []
    return [
        (parameter, each)
        for parameter in parameters_of(told)
        for each in maps_of(told, parameter, found.piece.name)
    ]


def wafer_known(request: Request) -> Response:
    """Whether something newer was worked out since a page was made."""
    found = _asked(request, 0)
    return JSONResponse(
        {"position": found.wafer.position if found.wafer is not None else -1, "working": found.working}
    )


def _asked(request: Request, newest: int | None) -> WaferPage:
    at = request.query_params.get("at", "")
    return wafer_page(
        bench_of(request),
        request.path_params["lot"],
        request.path_params["wafer"],
        int(at) if at.isascii() and at.isdigit() and len(at) < 6 else None,
        newest,
    )


routes = [
    Route("/lot/{lot}/wafer/{wafer}", wafer_shown),
    Route("/lot/{lot}/wafer/{wafer}/known", wafer_known),
]
