"""Who calls: a program by its token, or alone the person at the machine. And how often."""

from __future__ import annotations

import math
import re
from typing import Annotated, Any

from fastapi import Depends, Security
from fastapi.security import HTTPAuthorizationCredentials, HTTPBearer
from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from filmwright.desk.bench import NOBODY, Action, Visitor, alone
from filmwright.web.api.refusals import too_much, trouble
from filmwright.web.context import settings_of
from filmwright.web.guard import Refused, check_origin
from filmwright.web.sessions import address_of, sign_ins_of

RATE, BURST = 10.0, 60
"""Requests a second in the long run, and at once, of one token; ten times as many of one address."""

JSON_BYTES, FILE_BYTES = 1024 * 1024, 32 * 1024 * 1024
"""Of a whole request, and of one that is a file."""

_OF_FILES = re.compile(r"/(photos|lots/[^/]+/files)")
"""Addresses that take the bytes of one file, and no JSON."""

_bearer = HTTPBearer(auto_error=False, description="A token made on the page Me.")
_SAFE = frozenset({"GET", "HEAD"})


class Needs:
    """Lets a request pass when its caller may do this; the caller is handed on."""

    def __init__(self, action: Action) -> None:
        self.action = action

    def __call__(
        self, request: Request, held: Annotated[HTTPAuthorizationCredentials | None, Security(_bearer)] = None
    ) -> Visitor:
        """The caller."""
        _slow_down(request, ("address", address_of(request)), 10)
        if not settings_of(request).shared:
            if request.method not in _SAFE:
                check_origin(request)
            return alone("")
        caller = (sign_ins_of(request).program(held.credentials) if held is not None else None) or NOBODY
        if caller.role is None:
            raise Refused("Show a token that still works: Authorization: Bearer …", 401)
        _slow_down(request, ("token", caller.sign_in), 1)
        if not caller.may(self.action):
            raise Refused(f"This token, or the role of its owner, does not allow to {self.action}.", 403)
        return caller


def needs(action: Action) -> Any:
    """The dependency of a route that says what it needs."""
    return Depends(Needs(action))


def _slow_down(request: Request, key: tuple[str, str], times: int) -> None:
    bucket = request.app.state.buckets[times]
    wait = bucket.take(key)
    if wait > 0.0:
        raise Refused(f"Too many requests. Go on in {math.ceil(wait)} s.", 429)


def _kind(headers: Headers) -> str:
    return headers.get("content-type", "").partition(";")[0].strip().lower()


class Limited:
    """Stops reading a request that is longer than it may be."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        file = scope["method"] == "POST" and _OF_FILES.fullmatch(scope["path"].removeprefix("/api"))
        limit, kind = (FILE_BYTES, "application/octet-stream") if file else (JSON_BYTES, "application/json")
        declared = Headers(scope=scope).get("content-length", "")
        if declared.isascii() and declared.isdigit() and int(declared[:20]) > limit:
            await too_much(limit)(scope, receive, send)
            return
        if scope["method"] == "POST" and _kind(Headers(scope=scope)) != kind:
            await trouble(415, f"Send it as Content-Type: {kind}. Nothing was kept.")(scope, receive, send)
            return
        taken = 0

        async def counted() -> Message:
            nonlocal taken
            message = await receive()
            taken += len(message.get("body", b""))
            if taken > limit:
                # The framework turns what is raised here into a refusal of its own; it is told there what it was.
                scope.setdefault("state", {})["too_much"] = limit
                raise Refused("too much at once", 413)
            return message

        async def named(message: Message) -> None:
            if message["type"] == "http.response.start":
                # Opened in a browser, an answer is saved instead of shown.
                MutableHeaders(scope=message).setdefault(
                    "content-disposition", 'attachment; filename="api.json"'
                )
            await send(message)

        await self.app(scope, counted, named)
