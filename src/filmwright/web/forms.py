"""Reading what a form sends: size limits, the token, then plain words; only what passed reaches a handler."""

from __future__ import annotations

import json
import uuid
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.formparsers import MultiPartException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import Message

from filmwright.desk.bench import Action
from filmwright.errors import BadInput, Problem
from filmwright.web.context import settings_of
from filmwright.web.guard import (
    TOKEN_HEADER,
    WHO,
    Refused,
    check_origin,
    check_token,
    demand,
    keep_cookie,
    who,
)
from filmwright.web.shares import spend_files

SMALL = 256 * 1024
"""Bytes that a form without files may have."""

FIELDS, TEXT = 1000, 20_000
_KINDS = frozenset({"application/json", "application/x-www-form-urlencoded", "multipart/form-data"})


@dataclass(frozen=True, kw_only=True)
class Form:
    """What was sent: words by name, files by name.

    Attributes
    ----------
    words : mapping of str to tuple of str
    files : mapping of str to tuple of (name, bytes)
    known : str
        The name of who asks, as known before the form.
    """

    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    files: Mapping[str, tuple[tuple[str, bytes], ...]] = field(default_factory=dict)
    known: str = ""

    def text(self, name: str, default: str = "", limit: int = TEXT) -> str:
        """One field without the blanks around it; empty when it was not sent."""
        sent = self.words.get(name, (default,))[0].strip()
        if len(sent) > limit:
            raise BadInput(
                Problem(
                    what=f'the field "{name}"',
                    expected=f"at most {limit} characters",
                    got=f"{len(sent)}",
                    why="one page is read at the bench, not a book",
                    remedy="shorten it, or keep it as a file",
                )
            )
        return sent

    def many(self, name: str) -> tuple[str, ...]:
        """All values of a field that can be ticked more than once."""
        return tuple(each.strip() for each in self.words.get(name, ()) if each.strip())

    @property
    def entry_id(self) -> str:
        """The id drawn when the page was made, so that a double tap is kept once; a new one where none came."""
        try:
            return str(uuid.UUID(self.text("entry_id")))
        except ValueError:
            return str(uuid.uuid4())

    @property
    def seen(self) -> int | None:
        """Position of the step's last entry that the page showed; None where the page said none."""
        sent = self.text("seen")
        return int(sent) if sent.isascii() and sent.isdigit() and len(sent) < 12 else None

    @property
    def who(self) -> str:
        """Who asks: as signed in or typed before, else as typed into this form."""
        return self.known or self.text("who", limit=60)


Handler = Callable[[Request, Form], Response]


def posted(
    handler: Handler, *, needs: Action = "log", limit: int = SMALL
) -> Callable[[Request], Awaitable[Response]]:
    """The end point of a form: origin, role, size and token are checked, then the handler runs in a thread.

    Parameters
    ----------
    handler : callable of (Request, Form)
        An ordinary function; it answers, as a rule, with ``to(...)``.
    needs : Action
        What who asks must be allowed to do.
    limit : int
        Bytes of the whole request.
    """

    async def endpoint(request: Request) -> Response:
        check_origin(request)
        demand(request, needs)
        form = await _read(request, limit)
        check_token(request, request.headers.get(TOKEN_HEADER, "") or form.text("token"))
        spend_files(request, form.known, [len(raw) for each in form.files.values() for _, raw in each])
        response = await run_in_threadpool(handler, request, form)
        if not settings_of(request).shared and not form.known and form.who:
            keep_cookie(request, response, WHO, form.who)
        return response

    endpoint.guarded, endpoint.needs = True, needs  # type: ignore[attr-defined]
    endpoint.__name__ = handler.__name__
    return endpoint


def to(path: str) -> RedirectResponse:
    """Go on to a page of this server after a form was taken."""
    own = path.startswith("/") and not path.startswith(("//", "/\\"))
    return RedirectResponse(path if own else "/", 303)


async def _read(request: Request, limit: int) -> Form:
    limited = Request(request.scope, _counted(request, limit))
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    known = who(request).name
    if kind not in _KINDS and request.headers.get("content-length", "0") != "0":
        raise Refused("This address takes forms and JSON, and nothing else. Nothing was kept.", 415)
    if kind == "application/json":
        return Form(words=_json_words(await limited.body()), known=known)
    try:
        sent = await limited.form(max_files=100, max_fields=FIELDS, max_part_size=limit)
    except MultiPartException as bad:
        raise Refused(f"The form could not be read: {bad.message}", 400) from None
    words: dict[str, tuple[str, ...]] = {}
    files: dict[str, tuple[tuple[str, bytes], ...]] = {}
    for name, value in sent.multi_items():
        if isinstance(value, UploadFile):
            if value.filename:
                files[name] = (*files.get(name, ()), (value.filename, await value.read()))
        else:
            words[name] = (*words.get(name, ()), value)
    await sent.close()
    return Form(words=words, files=files, known=known)


def _counted(request: Request, limit: int) -> Callable[[], Awaitable[Message]]:
    taken = 0

    async def receive() -> Message:
        nonlocal taken
        message = await request.receive()
        taken += len(message.get("body", b""))
        if taken > limit:
            raise Refused(
                f"That is more than {limit // 1024} kB, so nothing was kept. Send less at once.", 413
            )
        return message

    return receive


def _json_words(raw: bytes) -> dict[str, tuple[str, ...]]:
    try:
        read: Any = json.loads(raw)
    except (ValueError, RecursionError):
        read = None
    if not isinstance(read, dict):
        raise Refused("What was sent is not a JSON object.", 400)
    return {
        str(name): tuple(map(_word, value)) if isinstance(value, list) else (_word(value),)
        for name, value in read.items()
        if value is not None
    }


def _word(value: object) -> str:
    return value if isinstance(value, str) else json.dumps(value)
