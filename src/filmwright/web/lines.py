"""Who goes first: taps are answered while pages wait in a short line of their own.

Python works at one thing at a time. Were every page that is asked for begun at once, an entry would have to share with all of them at
each of its questions to the record; so only a few pages are made at a time, and entries do not stand in their line.
"""

from __future__ import annotations

import functools
import inspect
from collections.abc import Awaitable, Callable, Iterable

import anyio
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route, request_response

from filmwright.web.context import bench_of

AT_ONCE = 3
"""Pages that are made at a time: one that waits for the record does not hold up the others."""

SHARE = 0.001
"""Seconds after which Python gives another thread its turn: an entry that was waiting for the disk goes on sooner."""

_SAFE = {"GET", "HEAD"}


def in_line(routes: Iterable[BaseRoute]) -> list[BaseRoute]:
    """The same routes; pages that are only read wait in line, and each asks the record once for what it shows."""
    found = list(routes)
    for route in found:
        if (
            isinstance(route, Route)
            and (route.methods or set()) <= _SAFE
            and not inspect.iscoroutinefunction(route.endpoint)
        ):
            route.app = request_response(_waiting(route.endpoint))
    return found


def _waiting(handler: Callable[[Request], Response]) -> Callable[[Request], Awaitable[Response]]:
    @functools.wraps(handler)
    async def shown(request: Request) -> Response:
        return await anyio.to_thread.run_sync(_made, handler, request, limiter=_line(request))

    return shown


def _made(handler: Callable[[Request], Response], request: Request) -> Response:
    with bench_of(request).looking():
        return handler(request)


def _line(request: Request) -> anyio.CapacityLimiter:
    state = request.app.state
    if not hasattr(state, "line"):
        state.line = anyio.CapacityLimiter(AT_ONCE)
    found: anyio.CapacityLimiter = state.line
    return found
