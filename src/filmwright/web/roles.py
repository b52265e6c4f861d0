"""What each address needs: one table for pages that are read; forms say it themselves where they are made."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import RedirectResponse
from starlette.routing import BaseRoute, Route
from starlette.types import ASGIApp, Receive, Scope, Send

from filmwright.desk.bench import ACTIONS, Action
from filmwright.web.guard import demand
from filmwright.web.sessions import TABLET, cookie_name, visitor_of

SAFE = frozenset({"GET", "HEAD"})

OF_PATH: Mapping[str, Action] = {
    "/healthz": "anyone",
    "/static/{digest}/{name:path}": "anyone",
    "/sign-in": "anyone",
    "/switch": "anyone",
    "/first/{link}": "anyone",
    "/me": "own things",
    "/people": "administer",
}
"""Pages that need something else than to read; every page that is not named here is read."""


def shown(needs: Action) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Say beside the handler of a page what it needs."""

    def declare(handler: Callable[..., Any]) -> Callable[..., Any]:
        handler.needs = needs  # type: ignore[attr-defined]
        return handler

    return declare


def needs_of(route: BaseRoute) -> Action | None:
    """What a route needs; None where nobody said it."""
    if not isinstance(route, Route):
        return None
    said = getattr(route.endpoint, "needs", None)
    if said is None and (route.methods or SAFE) <= SAFE:
        said = OF_PATH.get(route.path, "read")
    return said if said in ACTIONS else None


def guarded(routes: Iterable[BaseRoute]) -> list[BaseRoute]:
    """The same routes, each behind what it needs; one that does not say it is refused when the server starts."""
    found = list(routes)
    for route in found:
        needs = needs_of(route)
        if needs is None or not isinstance(route, Route):
            raise TypeError(
                f"{getattr(route, 'path', route)} does not say what one must be allowed to do for it"
            )
        if not isinstance(route.app, Needing):
            route.app = Needing(route.app, needs)
    return found


class Needing:
    """Lets through who may do this; sends a browser without a sign-in to the page for it."""

    def __init__(self, app: ASGIApp, needs: Action) -> None:
        self.app, self.needs = app, needs

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        request = Request(scope)
        visitor = visitor_of(request)
        if not visitor.may(self.needs):
            if (
                visitor.role is None
                and request.method in SAFE
                and "text/html" in request.headers.get("accept", "")
            ):
                here = request.url.path + (f"?{request.url.query}" if request.url.query else "")
                door = "/switch" if request.cookies.get(cookie_name(request, TABLET)) else "/sign-in"
                await RedirectResponse(f"{door}?back={quote(here)}", 303)(scope, receive, send)
                return
            demand(request, self.needs)
        await self.app(scope, receive, send)
