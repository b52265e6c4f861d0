"""Pages from templates: everything is escaped, a name that is not there is an error, one frame around each page."""

from __future__ import annotations

import datetime
import functools
import hashlib
import re
import uuid
from collections.abc import Iterable
from importlib.resources import files
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse
from starlette.routing import Match, Route

from filmwright.errors import BadInput
from filmwright.web.context import bench_of, settings_of
from filmwright.web.guard import THEME, form_token, may, set_seat, who

THEMES = ("paper", "amber")
_TURNING = re.compile("[\u202a-\u202e\u2066-\u2069]")
"""Embeddings, overrides and isolates of the Unicode bidirectional algorithm (UAX 9); its plain marks stay."""
STATIC = Path(str(files("filmwright.web"))) / "static"


@functools.cache
def environment() -> Environment:
    """The templates; autoescape is on for every one of them, whatever its name."""
    made = Environment(
        loader=PackageLoader("filmwright.web", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_upright,
        auto_reload=False,  # an installed template does not change: it is not looked for at every page
    )
    made.globals["static"] = static
    made.globals["new_id"] = lambda: str(uuid.uuid4())
    made.filters.update(clock=clock, day=day, ago=ago, names=names, sentence=sentence, zip=zip)
    return made


def read_templates() -> None:
    """Read every template, so that no page waits for its own."""
    for name in environment().list_templates(["html"]):
        environment().get_template(name)


def _upright(shown: Any) -> Any:
    """What is shown, without letters that make the rest of a line run the other way: it would read as something else than it says."""
    if type(shown) is str and not shown.isascii():
        return _TURNING.sub("\N{REPLACEMENT CHARACTER}", shown)
    return shown


@functools.cache
def static_digest() -> str:
    """One digest of all static files: the folder's name in addresses, so that browsers may keep them for a year."""
    sealed = hashlib.sha256()
    for path in sorted(STATIC.rglob("*")):
        if path.is_file():
            sealed.update(path.relative_to(STATIC).as_posix().encode() + b"\0" + path.read_bytes())
    return sealed.hexdigest()[:12]


def static(name: str) -> str:
    """The address of a static file."""
    return f"/static/{static_digest()}/{name}"


def theme_of(request: Request) -> str:
    """The theme that this browser chose."""
    chosen = request.cookies.get(THEME, "")
    return chosen if chosen in THEMES else THEMES[0]


def clock(moment: str) -> str:
    """An ISO time as hours and minutes, with the day where it is not today."""
    when = datetime.datetime.fromisoformat(moment).astimezone()
    today = datetime.datetime.now().astimezone().date()
    return f"{when:%H:%M}" if when.date() == today else f"{when:%a} {when.day} {when:%b} {when:%H:%M}"


def day(moment: str) -> str:
    """An ISO time as a day in words."""
    when = datetime.datetime.fromisoformat(moment).astimezone()
    return f"{when:%A} {when.day} {when:%B}"


def ago(moment: str) -> str:
    """How long ago an ISO time was, in the one unit that matters."""
    seconds = (datetime.datetime.now().astimezone() - datetime.datetime.fromisoformat(moment)).total_seconds()
    for unit, length in (("day", 86_400), ("hour", 3_600), ("minute", 60)):
        count = int(seconds // length)
        if count > 0:
            return f"{count} {unit}{'s' if count != 1 else ''} ago"
    return "just now"


def sentence(words: str) -> str:
    """Words as a sentence begins; all but the first letter stays, for mTorr is not mtorr."""
    return words[:1].upper() + words[1:]


def names(each: Iterable[str]) -> str:
    """Names in a row; three or more that count on are told by their ends, as in ``W1 to W8, W12``."""
    rows: list[list[str]] = []
    for name in each:
        if rows and _follows(rows[-1][-1], name):
            rows[-1].append(name)
        else:
            rows.append([name])
    told = (f"{row[0]} to {row[-1]}" if len(row) > 2 else ", ".join(row) for row in rows)
    return ", ".join(told)


def _follows(one: str, other: str) -> bool:
    """Whether two names differ only by a number at their end, the second one's being the next."""
    parts = [re.match(r"(.*?)([0-9]{1,4})\Z", each, re.DOTALL) for each in (one, other)]
    if parts[0] is None or parts[1] is None:
        return False
    return parts[0][1] == parts[1][1] and int(parts[1][2]) == int(parts[0][2]) + 1


def has(request: Request, path: str) -> bool:
    """Whether this server has a page at an address; a link is shown only where one is."""
    scope = {"type": "http", "method": "GET", "path": path, "root_path": "", "headers": []}
    return any(
        isinstance(route, Route) and route.matches(scope)[0] is Match.FULL for route in request.app.routes
    )


def _invented(request: Request, lot: str) -> bool:
    try:
        return bool(lot) and bench_of(request).lot(lot).invented
    except BadInput:
        return False


def page(
    request: Request, template: str, *, title: str, lot: str = "", status: int = 200, **content: Any
) -> HTMLResponse:
    """One page in the frame.

    Parameters
    ----------
    request : Request
    template : str
        Extends ``frame.html``.
    title : str
        What the page is called in the browser and at its top.
    lot : str
        The lot that the page is about; it stands in the head and is kept for use without network.
    status : int
    content
        What the template shows.
    """
    asked = who(request)
    text = (
        environment()
        .get_template(template)
        .render(
            title=title,
            lot=lot,
            who=asked,
            theme=theme_of(request),
            token=form_token(request),
            settings=settings_of(request),
            may=lambda action: may(request, action),
            has=lambda path: has(request, path),
            invented=settings_of(request).example or _invented(request, lot),
            now=datetime.datetime.now().astimezone().isoformat(timespec="seconds"),
            here=request.url.path + (f"?{request.url.query}" if request.url.query else ""),
            **content,
        )
    )
    response = HTMLResponse(text, status)
    response.headers["x-version"] = static_digest()
    set_seat(request, response)
    return response
