"""What the pages of a plan file and of a lot's flow share: the text with its marks, and what stands beside it."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from filmwright.desk.bench.completion import MOST, complete_plan
from filmwright.desk.bench.live_answers import LiveAnswer
from filmwright.desk.bench.live_review import LiveReview, live_review
from filmwright.desk.bench.surroundings import Surroundings
from filmwright.web.context import bench_of
from filmwright.web.forms import Form, posted
from filmwright.web.guard import may
from filmwright.web.pages.pictures import picture_address
from filmwright.web.render import page

LIMIT = 1_000_000
"""Bytes of a form with a plan in it."""

ACCEPT = "accept-"
"""Before the name of a rule: the field with the reason for which its finding is accepted."""

Around = Callable[[Request], Surroundings]


@dataclass(frozen=True, kw_only=True)
class Editing:
    """How one text is edited: where it goes, and what is said of it.

    Attributes
    ----------
    title, lot : str
    action : str
        Address of the page; ``/live``, ``/complete``, ``/review`` and ``/save`` lie below it.
    text, seen : str
        The text, and the digest of what was read.
    saved_as : str
        What saving makes, in words.
    """

    title: str
    action: str
    text: str
    seen: str
    saved_as: str
    lot: str = ""
    reason: str = ""


@dataclass(frozen=True, kw_only=True)
class VersionRow:
    """One version as it is listed: its digest, since when, by whom and why."""

    digest: str
    when: str
    who: str
    reason: str


def editing_page(
    request: Request, editing: Editing, answer: LiveAnswer, *, status: int = 200, **more: Any
) -> Response:
    """The page of a text that is edited, with what is known of it."""
    shown: dict[str, Any] = {
        "theirs": None,
        "versions": (),
        "version_lines": None,
        "said": "",
        "problems": (),
        "accepting": {},
        **more,
    }
    return page(
        request,
        "plan_edit.html",
        title=editing.title,
        lot=editing.lot,
        status=status,
        editing=editing,
        answer=answer,
        lines=_lines(editing.text, answer),
        picture=_addresses(request),
        writer=uuid.uuid4().hex,
        may_save=may(request, "save flow"),
        **shown,
    )


def _lines(text: str, answer: LiveAnswer) -> list[dict[str, Any]]:
    """The lines that something stands at, with their marks, for readers without script."""
    at: dict[int, list[Any]] = {}
    for mark in answer.marks:
        if mark.line is not None:
            at.setdefault(mark.line, []).append(mark)
    written = text.splitlines()
    return [
        {"number": line, "text": written[line - 1] if line <= len(written) else "", "marks": marks}
        for line, marks in sorted(at.items())
    ]


def _addresses(request: Request) -> Callable[[str], str]:
    """From the digest of a picture to its address; empty where there is none."""
    live = reviewer(request)

    def address(digest: str) -> str:
        svg = live.picture(digest) if digest else None
        return picture_address(request, svg) if svg else ""

    return address


def reviewer(request: Request) -> LiveReview:
    """The reviewer of the bench that is served."""
    return live_review(bench_of(request))


def text_of(form: Form) -> str:
    """The text as it was typed: its blanks at both ends are its own."""
    sent = form.words.get("text", ("",))[0]
    return sent.replace("\r\n", "\n").replace("\r", "\n")


def answers(
    around: Around,
) -> tuple[Callable[[Request, Form], Response], Callable[[Request, Form], Response]]:
    """The two questions that the script asks while a text is typed: what is wrong, and what may stand here."""

    def live(request: Request, form: Form) -> Response:
        stage, text = form.text("stage", "read"), text_of(form)
        asked, lies = reviewer(request), around(request)
        if stage == "read":
            found = asked.read(text, lies)
        else:
            found = asked.review(
                text,
                lies,
                writer=form.text("writer", limit=64),
                pictures=stage == "whole",
                cut=form.text("cut", limit=120),
            )
        told = found.fields()
        address = _addresses(request)
        for step in told["steps"]:
            step.update({kind: address(step[kind]) for kind in ("section", "plan", "view")})
        return JSONResponse(told)

    def complete(request: Request, form: Form) -> Response:
        found = complete_plan(text_of(form), _count(form, "line"), _count(form, "column"), around(request))
        return JSONResponse(
            {
                "line": found.line,
                "start": found.start,
                "end": found.end,
                "of": found.of,
                "offers": [
                    {"text": each.text, "gloss": each.gloss, "kind": each.kind}
                    for each in found.offers[:MOST]
                ],
            }
        )

    return live, complete


def _count(form: Form, name: str) -> int:
    sent = form.text(name)
    if not (sent.isascii() and sent.isdigit() and 0 < len(sent) < 9):
        raise HTTPException(400)
    return int(sent)


def asked(handler: Callable[[Request, Form], Response]) -> Any:
    """A question with a text in it: who may read may ask."""
    return posted(handler, needs="read", limit=LIMIT)
