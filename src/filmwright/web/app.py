"""The application: one route list per file of ``pages``, static files, and what stands around them."""

from __future__ import annotations

import importlib
import pkgutil

from fastapi import FastAPI
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import FileResponse, PlainTextResponse, Response
from starlette.routing import BaseRoute, Route

from filmwright.desk.bench import Bench
from filmwright.errors import BadInput
from filmwright.web import pages
from filmwright.web.api import programs
from filmwright.web.context import Settings
from filmwright.web.guard import Headed, Refused
from filmwright.web.limits import Counts, Shares, Waits
from filmwright.web.lines import in_line
from filmwright.web.pages.pictures import Pictures
from filmwright.web.problems import Calm, on_bad_input, on_http, on_refused
from filmwright.web.render import STATIC, static_digest
from filmwright.web.roles import guarded
from filmwright.web.sessions import SignedIn
from filmwright.web.shares import Unhurried

_SAFE = {"GET", "HEAD"}
_TYPES = {".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml"}
_PRESSED = 4
"""How hard answers are pressed: harder saves a tenth of their size and costs the others twice the wait."""
_FOREVER = "public, max-age=31536000, immutable"


def application(bench: Bench, settings: Settings | None = None) -> FastAPI:
    """The pages over one bench.

    Parameters
    ----------
    bench : Bench
        Open; it stays the caller's to close.
    settings : Settings or None
        None serves one person on one machine.
    """
    how = settings or Settings()
    app = FastAPI(
        title="filmwright",
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
        routes=[
            *guarded(in_line(page_routes())),
            Route("/static/{digest}/{name:path}", _static),
            Route("/healthz", _health),
        ],
        middleware=[
            Middleware(Headed, names=how.names),
            Middleware(GZipMiddleware, minimum_size=1024, compresslevel=_PRESSED),
            Middleware(Calm),
            Middleware(SignedIn),
            Middleware(Unhurried),
        ],
        exception_handlers={BadInput: on_bad_input, Refused: on_refused, HTTPException: on_http},
    )
    app.state.bench, app.state.settings, app.state.pictures = bench, how, Pictures()
    app.state.waits, app.state.shares, app.state.counts = Waits(), Shares(), Counts()
    api = programs(bench, how)
    api.state.shares, api.state.counts = app.state.shares, app.state.counts
    app.mount("/api", api)
    return app


def page_routes() -> list[BaseRoute]:
    """The ``routes`` of every file in ``pages``; one that takes forms without the checks of ``posted`` is refused."""
    found: list[BaseRoute] = []
    for each in sorted(pkgutil.iter_modules(pages.__path__), key=lambda module: module.name):
        found.extend(importlib.import_module(f"{pages.__name__}.{each.name}").routes)
    for route in found:
        if (
            isinstance(route, Route)
            and not (route.methods or set()) <= _SAFE
            and not getattr(route.endpoint, "guarded", False)
        ):
            raise TypeError(f"{route.path} takes {route.methods} but is not wrapped in posted(...)")
    return found


def _static(request: Request) -> Response:
    path = (STATIC / request.path_params["name"]).resolve()
    if not path.is_relative_to(STATIC.resolve()) or not path.is_file():
        raise HTTPException(404)
    current = request.path_params["digest"] == static_digest()
    return FileResponse(
        path,
        media_type=_TYPES.get(path.suffix),
        # A page older than the server asks by an old digest: it gets today's file, but must not keep it under that name.
        headers={"cache-control": _FOREVER if current else "no-cache"},
    )


def _health(_request: Request) -> Response:
    return PlainTextResponse("ok\n")
