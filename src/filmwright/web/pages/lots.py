"""Starting a lot: choose a plan, say how many wafers; the plan is frozen and the wafers get their names."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from filmwright.desk.bench import Wafers, all_lots, start_lot
from filmwright.desk.bench.plans import plan_files
from filmwright.errors import BadInput, Problem
from filmwright.web.context import bench_of
from filmwright.web.forms import Form, posted, to
from filmwright.web.render import page
from filmwright.web.roles import shown


def lots_page(request: Request) -> Response:
    """The lots of the record, the newest first, finished ones too."""
    asked = request.query_params.get("page", "1")
    number = int(asked) if asked.isascii() and asked.isdigit() and len(asked) < 8 else 1
    return page(request, "all_lots.html", title="All lots", found=all_lots(bench_of(request), number))


@shown("log")
def new_page(request: Request) -> Response:
    """The form."""
    folder = bench_of(request).plans
    plans = plan_files(folder) if folder is not None else ()
    chosen = request.query_params.get("plan", plans[0].name if len(plans) == 1 else "")
    return page(
        request, "lots.html", title="Start a lot", plans=plans, chosen=chosen, served=folder is not None
    )


def start(request: Request, form: Form) -> Response:
    """Start it and show it."""
    count = form.text("wafers") or "1"
    if not (count.isascii() and count.isdigit() and len(count) < 4):
        raise BadInput(
            Problem(
                what="the number of wafers",
                expected="a whole number",
                got=f'"{count[:20]}"',
                why="each gets a name of its own",
                remedy="write it like 4",
            )
        )
    lot = start_lot(
        bench_of(request),
        plan=form.text("plan"),
        wafers=Wafers(
            count=int(count),
            names=tuple(form.text("names", limit=400).replace(",", " ").split()),
            take=_lines(form.text("take", limit=2000)),
            at=form.text("at", limit=12),
        ),
        who=form.who,
        note=form.text("note", limit=2000),
        id=form.entry_id,
    )
    return to(f"/lot/{lot.name}")


def _lines(text: str) -> tuple[str, ...]:
    """One label a line, or parted by commas."""
    return tuple(each.strip() for each in text.replace(",", "\n").splitlines() if each.strip())


routes = [
    Route("/lots", lots_page),
    Route("/lots/new", new_page),
    Route("/lots", posted(start, needs="log"), methods=["POST"]),
]
