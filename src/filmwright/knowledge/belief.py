"""What to believe of a rate today: the newest good evidence, with the rest said beside it."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from filmwright.knowledge.names import UnknownName
from filmwright.knowledge.shipped import Book
from filmwright.knowledge.types import Belief, CalibratedQuantity, Calibration, Lab
from filmwright.sources import Source, Value
from filmwright.units import plain, write

_AGREE = 3.0
"""Standard deviations of their difference within which two readings are taken to say the same."""


@dataclass(frozen=True)
class _Level:
    """A value with its variance at a day, from some readings that agree."""

    value: float
    variance: float
    day: date
    readings: tuple[Calibration, ...]


def believe(  # noqa: PLR0913 - a calibration holds for a tool, material, medium and recipe
    lab: Lab,
    book: Book,
    *,
    of: CalibratedQuantity,
    tool: str,
    material: str = "",
    medium: str = "",
    recipe: str = "",
    on: str,
) -> Belief | None:
    """What is believed of a number on a day, and why; None when nothing is known.

    The lab's own calibrations go before the book. A calibration after maintenance outdates every earlier
    one; those since are combined by inverse variance, each variance growing with the time since, as a
    random walk does: σ²(t) = σ² + (d·v)²·t, with the drift d of :attr:`Book.drifts`. A reading that lies
    more than three standard deviations off two or more earlier ones that agree is set aside until a second
    one confirms it. Where only another material was measured after maintenance, the older number is kept
    and the reason says so.

    Parameters
    ----------
    of : CalibratedQuantity
    tool, material, medium, recipe : str
        What it is for; a calibration that leaves one empty holds for any.
    on : str
        ISO date; later calibrations are not used.
    """
    day = date.fromisoformat(on)
    shipped = _shipped(book, of, material, medium, recipe)
    wanted = {"material": material, "medium": medium, "recipe": recipe}
    mine = [
        c for c in lab.calibrations if c.of == of and date.fromisoformat(c.date) <= day and _fits(c, wanted)
    ]
    elsewhere = [f"{_said(c)}: on another tool" for c in mine if c.tool and c.tool != tool]
    mine, general = _closest([c for c in mine if c.tool in ("", tool)])
    mine, outdated = _since_maintenance(mine)
    if not mine:
        return None if shipped is None else replace(shipped, alternatives=(*shipped.alternatives, *elsewhere))
    level, aside = _combined(mine, book.drifts[of])
    variance = level.variance + _wandered(book.drifts[of], level.value, (day - level.day).days)
    book_said = (
        []
        if shipped is None
        else [f"{write(shipped.value, shipped.unit)}, {shipped.source}: this lab has its own"]
    )
    found = _belief(level, math.sqrt(variance), day, (*aside, *outdated, *general, *elsewhere, *book_said))
    opened = _opened_since(lab, tool, level.readings[-1].date, on)
    if not opened:
        return found
    return replace(found, reason=f"{found.reason}; the tool was opened since ({opened}), so measure it again")


def _fits(calibration: Calibration, wanted: dict[str, str]) -> bool:
    return all(getattr(calibration, key) in ("", value) for key, value in wanted.items())


def _closest(calibrations: list[Calibration]) -> tuple[list[Calibration], list[str]]:
    """Those that name most of tool, material, medium and recipe; the others as alternatives."""
    detail = {id(c): sum(bool(x) for x in (c.tool, c.material, c.medium, c.recipe)) for c in calibrations}
    most = max(detail.values(), default=0)
    kept = sorted((c for c in calibrations if detail[id(c)] == most), key=lambda c: c.date)
    return kept, [f"{_said(c)}: less specific" for c in calibrations if detail[id(c)] < most]


def _since_maintenance(calibrations: list[Calibration]) -> tuple[list[Calibration], list[str]]:
    opened = max((i for i, c in enumerate(calibrations) if c.after_maintenance), default=0)
    old = [
        f"{_said(c)}: before the maintenance, outdated by {calibrations[opened].date}"
        for c in calibrations[:opened]
    ]
    return calibrations[opened:], old


def _opened_since(lab: Lab, tool: str, last: str, on: str) -> str:
    """The newest date, after the last reading, on which this tool was measured as just opened; else empty."""
    dates = [c.date for c in lab.calibrations if c.after_maintenance and tool and c.tool == tool]
    later = (
        each
        for each in dates
        if date.fromisoformat(last) < date.fromisoformat(each) <= date.fromisoformat(on)
    )
    return max(later, key=date.fromisoformat, default="")


def _wandered(drift: Value, value: float, days: float) -> float:
    """Variance [SI²] that a quantity gains while nobody looks, linear in the days."""
    per_day = drift.value * abs(value) if drift.unit == "%" else drift.value
    return per_day**2 * max(days, 0.0)


def _read(calibration: Calibration) -> _Level:
    return _Level(calibration.value, calibration.std**2, date.fromisoformat(calibration.date), (calibration,))


def _aged(level: _Level, drift: Value, day: date) -> _Level:
    return replace(
        level, variance=level.variance + _wandered(drift, level.value, (day - level.day).days), day=day
    )


def _agree(one: _Level, other: _Level) -> bool:
    return abs(one.value - other.value) <= _AGREE * math.sqrt(one.variance + other.variance)


def _joined(one: _Level, other: _Level) -> _Level:
    """The inverse-variance mean of two readings of the same thing at the same day."""
    total = one.variance + other.variance
    if total == 0.0:
        return replace(other, readings=one.readings + other.readings)
    value = (one.value * other.variance + other.value * one.variance) / total
    return _Level(value, one.variance * other.variance / total, other.day, one.readings + other.readings)


def _combined(calibrations: Iterable[Calibration], drift: Value) -> tuple[_Level, list[str]]:
    """One level out of readings in order of date, and what was set aside, each with its reason."""
    first, *rest = [_read(c) for c in calibrations]
    level, doubted, aside = first, None, []
    for reading in rest:
        known = _aged(level, drift, reading.day)
        if _agree(known, reading):
            level = _joined(known, reading)
            doubted = None
        elif doubted is not None and _agree(_aged(doubted, drift, reading.day), reading):
            aside += [
                f"{_said(c)}: two later readings agree with each other and not with it"
                for c in level.readings
            ]
            aside = [line for line in aside if not line.startswith(_said(doubted.readings[0]))]
            level, doubted = _joined(_aged(doubted, drift, reading.day), reading), None
        elif len(known.readings) == 1:
            aside.append(
                f"{_said(known.readings[0])}: the next reading disagrees; "
                "the newer one is taken, with half their difference as its doubt"
            )
            level = replace(reading, variance=max(reading.variance, ((reading.value - known.value) / 2) ** 2))
        else:
            aside.append(
                f"{_said(reading.readings[0])}: one reading against {len(known.readings)} that agree; "
                "measure again"
            )
            doubted = reading
    return level, aside


def _said(calibration: Calibration) -> str:
    spread = plain(calibration.std, calibration.unit)
    return f"{write(calibration.value, calibration.unit)} ± {spread:.2g} of {calibration.date}"


def _belief(level: _Level, std: float, day: date, alternatives: tuple[str, ...]) -> Belief:
    newest, count = level.readings[-1], len(level.readings)
    by = newest.by or "the lab file"
    several = "" if count == 1 else f" and {count - 1} before it"
    reason = (
        "the newest calibration"
        if count == 1
        else f"{count} calibrations that agree, the nearer in time the heavier"
    )
    if level.readings[0].after_maintenance:
        reason += ", since the maintenance"
    return Belief(
        value=level.value,
        std=std,
        unit=newest.unit,
        source=Source(citation=by, kind=newest.kind, where=newest.tool, date=newest.date),
        evidence=f"{newest.evidence or 'calibration'} of {newest.date}{several}",
        reason=reason,
        age_days=float((day - level.day).days),
        alternatives=alternatives,
    )


def _shipped(book: Book, of: str, material: str, medium: str, recipe: str) -> Belief | None:
    """The book's own number for a quantity, where it has one."""
    value = _book_value(book, of, material, medium, recipe)
    if value is None:
        return None
    return Belief(
        value=value.value,
        std=value.std,
        unit=value.unit,
        source=value.source,
        evidence=f"{value.source}" + (f"; {value.condition}" if value.condition else ""),
        reason="nothing measured in this lab is on file; a book value is the weakest evidence",
    )


def _book_value(book: Book, of: str, material: str, medium: str, recipe: str) -> Value | None:
    try:
        if of == "etch rate":
            return book.medium(medium).rate(material).value
        if of == "growth per cycle":
            return book.material(material).values.get("growth per cycle")
        resist_keys = {
            "resist thickness": "thickness at reference speed",
            "clearing dose": "dose",
            "print bias": "print bias",
        }
        if of in resist_keys:
            return book.resist(recipe).values.get(resist_keys[of])
    except UnknownName:
        return None
    return None
