"""Today: what is where, what is next, until when. Also the smallest example of a page."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from filmwright.web.forms import Form, posted, to
from filmwright.web.guard import THEME, keep_cookie
from filmwright.web.render import THEMES, page


def today_page(request: Request) -> Response:
    """The first page."""
    return page(request, "today.html", title="Today")


def choose_theme(request: Request, form: Form) -> Response:
    """Keep the theme in this browser and go back to where it was chosen."""
    response = to(form.text("back", "/"))
    chosen = form.text("theme")
    keep_cookie(request, response, THEME, chosen if chosen in THEMES else THEMES[0])
    return response


routes = [
    Route("/", today_page),
    Route("/theme", posted(choose_theme, needs="read"), methods=["POST"]),
]
