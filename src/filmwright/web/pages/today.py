"""Today: what is where, what is next, until when. Also the smallest example of a page."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from filmwright.desk.bench import Bench, Timer
from filmwright.web.context import bench_of
from filmwright.web.forms import Form, posted, to
from filmwright.web.guard import THEME, keep_cookie
from filmwright.web.pages.grid import Next, next_of
from filmwright.web.render import THEMES, page


@dataclass(frozen=True, kw_only=True)
class LotToday:
    """One lot as the first page tells it.

    Attributes
    ----------
    name, title : str
    holder : str
        Whom it was handed to last; empty: nobody.
    places : tuple of str
    coming : tuple of Next
    timers : tuple of Timer
    touched : str
        ISO time of its last entry, else of its start.
    """

    name: str
    title: str
    holder: str
    places: tuple[str, ...]
    coming: tuple[Next, ...]
    timers: tuple[Timer, ...]
    touched: str


def lots_of(bench: Bench) -> tuple[LotToday, ...]:
    """The lots, those that were worked on last first, finished ones at the end."""
    found = []
    for lot in bench.lots():
        progress = bench.progress(lot.name)
        found.append(
            LotToday(
                name=lot.name,
                title=bench.flow(lot.name).title,
                holder=progress.holder,
                places=tuple(dict.fromkeys(piece.location for piece in progress.present if piece.location)),
                coming=next_of(progress),
                timers=progress.timers,
                touched=progress.last.happened if progress.last else lot.started,
            )
        )
    return tuple(
        sorted(sorted(found, key=lambda each: each.touched, reverse=True), key=lambda each: not each.coming)
    )


def today_page(request: Request) -> Response:
    """The first page."""
    lots = lots_of(bench_of(request))
    timers = sorted(
        ((timer, lot.name) for lot in lots for timer in lot.timers), key=lambda each: each[0].ends
    )
    return page(request, "today.html", title="Today", lots=lots, timers=timers)


def choose_theme(request: Request, form: Form) -> Response:
    """Keep the theme in this browser and go back to where it was chosen."""
    response = to(form.text("back", "/"))
    chosen = form.text("theme")
    keep_cookie(request, response, THEME, chosen if chosen in THEMES else THEMES[0])
    return response


routes = [
    Route("/", today_page),
    Route("/theme", posted(choose_theme, needs="anyone"), methods=["POST"]),
]
