"""Paper typed back in: lines by short step codes, looked at as they were understood, then kept."""

from __future__ import annotations

import datetime

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from filmwright.desk.bench.permissions import action_of_entry
from filmwright.desk.bench.typed import Sheet, TypedLine, keep_typed, read_typed
from filmwright.errors import BadInput, Problem
from filmwright.web.context import bench_of, settings_of
from filmwright.web.forms import Form, posted, to
from filmwright.web.guard import demand
from filmwright.web.render import page
from filmwright.web.roles import shown


@shown("log")
def paper_page(request: Request) -> Response:
    """The empty form."""
    lot = bench_of(request).lot(request.path_params["lot"]).name
    return _page(request, Sheet(lot=lot, text="", day=datetime.date.today().isoformat()))


def look(request: Request, form: Form) -> Response:
    """What was understood; nothing is kept."""
    sheet = _sheet(request, form)
    try:
        lines = read_typed(bench_of(request), sheet)
    except BadInput as bad:
        return _page(request, sheet, problems=bad.problems)
    return _page(request, sheet, lines)


def keep(request: Request, form: Form) -> Response:
    """Keep all lines or none."""
    bench, sheet = bench_of(request), _sheet(request, form)
    try:
        for line in read_typed(bench, sheet):
            for event in line.events:
                demand(request, action_of_entry(event.kind))
        keep_typed(bench, sheet)
    except BadInput as bad:
        return _page(request, sheet, problems=bad.problems)
    return to(f"/lot/{sheet.lot}/resume")


def _sheet(request: Request, form: Form) -> Sheet:
    return Sheet(
        lot=bench_of(request).lot(request.path_params["lot"]).name,
        text=form.text("text"),
        day=form.text("day", limit=10),
        who=form.who,
        typist=form.known if settings_of(request).shared else "",
    )


def _page(
    request: Request, sheet: Sheet, lines: tuple[TypedLine, ...] = (), problems: tuple[Problem, ...] = ()
) -> Response:
    return page(
        request,
        "paper.html",
        title="From paper",
        lot=sheet.lot,
        status=422 if problems else 200,
        sheet=sheet,
        lines=lines,
        problems=problems,
    )


_PAGE = "/lot/{lot}/paper"

routes = [
    Route(_PAGE, paper_page),
    Route(f"{_PAGE}/look", posted(look, needs="log"), methods=["POST"]),
    Route(f"{_PAGE}/keep", posted(keep, needs="log"), methods=["POST"]),
]
