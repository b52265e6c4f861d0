"""Who asks, found out once for each request: alone the name in a cookie, shared the sign-in that the browser holds."""

from __future__ import annotations

from typing import Any
from urllib.parse import unquote, urlsplit

from starlette.concurrency import run_in_threadpool
from starlette.requests import HTTPConnection
from starlette.responses import Response
from starlette.types import ASGIApp, Receive, Scope, Send

from filmwright.desk.bench import NOBODY, Visitor, alone
from filmwright.web.context import LOCAL, settings_of

SESSION, TABLET, NAME = "session", "tablet", "who"
YEAR = 365 * 24 * 3600
_OPEN = ("/static/", "/healthz", "/api/")
"""Paths that ask nobody for a session: programs show a token instead."""


class SignedIn:
    """Finds out who asks and keeps it with the request, so that a page asks the record once."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] == "http" and not scope["path"].startswith(_OPEN):
            request = HTTPConnection(scope)
            if settings_of(request).shared:
                found = await run_in_threadpool(_of_session, request)
            else:
                found = alone(unquote(request.cookies.get(NAME, ""))[:60])
            scope.setdefault("state", {})["visitor"] = found
        await self.app(scope, receive, send)


def _of_session(request: HTTPConnection) -> Visitor:
    token = request.cookies.get(cookie_name(request, SESSION), "")
    return (sign_ins_of(request).visitor(token) if token else None) or NOBODY


def visitor_of(request: HTTPConnection) -> Visitor:
    """Who asks."""
    found: Visitor = getattr(request.state, "visitor", NOBODY)
    return found


def sign_ins_of(request: HTTPConnection) -> Any:
    """The accounts of the record that is served."""
    state = request.app.state
    if not hasattr(state, "sign_ins"):
        from filmwright.desk.bench import People, SignIns

        state.sign_ins = SignIns(People(state.bench.store))
    return state.sign_ins


def encrypted(request: HTTPConnection) -> bool:
    """Whether the browser reached us by https."""
    return request.url.scheme == "https"


def local(request: HTTPConnection) -> bool:
    """Whether the browser runs on this machine, by the name it used and by the address it has."""
    try:
        name = urlsplit(f"//{request.headers.get('host', '')}").hostname or ""
    except ValueError:
        return False
    return name in LOCAL


def address_of(request: HTTPConnection) -> str:
    """The address of the caller; that which a proxy tells only where the proxy is trusted by the settings."""
    return request.client.host if request.client else ""


def cookie_name(request: HTTPConnection, name: str) -> str:
    """With https a name that browsers bind to this host, this path and encryption."""
    return f"__Host-{name}" if encrypted(request) else name


def keep_secret(
    request: HTTPConnection, response: Response, name: str, token: str, age: int | None = None
) -> None:
    """Keep a secret in the browser: no script reads it, no other site sends it, only plain http on this machine goes without encryption.

    Parameters
    ----------
    request, response
    name, token : str
    age : int or None [s]
        None: until the browser is closed.
    """
    response.set_cookie(
        cookie_name(request, name), token, max_age=age, path="/", httponly=True, samesite="strict",
        secure=encrypted(request) or not local(request),
    )  # fmt: skip


def drop_secret(request: HTTPConnection, response: Response, name: str) -> None:
    """Take a secret out of the browser."""
    response.delete_cookie(
        cookie_name(request, name), path="/", httponly=True, samesite="strict",
        secure=encrypted(request) or not local(request),
    )  # fmt: skip
