"""What is tapped: forms of a step, the queue of a tablet that was offline, photos."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from filmwright.desk.bench.entries import Entered, NotTaken, Tap, Wanted, action_of, enter, enter_all, refused
from filmwright.desk.bench.permissions import refuse
from filmwright.desk.bench.photos import MOST_BYTES, keep_photo, kept_photo
from filmwright.errors import BadInput, Problem
from filmwright.web.context import bench_of, settings_of
from filmwright.web.forms import Form, posted, to
from filmwright.web.guard import demand, who
from filmwright.web.problems import wants_json
from filmwright.web.render import page
from filmwright.web.shares import spend_entries

_MOST_TAPS = 200
_QUEUE_BYTES = 2 * 1024 * 1024
_WANTED = ("kind", "name", "value", "unit", "text", "about", "sha256")
_PICTURE = {
    "content-security-policy": "default-src 'none'; sandbox; frame-ancestors 'none'",
    "cache-control": "private, max-age=31536000, immutable",
}


def step_entry(request: Request, form: Form) -> Response:
    """A form of the page of a step."""
    lot, code = request.path_params["lot"], request.path_params["code"]
    bench = bench_of(request)
    wanted = [_wanted(_object(each)) for each in form.many("entry")]
    if form.text("kind"):
        wanted.insert(0, _wanted({name: form.text(name) for name in _WANTED}))
    for name, raw in form.files.get("photo", ()):
        wanted.append(
            Wanted(kind="photo", name="photo", sha256=keep_photo(bench, raw, name), text=form.text("text"))
        )
    tap = Tap(
        id=form.entry_id, lot=lot, step=code, wafers=form.many("wafer"), entries=tuple(wanted), seen=form.seen,
        who=form.who, sure=form.text("sure") == "yes", choice=_choice(form.text("choice")),
    )  # fmt: skip
    spend_entries(request, form.known, len(tap.entries))
    for each in tap.entries:
        demand(request, action_of(bench, lot, each))
    entered = enter(bench, tap)
    if wants_json(request):
        return JSONResponse(entered.fields(), {"conflict": 409, "question": 422}.get(entered.state, 200))
    back = f"/lot/{lot}/step/{code}" + (f"?wafer={tap.wafers[0]}" if tap.wafers else "")
    if entered.state == "conflict":
        return _ask(request, "conflict.html", "Somebody else was here", 409, tap, entered, back)
    if entered.state == "question":
        return _ask(request, "step_question.html", "Look again", 422, tap, entered, back)
    return to(back)


def _ask(
    request: Request, template: str, title: str, status: int, tap: Tap, entered: Entered, back: str
) -> Response:  # fmt: skip
    """The tap again, with what a person has to decide."""
    entries = [json.dumps({name: getattr(each, name) for name in _WANTED}) for each in tap.entries]
    corrected: list[str] = []
    asked = entered.checks[0] if entered.checks else None
    if asked is not None and asked.meant is not None:
        told = asked.fields()
        for each in tap.entries:
            fields = {name: getattr(each, name) for name in _WANTED}
            if each.name == asked.name:
                fields |= {"value": f"{told['meant']:g}", "unit": asked.meant_unit}
            corrected.append(json.dumps(fields))
    return page(
        request, template, title=title, lot=tap.lot, status=status, tap=tap, entered=entered, entries=entries,
        corrected=corrected, back=back, asked=asked,
    )  # fmt: skip


def queue(request: Request, form: Form) -> Response:
    """Taps that waited on a device, in their order; one answer for each."""
    sent = form.many("taps")[:_MOST_TAPS]
    spend_entries(request, form.known, len(sent))
    shared = settings_of(request).shared
    taps: list[Tap | NotTaken | BadInput] = []
    for each in sent:
        try:
            told = _object(each)
            tap = _tap(told, form.text("clock"), form.known if shared else "")
        except BadInput as bad:
            taps.append(bad)
            continue
        claimed = _text(told, "who")
        if shared and claimed not in ("", form.known) and told.get("passed") is not True:
            taps.append(NotTaken(lot=tap.lot, step=tap.step, answer=_of_another(tap, claimed[:60])))
        else:
            taps.append(_allowed(request, tap))
    return JSONResponse({"answers": [each.fields() for each in enter_all(bench_of(request), tuple(taps))]})


def _of_another(tap: Tap, who: str) -> Entered:
    """Only the person who is signed in is known, so nothing is written in the name of another before somebody says so."""
    return Entered(
        state="another's", id=tap.id, said=f"{who} entered this on this tablet and has not sent it yet"
    )


def _allowed(request: Request, tap: Tap) -> Tap | NotTaken:
    """The tap, or the refusal where who is signed in may not write one of its entries."""
    bench, visitor = bench_of(request), who(request)
    try:
        for entry in tap.entries:
            if not visitor.may(action := action_of(bench, tap.lot, entry)):
                raise refuse(action, visitor.role, visitor.way)
    except BadInput as bad:
        return NotTaken(lot=tap.lot, step=tap.step, answer=refused(tap.id, bad))
    return tap


def _tap(sent: Mapping[str, Any], clock: str, who: str) -> Tap:
    entries = sent.get("entries")
    wafers = sent.get("wafers") or ()
    seen = sent.get("seen")
    if not isinstance(entries, list) or not isinstance(wafers, list | tuple):
        raise _shapeless("a tap")
    return Tap(
        id=_text(sent, "id"), lot=_text(sent, "lot"), step=_text(sent, "step"), wafers=tuple(map(str, wafers)),
        entries=tuple(_wanted(each if isinstance(each, dict) else {}) for each in entries),
        seen=seen if isinstance(seen, int) and not isinstance(seen, bool) and seen >= 0 else None,
        happened=_text(sent, "happened"), clock=clock, who=_author(_text(sent, "who")[:60], who),
        sure=sent.get("sure") is True, choice=_choice(_text(sent, "choice")),
    )  # fmt: skip


def _author(claimed: str, known: str) -> str:
    """Who did it. Where people sign in, what one entered and another sent says both: only the sender is proven."""
    if not known:
        return claimed
    return known if claimed in ("", known) else f"{claimed} (sent by {known})"


def _wanted(sent: Mapping[str, Any]) -> Wanted:
    words = {name: _text(sent, name) for name in _WANTED}
    return Wanted(**words)  # type: ignore[arg-type]


def _choice(word: str) -> Any:
    return word if word in {"theirs", "mine"} else ""


def _text(sent: Mapping[str, Any], name: str) -> str:
    value = sent.get(name, "")
    return value if isinstance(value, str) else ""


def _object(text: str) -> dict[str, Any]:
    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        found = None
    if not isinstance(found, dict):
        raise _shapeless("what was sent")
    return found


def _shapeless(what: str) -> BadInput:
    return BadInput(
        Problem(what=what, expected="as a page of this server sends it", got="another shape",
                why="nothing is guessed into the record", remedy="open the page again")
    )  # fmt: skip


def photos(request: Request, form: Form) -> Response:
    """Photos that a device sends before the tap that names them."""
    found = [keep_photo(bench_of(request), raw, name) for name, raw in form.files.get("photo", ())]
    if not found:
        raise _shapeless("the photo")
    return JSONResponse({"sha256": found[0]})


def photo(request: Request) -> Response:
    """A kept photo."""
    try:
        kept = kept_photo(bench_of(request), request.path_params["sha256"])
    except BadInput:
        raise HTTPException(404) from None
    return Response(kept.raw, media_type=kept.media, headers=_PICTURE)


routes = [
    Route("/lot/{lot}/step/{code}", posted(step_entry, limit=MOST_BYTES + 65536), methods=["POST"]),
    Route("/queue", posted(queue, limit=_QUEUE_BYTES), methods=["POST"]),
    Route("/photos", posted(photos, limit=MOST_BYTES + 65536), methods=["POST"]),
    Route("/photos/{sha256}", photo),
]
