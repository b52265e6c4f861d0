"""Logbooks of tools and baths as the lab's own knowledge: what they say joins the lab file before anything is planned.

The lab file stays the description of a tool; its logbook is the history. Calibrations and qualification points become
calibrations, a maintenance outdates them, a fresh bath is young again, and what lots did counts as uses.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, get_args

from filmwright.desk.wandering import wanders_of
from filmwright.knowledge import Bath, CalibratedQuantity, Calibration, Lab, Maintenance, Tool
from filmwright.units import plain, read

if TYPE_CHECKING:
    from filmwright.record import LogbookEntry, Store

CALIBRATED: tuple[str, ...] = get_args(CalibratedQuantity)
TOOL, BATH = "tool:", "bath:"
_PARTS = ("material", "medium", "recipe", "spread", "wafers", "area", "volume", "evidence")


@dataclass(frozen=True, kw_only=True)
class Use:
    """One time that a lot used a tool, and the bath in it.

    Attributes
    ----------
    tool, medium : str
    day : str
        ISO date.
    lot, step : str
        Name, and short code of the step.
    wafers, runs : int
    material : str
    """

    tool: str
    day: str
    lot: str
    step: str
    wafers: int
    runs: int = 1
    medium: str = ""
    material: str = ""


@dataclass(frozen=True, kw_only=True)
class Books:
    """Lines that hold of all logbooks, and the uses by lots.

    Attributes
    ----------
    lines : mapping from book to tuple of LogbookEntry
        Corrected ones in place, those that were taken back left out, in order of when it happened.
    uses : tuple of Use
    """

    lines: Mapping[str, tuple[LogbookEntry, ...]] = field(default_factory=dict)
    uses: tuple[Use, ...] = ()

    def up_to(self, day: str) -> Books:
        """What was known at the end of a day."""
        lines = {
            book: tuple(line for line in own if line.happened[:10] <= day) for book, own in self.lines.items()
        }
        return Books(lines=lines, uses=tuple(use for use in self.uses if use.day <= day))

    def tool(self, name: str) -> tuple[LogbookEntry, ...]:
        """The logbook of a tool."""
        return self.lines.get(TOOL + name, ())

    def bath(self, name: str) -> tuple[LogbookEntry, ...]:
        """The logbook of a bath."""
        return self.lines.get(BATH + name, ())


def holding(lines: Iterable[LogbookEntry]) -> tuple[LogbookEntry, ...]:
    """Lines that hold: one that is about an earlier one takes its place; a note about it takes it back.

    Parameters
    ----------
    lines : iterable of LogbookEntry
        In the order of writing.
    """
    found: dict[str, LogbookEntry] = {}
    place: dict[str, str] = {}
    for line in lines:
        if not line.about:
            found[line.id] = line
            continue
        first = place.get(line.about, line.about)
        place[line.id] = first
        if line.kind == "note":
            found.pop(first, None)
        elif first in found:
            found[first] = line
    return tuple(sorted(found.values(), key=lambda line: _moment(line.happened)))


def _moment(text: str) -> float:
    from datetime import datetime

    return datetime.fromisoformat(text).timestamp()


def told(**parts: str) -> str:
    """Words of a line that a program reads again: ``material: titanium; spread: 0.004 nm/s``.

    Parameters
    ----------
    parts : str
        Of :data:`_PARTS`; empty ones are left out.
    """
    return "; ".join(
        f"{name}: {' '.join(parts[name].replace(';', ',').split())}"
        for name in _PARTS
        if parts.get(name, "").strip()
    )


def parts_of(text: str) -> dict[str, str]:
    """What :func:`told` wrote; other words stand under ``evidence``."""
    found: dict[str, str] = {}
    rest = []
    for piece in text.split(";"):
        name, colon, value = piece.strip().partition(": ")
        if colon and name in _PARTS:
            found[name] = value.strip()
        elif piece.strip():
            rest.append(piece.strip())
    if rest:
        found["evidence"] = "; ".join([*([found["evidence"]] if "evidence" in found else []), *rest])
    return found


def read_books(store: Store) -> dict[str, tuple[LogbookEntry, ...]]:
    """The lines that hold of every logbook of tools and baths."""
    return {book: holding(store.logbook(book)) for book in store.books() if book.startswith((TOOL, BATH))}


def with_books(lab: Lab, books: Books) -> Lab:
    """The lab file joined by the logbooks: calibrations, maintenance, baths, uses, and how fast its numbers wander.

    Parameters
    ----------
    lab : Lab
        With what was accepted.
    books : Books
    """
    if not books.lines and not books.uses:
        return lab
    tools = {name: _tool(tool, books.tool(name)) for name, tool in lab.tools.items()}
    measured = [
        found
        for name in dict.fromkeys(
            [*lab.tools, *(book.removeprefix(TOOL) for book in books.lines if book.startswith(TOOL))]
        )
        for line in books.tool(name)
        if (found := calibration_of(line, name)) is not None
    ]
    uses: dict[str, list[str]] = {}
    for use in books.uses:
        uses.setdefault(use.tool, []).extend([use.day] * use.runs)
    joined = replace(
        lab,
        tools=tools,
        calibrations=(*lab.calibrations, *measured),
        baths=tuple(standing for bath in lab.baths if (standing := bath_now(bath, books)) is not None),
        uses={tool: tuple(days) for tool, days in uses.items()},
    )
    return replace(joined, wanders=wanders_of(joined))


def _tool(tool: Tool, lines: Sequence[LogbookEntry]) -> Tool:
    """A tool with the maintenance of its logbook."""
    more = [
        Maintenance(date=line.happened[:10], done=line.text or line.name, by=line.who)
        for line in lines
        if line.kind == "maintenance"
    ]
    return replace(tool, maintenance=tuple(sorted((*tool.maintenance, *more), key=lambda one: one.date)))


def calibration_of(line: LogbookEntry, tool: str) -> Calibration | None:
    """A calibration or a qualification point as a calibration of the lab; None for another line, or one without a spread."""
    if line.kind not in ("calibration", "qualification") or line.value is None or line.name not in CALIBRATED:
        return None
    parts = parts_of(line.text)
    std = spread_of(line)
    if std is None:
        return None
    return Calibration(
        of=line.name,  # type: ignore[arg-type]
        tool=tool,
        material=parts.get("material", ""),
        medium=parts.get("medium", ""),
        recipe=parts.get("recipe", ""),
        value=line.value,
        std=std,
        unit=line.unit,
        date=line.happened[:10],
        by=line.who,
        evidence=parts.get("evidence", "") or line.kind,
        kind="invented" if line.invented else "lab",
    )


def spread_of(line: LogbookEntry) -> float | None:
    """The standard deviation that stands in the words of a line [SI]; None where none does."""
    written = parts_of(line.text).get("spread", "")
    number, _, unit = written.partition(" ")
    try:
        return float(number) / plain(1.0, unit) if unit else float(number)
    except ValueError:
        return None


def spread_words(std: float, unit: str) -> str:
    """A standard deviation [SI] as it stands in the words of a line."""
    return f"{plain(std, unit):.4g} {unit}".strip()


def bath_now(bath: Bath, books: Books) -> Bath | None:
    """A bath of the lab file as its logbook and the lots left it; None where it was discarded and nothing is fresh.

    A fresh bath begins anew with nothing etched in it; topping up refills it and makes it no younger. What lots etched in it
    counts from the day on which it was made, what somebody wrote as used counts beside them.
    """
    made, wafers, area, volume, gone = bath.made, bath.wafers_done, bath.area_done or 0.0, bath.volume, False
    since = made
    for line in books.bath(bath.name):
        parts = parts_of(line.text)
        day = line.happened[:10]
        if line.name == "fresh":
            made, since, wafers, area, gone = day, line.happened, 0, 0.0, False
            volume = _quantity(parts.get("volume", ""), "volume") or volume
        elif line.name == "discarded":
            gone = True
        elif line.name == "used":
            wafers += int(parts["wafers"]) if parts.get("wafers", "").isdigit() else 0
            area += _quantity(parts.get("area", ""), "area") or 0.0
    if gone:
        return None
    wafers += sum(use.wafers for use in bath_uses(bath, books, since=since[:10], fresh=since != bath.made))
    return replace(bath, made=made, wafers_done=wafers, area_done=area or bath.area_done, volume=volume)


def bath_uses(bath: Bath, books: Books, *, since: str, fresh: bool) -> tuple[Use, ...]:
    """The uses of a bath by lots since a day; those on the day of the lab file's own count are taken to be in that count."""
    return tuple(
        use
        for use in books.uses
        if use.medium == bath.medium
        and bath.tool in ("", use.tool)
        and (use.day >= since if fresh else use.day > since)
    )


def _quantity(text: str, dimension: str) -> float | None:
    try:
        return read(text, dimension).value if text else None
    except ValueError:
        return None
