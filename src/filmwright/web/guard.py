"""What stands before every page: security headers, the caller's names, who asks and what they may do.

A form is taken only from a page of this server: the browser says the same origin, and the form carries a token that only
who holds the browser's secret cookie can know, HMAC-SHA256(secret, purpose). The token needs nothing kept on the server, so a form
on an open tablet still works after the server was started anew.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
from dataclasses import dataclass
from typing import Literal
from urllib.parse import quote, unquote, urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import HTTPConnection, Request
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from filmwright.web.context import settings_of

Action = Literal["read", "log", "decide", "administer"]
SEAT, WHO, THEME = "seat", "who", "theme"
YEAR = 365 * 24 * 3600
TOKEN_HEADER = "x-form-token"

HEADERS = {
    "content-security-policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
    "font-src 'self'; connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'",
    "x-content-type-options": "nosniff",
    # "no-referrer" would make browsers send the origin "null" with a form, which is then refused.
    "referrer-policy": "same-origin",
    "permissions-policy": "camera=(self), microphone=(), geolocation=(), payment=(), usb=(), interest-cohort=()",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "x-frame-options": "DENY",
}


class Refused(Exception):  # noqa: N818 - the name says what it is
    """A request that is not taken, with a sentence for the person."""

    def __init__(self, sentence: str, status: int = 403) -> None:
        super().__init__(sentence)
        self.sentence, self.status = sentence, status


@dataclass(frozen=True, kw_only=True)
class Who:
    """Who asks: a name, and the role where people sign in."""

    name: str = ""
    role: str = ""


class Headed:
    """Puts the security headers on every answer, faults too, and turns away callers of a foreign name."""

    def __init__(self, app: ASGIApp, names: tuple[str, ...]) -> None:
        self.app, self.names = app, names

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def headed(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                headers.setdefault("cache-control", "no-store")
            await send(message)

        if self.names and _host_name(Headers(scope=scope).get("host", "")) not in self.names:
            # A page elsewhere can point its own name at this machine; it must not then read what is served here.
            answer = PlainTextResponse("This server does not answer to that name.\n", 421)
            await answer(scope, receive, headed)
            return
        await self.app(scope, receive, headed)


def _host_name(host: str) -> str:
    try:
        return urlsplit(f"//{host}").hostname or ""
    except ValueError:
        return ""


def who(request: HTTPConnection) -> Who:
    """Who asks. Alone: the name that was typed once; shared: who signed in."""
    return Who(name=unquote(request.cookies.get(WHO, ""))[:60])


def may(request: HTTPConnection, action: Action) -> bool:
    """Whether who asks may do this; alone on one machine a person may do everything."""
    return not settings_of(request).shared or action == "read"


def demand(request: HTTPConnection, action: Action) -> None:
    """Refuse who may not do this."""
    if not may(request, action):
        raise Refused(
            "You may look at this, not change it. Ask somebody who may, or sign in with another name."
        )


def secret_of(request: HTTPConnection) -> str:
    """The secret of this browser, drawn at its first page."""
    held: str = request.cookies.get(SEAT, "") or getattr(request.state, "seat", "")
    if not held:
        held = secrets.token_urlsafe(32)
        request.state.seat = held
    return held


def form_token(request: HTTPConnection) -> str:
    """The token that a form of this browser carries."""
    return hmac.new(secret_of(request).encode(), b"a form of the bench", hashlib.sha256).hexdigest()


def check_origin(request: HTTPConnection) -> None:
    """Refuse a form that another site sent."""
    site = request.headers.get("sec-fetch-site", "same-origin")
    origin = request.headers.get("origin")
    foreign = origin is not None and urlsplit(origin).netloc != request.headers.get("host", "")
    if site != "same-origin" or foreign:
        raise Refused(
            "This form was sent from another site, so nothing was kept. Open the page here and try again."
        )


def check_token(request: HTTPConnection, token: str) -> None:
    """Refuse a form that was not made for this browser."""
    if not request.cookies.get(SEAT) or not hmac.compare_digest(token.encode(), form_token(request).encode()):
        raise Refused(
            "This page was made for another browser, or its cookies were cleared. Nothing was kept: open the page again."
        )


def set_seat(request: Request, response: Response) -> None:
    """Give the browser its secret, where it has none yet."""
    drawn = getattr(request.state, "seat", "")
    if drawn:
        keep_cookie(request, response, SEAT, drawn, hidden=True)


def keep_cookie(
    request: HTTPConnection, response: Response, name: str, value: str, hidden: bool = False
) -> None:
    """Keep a word in the browser for a year."""
    response.set_cookie(
        name,
        quote(value),
        max_age=YEAR,
        httponly=hidden,
        samesite="lax",
        secure=request.url.scheme == "https",
    )
