"""Paper typed back in: one short line per step, all problems at once, nothing kept before it was looked at."""

from __future__ import annotations

import datetime
import re
import uuid
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from filmwright.desk.bench.holds import check_entries, irreversible
from filmwright.desk.files import now
from filmwright.errors import BadInput, Problem, Problems, nearest
from filmwright.flow import LOGGED, SPREAD, Step, step_of
from filmwright.record import Event, EventKind
from filmwright.units import UnitProblem, convert, read

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench

_MARKS: dict[str, tuple[EventKind, str]] = {
    "start": ("start", ""), "begun": ("start", ""), "ok": ("finish", ""), "done": ("finish", ""),
    "finish": ("finish", ""), "skip": ("skip", ""), "repeat": ("repeat", ""), "go": ("hold", "go"),
    "rework": ("hold", "rework"), "scrap": ("hold", "scrap"),
}  # fmt: skip
_KINDS: dict[str, EventKind] = {"set": "set", "seen": "seen", "measured": "measured"}
_NAMES = "|".join(re.escape(name) for name in sorted(LOGGED, key=len, reverse=True))
_PART = re.compile(
    rf"""(?P<note>"[^"]*")
    |(?P<name>{_NAMES})\s*=\s*(?P<value>[-+]?[0-9][0-9.,eE+-]*\s*[^\s"=0-9]*[^\s"=]*
        (?:\s*(?:\+-|±)\s*[0-9.,]+(?:\s*[^\s"=0-9][^\s"=]*)?)?)
    |(?P<what>[A-Za-z][A-Za-z-]*)\s*=\s*(?P<words>[^\s="]+)
    |(?P<date>\d{{4}}-\d{{2}}-\d{{2}})
    |(?P<time>\d{{1,2}}:\d{{2}})
    |(?P<word>[^\s"]+)""",
    re.VERBOSE,
)
_EXAMPLE = "03C time=41 s seen colour=blue ok 14:05 AB"


@dataclass(frozen=True, kw_only=True)
class TypedLine:
    """One line as it was understood.

    Attributes
    ----------
    number : int
    text : str
        As typed.
    said : str
        In words.
    events : tuple of Event
    flag : str
        What was done without its look, in words, kept as a note beside it; empty when nothing was.
    """

    number: int
    text: str
    said: str
    events: tuple[Event, ...] = ()
    flag: str = ""

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {"line": self.number, "typed": self.text, "understood": self.said, "flag": self.flag}


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """Lines that were copied from paper.

    Attributes
    ----------
    lot, text : str
    who : str
        Where a line names nobody.
    day : str
        ISO date of the first line; empty for today.
    typist : str
        Who is signed in while it is typed; empty where nobody signs in.
    """

    lot: str
    text: str
    who: str = ""
    day: str = ""
    typist: str = ""

    def author(self, initials: str) -> str:
        """Who did it, as the paper says; where people sign in, who typed it in as well, for only the typist is proven."""
        if self.typist and initials not in ("", self.typist):
            return f"{initials} (typed in by {self.typist})"
        return self.typist or initials or self.who


def read_typed(bench: Bench, sheet: Sheet) -> tuple[TypedLine, ...]:
    """What was understood of lines such as ``03C time=41 s seen colour=blue ok 14:05 AB``; nothing is kept.

    A line is a step's code, then wafers (all where none is named), settings, after ``seen`` or ``measured`` what was seen
    or measured, a mark (``start``, ``ok``, ``skip``, ``repeat``, or ``go``, ``rework``, ``scrap`` at a hold point), a clock
    time, initials, and words in quotes. A date on a line of its own, or in a line, holds from there on. The same
    line typed again is kept once.

    Parameters
    ----------
    bench : Bench
    sheet : Sheet

    Raises
    ------
    BadInput
        With every problem of every line.
    """
    problems = Problems()
    reader = _Reader(bench, sheet, problems)
    found = [
        line
        for number, text in enumerate(sheet.text.splitlines(), start=1)
        if text.strip() and not text.lstrip().startswith("#") and (line := reader.line(number, text.strip()))
    ]
    problems.raise_any()
    return _flagged(bench, sheet, found)


def _flagged(bench: Bench, sheet: Sheet, lines: Sequence[TypedLine]) -> tuple[TypedLine, ...]:
    """Lines with a note where paper tells that what cannot be taken back was begun without its look.

    The work is done already: refusing the line would lose what was accepted, so it is kept and says so plainly.
    """
    from filmwright.desk.bench.following import progress_of

    written = bench.events(sheet.lot)
    typed = {each.id: each for line in lines for each in line.events}
    known = (*(each for each in written if each.id not in typed), *typed.values())
    wafers, found = bench.lot(sheet.lot).wafers, []
    for line in lines:
        own = {each.id for each in line.events}
        if not own or not irreversible(step_of(bench.flow(sheet.lot), line.events[0].step)):
            found.append(line)
            continue
        at = datetime.datetime.fromisoformat(line.events[0].happened)
        before = [
            each
            for each in known
            if each.id not in own and datetime.datetime.fromisoformat(each.happened) <= at
        ]
        try:
            check_entries(progress_of(sheet.lot, bench.flow(sheet.lot).steps, before, wafers), line.events)
        except BadInput as bad:
            flag = "begun without its look: " + "; ".join(f"{each.what}: {each.got}" for each in bad.problems)
            notes = {
                each.wafer: _note(each, flag)
                for each in line.events
                if each.kind in {"start", "repeat", "finish"}
            }
            line = replace(line, flag=flag, events=(*line.events, *notes.values()))
        found.append(line)
    return tuple(found)


def _note(event: Event, flag: str) -> Event:
    key = str(uuid.uuid5(uuid.UUID(event.id), "without its look"))
    return replace(event, id=key, kind="note", name="", text=f"{flag}; typed in from paper")


def keep_typed(bench: Bench, sheet: Sheet) -> tuple[TypedLine, ...]:
    """Keep typed lines, all or none."""
    lines = read_typed(bench, sheet)
    bench.store.append(event for line in lines for event in line.events)
    return lines


@dataclass
class _Line:
    """What a line says while it is read."""

    wafers: list[str] = field(default_factory=list)
    kind: EventKind = "set"
    valued: list[tuple[EventKind, str, float | None, str, str]] = field(default_factory=list)
    marks: list[tuple[EventKind, str]] = field(default_factory=list)
    note: str = ""
    time: str = ""
    who: str = ""


class _Reader:
    def __init__(self, bench: Bench, sheet: Sheet, problems: Problems) -> None:
        self.bench, self.sheet, self.problems = bench, sheet, problems
        self.flow = bench.flow(sheet.lot)
        self.names = {piece.name.lower(): piece.name for piece in bench.progress(sheet.lot).pieces}
        self.day = sheet.day or now()[:10]
        self.number = 0

    def line(self, number: int, text: str) -> TypedLine | None:
        """One line; None for a date alone or where it was refused."""
        self.number = number
        if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
            self.day = text
            return None
        code, _, rest = text.partition(" ")
        try:
            step = step_of(self.flow, code)
        except BadInput as bad:
            self.problems.found.extend(each.at("typed", number) for each in bad.problems)
            return None
        before = len(self.problems.found)
        said = _Line()
        for part in _PART.finditer(rest):
            self._part(said, part)
        happened = self._moment(said.time, step.code)
        if not (said.valued or said.marks or said.note):
            self._refuse(
                "a line",
                f'what was done, like "{_EXAMPLE}"',
                text,
                "a code alone says nothing",
                "add ok, or a value",
            )
        if len(self.problems.found) > before:
            return None
        return TypedLine(
            number=number,
            text=text,
            said=_said(step, said, happened),
            events=self._events(step, said, happened),
        )

    def _part(self, line: _Line, part: re.Match[str]) -> None:
        if part["note"] is not None:
            line.note = part["note"].strip('"')
        elif part["name"] is not None:
            self._value(line, part["name"], part["value"].strip())
        elif part["what"] is not None and part["words"][:1].isdigit() and _slip(part["what"]):
            self._refuse(f'"{part["what"]}"', "a quantity", part["what"],
                         "a number under another name is not found again", nearest(part["what"], LOGGED))  # fmt: skip
        elif part["what"] is not None:
            kind: EventKind = "seen" if line.kind == "set" else line.kind
            line.valued.append((kind, part["what"], None, "", part["words"]))
        elif part["date"] is not None:
            self.day = part["date"]
        elif part["time"] is not None:
            line.time = part["time"]
        else:
            self._word(line, part["word"])

    def _word(self, line: _Line, word: str) -> None:
        low = word.lower()
        wafers = [self.names.get(each.lower(), "") for each in word.split(",")]
        if low in _KINDS:
            line.kind = _KINDS[low]
        elif low in _MARKS:
            line.marks.append(_MARKS[low])
        elif all(wafers):
            line.wafers += wafers
        elif re.fullmatch(r"[A-Z]{2,4}", word):
            line.who = word
        else:
            self._refuse(
                f'"{word}"', f'a wafer, a value, a mark, a time or initials, like "{_EXAMPLE}"', word,
                "what is not understood is never dropped", 'write free words in quotes: "…"',
            )  # fmt: skip

    def _value(self, line: _Line, name: str, text: str) -> None:
        try:
            quantity = read(text, LOGGED[name], name)
        except UnitProblem as trouble:
            self.problems.add(trouble.problem.at("typed", self.number))
            return
        line.valued.append((line.kind, name, quantity.value, quantity.unit, ""))
        if quantity.spread is not None:
            # A spread is a difference, so a temperature's is kept in kelvin.
            unit = "K" if LOGGED[name] == "temperature" else quantity.unit
            line.valued.append((line.kind, name + SPREAD, quantity.spread, unit, ""))

    def _moment(self, time: str, code: str) -> str:
        try:
            day = datetime.date.fromisoformat(self.day)
            clock = datetime.time.fromisoformat(time.zfill(5)) if time else datetime.time(12)
        except ValueError:
            self._refuse("when it happened", "a date like 2026-03-31 and a time like 14:05", f"{self.day} {time}",
                         "waits are counted from it", "correct it")  # fmt: skip
            return now()
        happened, here = (
            datetime.datetime.combine(day, clock).astimezone(),
            datetime.datetime.now().astimezone(),
        )
        if happened > here and (time or day > here.date()):
            self._refuse(f"the time of {code}", f"not after now, {here:%Y-%m-%d %H:%M}", f"{happened:%Y-%m-%d %H:%M}",
                         "what was done lies in the past", "correct the time, or the day of the first line")  # fmt: skip
        return happened.isoformat(timespec="seconds")

    def _refuse(self, what: str, expected: str, got: str, why: str, remedy: str) -> None:
        self.problems.add(
            Problem(what=what, expected=expected, got=f'"{got}"', why=why, remedy=remedy, file="typed", line=self.number)
        )  # fmt: skip

    def _events(self, step: Step, line: _Line, happened: str) -> tuple[Event, ...]:
        """Marks come last, so that a value belongs to the visit that they end; a start comes first."""
        marks = sorted(line.marks, key=lambda mark: mark[0] != "start")
        first = [mark for mark in marks if mark[0] in {"start", "repeat"}]
        parts: list[tuple[EventKind, str, float | None, str, str]] = [
            (kind, name, None, "", line.note) for kind, name in first
        ]
        parts += line.valued
        parts += [(kind, name, None, "", line.note) for kind, name in marks if (kind, name) not in first]
        if line.note and not marks:
            parts.append(("note", "", None, "", line.note))
        lot = self.bench.lot(self.sheet.lot)
        return tuple(
            Event(
                id=str(uuid.uuid5(uuid.NAMESPACE_OID, f"{lot.name} {step.number} {wafer} {part} {happened}")),
                lot=lot.name, wafer=wafer, step=step.number, kind=part[0], name=part[1], value=part[2],
                unit=part[3], text=part[4], happened=_past(happened), written=now(),
                who=self.sheet.author(line.who), invented=lot.invented,
            )
            for part in parts
            for wafer in line.wafers or [""]
        )  # fmt: skip


def _past(moment: str) -> str:
    """The moment, or now where a line without a time, read as done at noon, is typed in before noon."""
    return min(moment, now(), key=datetime.datetime.fromisoformat)


def _slip(name: str) -> bool:
    """Whether a name looks like that of a quantity, with a slip."""
    return name.lower() not in LOGGED and nearest(name, LOGGED).startswith("did you mean")


def _said(step: Step, line: _Line, happened: str) -> str:
    words = [f"{step.code} {step.title}", ", ".join(line.wafers) or "all wafers"]
    for kind, name, value, unit, text in line.valued:
        shown = text if value is None else f"{convert(value, unit):.6g} {unit}".strip()
        words.append(f"{kind} {name} {shown}")
    words += [name or kind for kind, name in line.marks]
    if line.note:
        words.append(f'"{line.note}"')
    words.append(_past(happened)[:16].replace("T", " "))
    return "; ".join([*words, line.who] if line.who else words)
