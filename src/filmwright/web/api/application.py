"""The application for programs: its routes, its one shape of refusal, its description."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import Response

from filmwright.errors import BadInput, Problem
from filmwright.web.api.files import routes as files
from filmwright.web.api.guard import BURST, RATE, Limited
from filmwright.web.api.lots import routes as lots
from filmwright.web.api.models import Trouble
from filmwright.web.api.refusals import too_much, trouble
from filmwright.web.api.tools import routes as tools
from filmwright.web.context import Settings
from filmwright.web.guard import Refused
from filmwright.web.limits import Bucket
from filmwright.web.problems import status_of

FORM = "1"
"""Of the description: it changes when a program must; the version of the server is told to nobody."""

_ABOUT = """Read lots, steps, entries and files, and write entries.

A token is made on the page Me; its scopes are `read` and `log`. Entries are kept once by their id, however often they are sent. A
refusal always has the fields `status`, `said` and `problems`; each problem says what to do."""

_TROUBLES: dict[int, str] = {
    400: "Not a request that can be read",
    401: "No token that works",
    403: "The token does not allow it",
    404: "There is none of this name",
    409: "Somebody wrote about the step since; nothing was kept",
    413: "Too much at once",
    415: "Another kind of content is needed",
    422: "What was sent cannot be used",
    429: "Too many requests",
    503: "The record does not answer",
}


def programs(bench: Any, settings: Settings) -> FastAPI:
    """The application under ``/api``.

    Parameters
    ----------
    bench : Bench
    settings : Settings
    """
    responses: dict[int | str, dict[str, Any]] = {
        status: {"model": Trouble, "description": words} for status, words in _TROUBLES.items()
    }
    app = FastAPI(
        title="filmwright", version=FORM, description=_ABOUT, docs_url=None, redoc_url=None,
        openapi_url="/openapi.json", servers=[{"url": "/api"}], root_path_in_servers=False, responses=responses,
        middleware=[Middleware(Limited)],
        exception_handlers={
            BadInput: _bad_input, Refused: _refused, HTTPException: _http, RequestValidationError: _not_valid,
        },
    )  # fmt: skip
    app.state.bench, app.state.settings = bench, settings
    app.state.buckets = {times: Bucket(rate=RATE * times, burst=BURST * times) for times in (1, 10)}
    app.include_router(lots)
    app.include_router(files)
    app.include_router(tools)
    return app


async def _bad_input(request: Request, bad: Exception) -> Response:
    assert isinstance(bad, BadInput)
    return trouble(status_of(bad, request.method), str(bad.problems[0]) if bad.problems else "", bad.problems)


async def _refused(_request: Request, refused: Exception) -> Response:
    assert isinstance(refused, Refused)
    return trouble(refused.status, refused.sentence)


async def _http(request: Request, wrong: Exception) -> Response:
    assert isinstance(wrong, HTTPException)
    if getattr(request.state, "too_much", 0):
        return too_much(request.state.too_much)
    return trouble(wrong.status_code, str(wrong.detail))


async def _not_valid(_request: Request, wrong: Exception) -> Response:
    assert isinstance(wrong, RequestValidationError)
    problems = tuple(
        Problem(
            what=".".join(str(part) for part in each["loc"]), expected=str(each["msg"]), got=repr(each.get("input"))[:200],
            why="it is described in openapi.json", remedy="send it as described",
        )
        for each in wrong.errors()[:50]
    )  # fmt: skip
    return trouble(422, "What was sent is not as described.", problems)
