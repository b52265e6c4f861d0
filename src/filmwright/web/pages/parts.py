"""Every component once, live, with the words that a template writes to get it."""

from __future__ import annotations

import datetime

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from filmwright.web.render import page

STATES = ("waiting", "ready", "running", "held", "done", "skipped", "rework", "scrapped", "away")
"""Of a wafer at a step."""

_SIGNS = (
    "note", "caution", "conflict", "saved", "here", "server", "sending", "timer", "overdue", "expired", "hold point",
)  # fmt: skip


def parts_page(request: Request) -> Response:
    """The page of components."""
    ends = datetime.datetime.now().astimezone().replace(microsecond=0) + datetime.timedelta(minutes=7)
    return page(
        request, "parts.html", title="Parts of a page", states=STATES, signs=_SIGNS, ends=ends.isoformat()
    )


routes = [Route("/parts", parts_page)]
