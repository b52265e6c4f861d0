"""Logbooks beside the lots: of a tool, of a bath, of the site and of the accounts."""

from __future__ import annotations

import re
import uuid
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Literal, get_args

from filmwright.errors import Problems, nearest
from filmwright.record.chain import canonical
from filmwright.record.checks import (
    check_pattern,
    check_reference,
    check_text,
    check_times,
    digest,
    finite,
    is_uuid,
    refuse_part,
)
from filmwright.record.objects import ChainCheck

LogbookKind = Literal[
    "state", "recipe", "check", "qualification", "calibration", "maintenance", "bath", "note", "account",
    "access", "setting",
]  # fmt: skip
LOGBOOK_KINDS: tuple[str, ...] = get_args(LogbookKind)

_BOOK = re.compile(r"site|accounts|(tool|bath):\S(.{0,78}\S)?")
_NAMED = frozenset({"state", "recipe", "check", "qualification", "calibration", "bath", "account", "access",
                    "setting"})  # fmt: skip
_NAMES = {
    "state": ("up", "limited", "down"),
    "bath": ("fresh", "topped up", "used", "discarded"),
}


@dataclass(frozen=True, kw_only=True)
class LogbookEntry:
    """One line of a logbook; a correction is a new line that is about the old one.

    Attributes
    ----------
    id : str
        UUID; the same line sent twice is kept once.
    book : str
        ``tool:`` or ``bath:`` and the name in the lab file, ``site`` or ``accounts``.
    kind : LogbookKind
        ``state`` of a tool (``name`` is ``up``, ``limited`` or ``down``), ``recipe``, ``check`` before use
        (``name`` is the quantity), ``qualification`` by the month, ``calibration``, ``maintenance``, ``bath``
        (``name`` is ``fresh``, ``topped up``, ``used`` or ``discarded``), ``note``; ``account`` is a change of
        accounts, ``access`` a sign-in or a refused one, ``setting`` a change of how the site works.
    name : str
    value : float [SI] or None
    unit : str
        The unit in which the person wrote it.
    text : str
    happened, written : str
        ISO times with offset.
    who : str
    about : str
        Id of the earlier line that this one corrects or takes back; else empty.
    sha256 : str
        Of a kept file; else empty.
    invented : bool
    """

    id: str
    book: str
    kind: LogbookKind
    happened: str
    written: str
    name: str = ""
    value: float | None = None
    unit: str = ""
    text: str = ""
    who: str = ""
    about: str = ""
    sha256: str = ""
    invented: bool = False

    def __post_init__(self) -> None:
        problems = Problems()
        place = f"logbook {self.book}"
        if not is_uuid(self.id):
            refuse_part(
                problems, f"the id of a line of {place}", "a UUID", self.id,
                "a line sent twice is kept once by its id", "draw a random UUID for each line",
            )  # fmt: skip
        check_pattern(problems, "the name of a logbook", self.book, _BOOK, "tool:evaporator")
        self._check_kind(problems, place)
        value = finite(problems, f"{self.name or 'the value'} in {place}", self.value)
        if value is None and not self.text and not self.name:
            refuse_part(
                problems, f"a line of {place}", "a name, a value or words", "",
                "an empty line says nothing later", "write what was done or read",
            )  # fmt: skip
        check_reference(problems, place, self.about, self.sha256)
        check_times(problems, place, self.happened, self.written)
        for what in ("name", "unit", "text", "who"):
            check_text(problems, f"the {what} of a line of {place}", getattr(self, what))
        problems.raise_any()
        object.__setattr__(self, "value", value)
        object.__setattr__(self, "id", str(uuid.UUID(self.id)))
        if self.about:
            object.__setattr__(self, "about", str(uuid.UUID(self.about)))

    def _check_kind(self, problems: Problems, place: str) -> None:
        if self.kind not in LOGBOOK_KINDS:
            refuse_part(
                problems, f"the kind of a line of {place}", "a kind of line", self.kind,
                "control charts and ages of baths are read by it", nearest(str(self.kind), LOGBOOK_KINDS),
            )  # fmt: skip
        if self.kind in _NAMED and not self.name:
            refuse_part(
                problems, f'what was "{self.kind}" in {place}', "named", "",
                "a line without a name is lost", 'name it, such as "up" or "rate"',
            )  # fmt: skip
        allowed = _NAMES.get(self.kind, ())
        if allowed and self.name and self.name not in allowed:
            refuse_part(
                problems, f"the {self.kind} in {place}", "one of " + ", ".join(allowed), self.name,
                "it is counted by its name", nearest(self.name, allowed),
            )  # fmt: skip


def book_digest(book: str) -> str:
    """The first link of the chain of a logbook."""
    return digest(canonical({"book": book}))


def line_digest(previous: str, entry: LogbookEntry) -> str:
    """Digest of a line and of everything before it.

    Parameters
    ----------
    previous : str
        Digest of the line before, or of the name of the book.
    entry : LogbookEntry
    """
    return digest(previous + canonical(asdict(entry)))


def check_book(book: str, rows: Iterable[tuple[int, LogbookEntry, str, str]]) -> ChainCheck:
    """Walk the chain of a logbook and name the first link that does not fit.

    Parameters
    ----------
    book : str
    rows : iterable of (position, entry, previous digest, digest)
        In the order of their positions.
    """
    head, entries = book_digest(book), 0
    for position, entry, previous, kept in rows:
        entries += 1
        why = ""
        if position != entries:
            why = f"line {entries} is missing"
        elif previous != head:
            why = f"line {entries} does not follow the one before it"
        elif line_digest(head, entry) != kept:
            why = f"line {entries} was changed after it was written"
        if why:
            return ChainCheck(lot=book, entries=entries, head=head, sound=False, first_bad=entries, why=why)
        head = kept
    return ChainCheck(lot=book, entries=entries, head=head, sound=True)
