"""What stands before every page: security headers, the caller's names, who asks and what they may do.

A form is taken only from a page of this server: the browser says the same origin, and the form carries a token that only
who holds the browser's secret cookie can know, HMAC-SHA256(secret, purpose). The token needs nothing kept on the server, so a form
on an open tablet still works after the server was started anew.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
from urllib.parse import quote, urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import HTTPConnection, Request
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from filmwright.desk.bench import Action, Visitor, refuse
from filmwright.web.sessions import NAME, YEAR, encrypted, visitor_of

SEAT, WHO, THEME = "seat", NAME, "theme"
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
                if scope.get("scheme") == "https":
                    headers.setdefault("strict-transport-security", f"max-age={YEAR}")
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


def who(request: HTTPConnection) -> Visitor:
    """Who asks. Alone: the name that was typed once; shared: who signed in."""
    return visitor_of(request)


def may(request: HTTPConnection, action: Action) -> bool:
    """Whether who asks may do this; alone on one machine a person may do everything."""
    return visitor_of(request).may(action)


def demand(request: HTTPConnection, action: Action) -> None:
    """Refuse who may not do this."""
    visitor = visitor_of(request)
    if not visitor.may(action):
        (problem,) = refuse(action, visitor.role, visitor.way).problems
        said = f"To {problem.what.removeprefix('who may ')} one must be {problem.expected}, not {problem.got}"
        raise Refused(f"{said}: {problem.remedy}.", 401 if visitor.role is None else 403)


def secret_of(request: HTTPConnection) -> str:
    """The secret of this browser, drawn at its first page."""
    held: str = request.cookies.get(SEAT, "") or getattr(request.state, "seat", "")
    if not held:
        held = secrets.token_urlsafe(32)
        request.state.seat = held
    return held


def form_token(request: HTTPConnection) -> str:
    """The token that a form of this browser carries; with another sign-in it is another one."""
    purpose = f"a form of the bench\n{visitor_of(request).sign_in}"
    return hmac.new(secret_of(request).encode(), purpose.encode(), hashlib.sha256).hexdigest()


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
        secure=encrypted(request),
    )
