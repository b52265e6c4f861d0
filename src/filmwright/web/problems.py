"""What went wrong, as a page or as JSON of one shape; a person never meets a traceback."""

from __future__ import annotations

import logging
import secrets
from http import HTTPStatus

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from filmwright.errors import BadInput, OutOfReach, Problem
from filmwright.web.guard import Refused, who
from filmwright.web.render import page

_LOG = logging.getLogger("filmwright.web")
_LETTERS = "ACDEFHJKLMNPRTUVWXY3479"
_AWAY = "The record does not answer. What was kept before is safe; try again in a moment."
_SENTENCES = {
    404: "There is no such page here. The link may be old, or a name in it may have a slip.",
    405: "This address takes no such request. Go back and use the buttons of the page.",
}


def status_of(bad: BadInput, method: str) -> int:
    """503 where the record does not answer, 409 where somebody was faster, 404 where a page was asked for by a wrong name, else 422."""
    if isinstance(bad, OutOfReach):
        return 503
    if getattr(bad, "entries", None):
        return 409
    return 404 if method in ("GET", "HEAD") else 422


def wants_json(request: Request) -> bool:
    """Whether a program asks rather than a browser."""
    accepts = request.headers.get("accept", "")
    return request.url.path.startswith("/api") or (
        "application/json" in accepts and "text/html" not in accepts
    )


def told(
    request: Request, status: int, sentence: str, problems: tuple[Problem, ...] = (), number: str = ""
) -> Response:
    """The answer to a request that could not be met."""
    if wants_json(request):
        fields = [each.fields() for each in problems]
        return JSONResponse(
            {"status": status, "said": sentence, "problems": fields, "number": number}, status
        )
    return page(
        request,
        "problem.html",
        title=_title(status),
        status=status,
        sentence=sentence,
        problems=problems,
        number=number,
    )


def _title(status: int) -> str:
    titles = {403: "Not taken", 404: "Not found", 409: "Somebody was faster", 413: "Too much at once",
              415: "Not taken", 429: "Too much at once", 503: "The record does not answer"}  # fmt: skip
    return titles.get(status, "A fault in the program" if status >= 500 else "This cannot be kept as it is")


async def on_bad_input(request: Request, bad: Exception) -> Response:
    """An input that cannot be used."""
    assert isinstance(bad, BadInput)
    sentence = "Nothing was changed." if request.method not in ("GET", "HEAD") else ""
    if isinstance(bad, OutOfReach):
        sentence = _AWAY
    return told(request, status_of(bad, request.method), sentence, bad.problems)


async def on_refused(request: Request, refused: Exception) -> Response:
    """A request that is not taken."""
    assert isinstance(refused, Refused)
    # "%r" keeps what a caller sent on one line.
    _LOG.info(
        "refused %s %s %r %r: %r",
        refused.status,
        request.method,
        request.url.path,
        who(request).name,
        str(refused),
    )
    if refused.status == 403 and who(request).sign_in:
        request.app.state.counts.note(who(request).name, "not allowed")
    return told(request, refused.status, refused.sentence)


async def on_http(request: Request, trouble: Exception) -> Response:
    """An address that is not there, or takes no such request."""
    assert isinstance(trouble, HTTPException)
    words = _SENTENCES.get(trouble.status_code, HTTPStatus(trouble.status_code).phrase)
    return told(request, trouble.status_code, words)


class Calm:
    """Turns a fault of the program into a page with a number, and writes the traceback into the log under that number."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        begun = False

        async def noted(message: Message) -> None:
            nonlocal begun
            begun = begun or message["type"] == "http.response.start"
            await send(message)

        try:
            await self.app(scope, receive, noted)
        except BadInput as bad:
            # Before any page is chosen: the record itself does not answer, so nobody can be known.
            if begun:
                raise
            await told(Request(scope, receive), 503, _AWAY, bad.problems)(scope, receive, send)
        except Exception:
            if scope["type"] != "http":
                raise
            number = "".join(secrets.choice(_LETTERS) for _ in range(6))
            _LOG.exception("fault %s at %s %s", number, scope["method"], scope["path"])
            if begun:
                raise
            words = "Something here did not work, and it is not your doing. What was kept before is safe."
            await told(Request(scope, receive), 500, words, number=number)(scope, receive, send)
