"""What one person may ask for and keep where several share a server, and what of it is counted."""

from __future__ import annotations

import logging
import math

from starlette.requests import HTTPConnection, Request
from starlette.responses import Response
from starlette.types import ASGIApp, Receive, Scope, Send

from filmwright.desk.bench.unusual import USUAL
from filmwright.web.context import settings_of
from filmwright.web.guard import Refused
from filmwright.web.limits import MEGABYTE, Bucket, Counts, Shares
from filmwright.web.problems import told
from filmwright.web.sessions import address_of, visitor_of

_LOG = logging.getLogger("filmwright.web")
_OPEN = ("/static/", "/healthz", "/api/")
"""Paths that are not counted here: files of the package, a sign of life, and programs, which have limits of their own."""


class Unhurried:
    """Lets a browser ask for so many pages a second, and tells one that asks for more to wait."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] == "http" and not scope["path"].startswith(_OPEN):
            request = Request(scope, receive)
            if settings_of(request).shared and (wait := _wait(request)) > 0.0:
                await _slow(request, wait)(scope, receive, send)
                return
        await self.app(scope, receive, send)


def _wait(request: Request) -> float:
    visitor, shares = visitor_of(request), shares_of(request)
    if visitor.sign_in:
        return shares.pages.take(visitor.sign_in)
    return shares.strangers.take(address_of(request))


def _slow(request: Request, wait: float) -> Response:
    count(request, visitor_of(request).name or address_of(request), "too fast")
    seconds = math.ceil(wait)
    answer = told(request, 429, f"Too many requests. Go on in {seconds} s; nothing was kept of this one.")
    answer.headers["retry-after"] = str(seconds)
    return answer


def shares_of(request: HTTPConnection) -> Shares:
    """The shares of this server."""
    found: Shares = request.app.state.shares
    return found


def counts_of(request: HTTPConnection) -> Counts:
    """What this server counts."""
    found: Counts = request.app.state.counts
    return found


def count(request: HTTPConnection, who: str, what: str, times: int = 1) -> None:
    """Count something; where it becomes unusual, a line in the server's log lets a site's watch raise an alarm."""
    by_now = counts_of(request).note(who, what, times)
    if by_now - times <= USUAL[what] < by_now:
        _LOG.warning("unusual: %r, %s, more than %s in a day", who, what, USUAL[what])


def spend_files(request: HTTPConnection, who: str, sizes: list[int]) -> None:
    """Take files from the share of a person; refused when it is used up. Alone on a machine there are no shares."""
    if not sizes or not settings_of(request).shared:
        return
    shares = shares_of(request)
    _spend(shares.files, who, len(sizes), "files")
    _spend(shares.megabytes, who, sum(sizes) / MEGABYTE, "megabytes of files")
    count(request, who, "files", len(sizes))


def spend_entries(request: HTTPConnection, who: str, number: int) -> None:
    """Take entries from the share of a person."""
    if not settings_of(request).shared:
        return
    _spend(shares_of(request).entries, who, number, "entries")
    count(request, who, "entries", number)


def _spend(share: Bucket, who: str, amount: float, what: str) -> None:
    wait = share.take(who, amount)
    if wait > 0.0:
        raise Refused(
            f"The share of {what} that one person may keep in a day is used up: the record is copied as a whole. "
            f"Go on in {math.ceil(wait / 60)} min.",
            429,
        )
