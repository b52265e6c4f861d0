"""Today: what is where, what is next, until when. Also the smallest example of a page."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from filmwright.desk.bench import today
from filmwright.web.coming import coming_of
from filmwright.web.context import bench_of
from filmwright.web.forms import Form, posted, to
from filmwright.web.guard import THEME, keep_cookie
from filmwright.web.render import THEMES, page


def today_page(request: Request) -> Response:
    """The first page."""
    bench = bench_of(request)
    answer = today(bench)
    lots = [(each, coming_of(bench, each.name, each.waits)) for each in answer.lots]
    timers = sorted(
        ((timer, lot.name) for lot in answer.lots for timer in lot.timers), key=lambda each: each[0].ends
    )
    return page(
        request,
        "today.html",
        title="Today",
        lots=lots,
        timers=timers,
        finished=answer.finished,
        unread=answer.unread,
    )


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
