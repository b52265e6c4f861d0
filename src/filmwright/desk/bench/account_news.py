"""What happened to an account, told to its owner: a stranger's doing is noticed by the one who knows better."""

from __future__ import annotations

import re
from dataclasses import asdict, dataclass
from typing import Any

from filmwright.desk.bench.people import People
from filmwright.record import LogbookEntry

WRONG_TOLD = 5
"""Wrong tries since the last sign-in that are told: fewer are slips of one's own."""

_LINES = 2000
"""Newest lines of the log that are looked through: who signs in does not wait for the log of years."""

_CHANGED = re.compile(r"(?P<name>.+): (?P<what>[^:]+)", re.DOTALL)
_OF_TOKEN = re.compile(r"(?P<token>.+) of (?P<name>.+), for [a-z, ]+", re.DOTALL)
_SAID = {
    "password": "The password was changed",
    "PIN": "The PIN was set or taken away",
    "put into use": "The account was opened again",
    "put out of use": "The account was closed",
}


@dataclass(frozen=True, kw_only=True)
class News:
    """One thing that changed.

    Attributes
    ----------
    when : str
        ISO time with offset.
    said : str
    who : str
        Who did it; empty for tries of somebody unknown.
    """

    when: str
    said: str
    who: str = ""

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return asdict(self)


def changes_of(people: People, name: str, most: int = 10) -> tuple[News, ...]:
    """What was changed of an account, newest first."""
    found = [news for each in people.lines(_LINES) if (news := _news(each, name)) is not None]
    return tuple(found[:most])


def news_of(people: People, name: str) -> tuple[News, ...]:
    """What happened between the sign-in of now and the one before, oldest first; nothing at a first sign-in."""
    lines = people.lines(_LINES)[::-1]
    begun = [k for k, each in enumerate(lines) if each.name == "signed in" and each.who == name]
    if not begun or (len(begun) == 1 and len(lines) < _LINES):
        return ()
    between = lines[begun[-2] + 1 if len(begun) > 1 else 0 : begun[-1]]
    found = [news for each in between if (news := _news(each, name)) is not None]
    wrong = [each for each in between if each.name == "refused" and each.who == name]
    if len(wrong) >= WRONG_TOLD:
        found.append(News(when=wrong[-1].happened, said=f"{len(wrong)} wrong passwords or PINs were tried"))
    return tuple(found)


def _news(line: LogbookEntry, name: str) -> News | None:
    said = ""
    if line.name == "changed" and (read := _CHANGED.fullmatch(line.text)) and _same(read["name"], name):
        said = "; ".join(_said(each) for each in read["what"].split(", "))
    elif line.name == "token made" and (read := _OF_TOKEN.fullmatch(line.text)) and _same(read["name"], name):
        said = f"A token for a program was made: {read['token']}"
        if line.text.endswith(", for password"):
            said = "A link was drawn that sets a new password"
    return News(when=line.happened, said=said, who=line.who) if said else None


def _said(what: str) -> str:
    return (
        f"The role is now {what.removeprefix('role ')}" if what.startswith("role ") else _SAID.get(what, what)
    )


def _same(one: str, other: str) -> bool:
    return one.casefold() == other.casefold()
