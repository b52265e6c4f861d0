"""What to believe of a rate today: the newest good evidence, with the rest said beside it."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from filmwright.knowledge.names import UnknownName
from filmwright.knowledge.shipped import Book
from filmwright.knowledge.types import Belief, CalibratedQuantity, Calibration, Lab
from filmwright.knowledge.wander import Gait, gait_of
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
    setting: float | None = None,
    on: str,
) -> Belief | None:
    """What is believed of a number on a day, and why; None when nothing is known.

    The lab's own calibrations go before the book; of those the ones that name the recipe, then those that name most of the rest.
    A calibration after maintenance outdates every earlier one; those since are combined by inverse variance, each variance growing
    as a random walk does with the days t and the uses n since: σ² + (d·v)²·t + (w·v)²·n, with the drift d of :attr:`Book.drifts` and
    the wear w of :attr:`Book.wears`, or those that the logbook of the tool tells (:attr:`Lab.wanders`). A reading that lies more
    than three standard deviations off two or more earlier ones that agree is set aside until a second one confirms it. Where
    nothing was measured since a maintenance the older number is kept, its variance grows by
    (j·v)² for each, with the jump j of :attr:`Book.jumps`, and the reason says so.

    Parameters
    ----------
    of : CalibratedQuantity
    tool, material, medium, recipe : str
        What it is for; a calibration that leaves one empty holds for any.
    setting : float or None [SI]
        Of a lamp intensity its wavelength, of a hot-plate offset what the plate is set to: readings at others do not count. None takes
        those without a setting, else the line of the dose, or the nearest to now.
    on : str
        ISO date; later calibrations are not used.
    """
    day = date.fromisoformat(on)
    shipped = _shipped(book, of, material, medium, recipe)
    wanted = {"material": material, "medium": medium, "recipe": recipe}
    mine = [
        c for c in lab.calibrations if c.of == of and _fits(c, wanted) and date.fromisoformat(c.date) <= day
    ]
    elsewhere = [f"{_said(c)}: on another tool" for c in mine if c.tool and c.tool != tool]
    mine, other = _at_setting([c for c in mine if c.tool in ("", tool)], of, setting, book)
    spoiled = [f"{_said(c)}: set aside, {c.set_aside}" for c in mine if c.set_aside]
    mine, general = _closest([c for c in mine if not c.set_aside])
    mine, outdated = _since_maintenance(mine, lab, tool, on)
    elsewhere += [*spoiled, *other]
    if not mine:
        return None if shipped is None else replace(shipped, alternatives=(*shipped.alternatives, *elsewhere))
    usual = (book.drifts[of], book.wears[of], book.jumps[of])
    gait = gait_of(usual, lab.wanders, {"of": of, "tool": tool, **wanted}, lab.uses.get(tool, ()))
    level, aside = _combined(mine, gait)
    variance = _aged(level, gait, day).variance
    book_said = (
        []
        if shipped is None
        else [f"{write(shipped.value, shipped.unit)}, {shipped.source}: this lab has its own"]
    )
    opened = _opened_since(lab, tool, level.readings[-1].date, on)
    variance += gait.jumped(level.value, len(opened))
    found = _belief(level, math.sqrt(variance), day, (*aside, *outdated, *general, *elsewhere, *book_said))
    if gait.said:
        found = replace(found, reason=f"{found.reason}; {gait.said}")
    if not opened:
        return found
    said = f"the tool was opened since ({', '.join(opened)}), so measure it again"
    return replace(found, reason=f"{found.reason}; {said}")


def _fits(calibration: Calibration, wanted: dict[str, str]) -> bool:
    return all(getattr(calibration, key) in ("", value) for key, value in wanted.items())


_SAME_SETTING = 0.005
"""Relative difference within which two settings are one."""


def _at_setting(
    calibrations: list[Calibration], of: CalibratedQuantity, setting: float | None, book: Book
) -> tuple[list[Calibration], list[str]]:
    """The readings at a setting, or those that hold whatever it is; the others in words."""
    if of not in ("lamp intensity", "hot-plate offset") or all(c.setting is None for c in calibrations):
        return calibrations, []
    if setting is None and any(c.setting is None for c in calibrations):
        kept = [c for c in calibrations if c.setting is None]
    else:
        at = _usual_setting(calibrations, of, book) if setting is None else setting
        kept = [c for c in calibrations if c.setting is not None and abs(c.setting / at - 1) < _SAME_SETTING]
        kept = kept or [c for c in calibrations if c.setting is None]
    return kept, [f"{_said(c)}: at another setting" for c in calibrations if c not in kept]


def _usual_setting(calibrations: list[Calibration], of: CalibratedQuantity, book: Book) -> float:
    if of == "lamp intensity":
        return book.models["mercury lamp"]["i line"].value
    newest = max(calibrations, key=lambda c: c.date)
    return newest.setting or 1.0


def _closest(calibrations: list[Calibration]) -> tuple[list[Calibration], list[str]]:
    """Those that name the recipe, and most of tool, material and medium; the others as alternatives."""
    detail = {
        id(c): (bool(c.recipe), sum(bool(x) for x in (c.tool, c.material, c.medium))) for c in calibrations
    }
    most = max(detail.values(), default=(False, 0))
    kept = sorted((c for c in calibrations if detail[id(c)] == most), key=lambda c: c.date)
    return kept, [f"{_said(c)}: less specific" for c in calibrations if detail[id(c)] < most]


def _since_maintenance(
    calibrations: list[Calibration], lab: Lab, tool: str, on: str
) -> tuple[list[Calibration], list[str]]:
    """Readings since the tool was last opened, and those that it outdates; all of them where there is none since."""
    flagged = max((i for i, c in enumerate(calibrations) if c.after_maintenance), default=0)
    old, since = calibrations[:flagged], calibrations[flagged:]
    by = f"outdated by {since[0].date}" if since else ""
    for opened in _maintained(lab, tool, on):
        # What was read on the day itself counts as read before, unless it says otherwise.
        late = [c for c in since if c.date > opened or (c.date == opened and c.after_maintenance)]
        if late and len(late) < len(since):
            old += [c for c in since if c not in late]
            since, by = late, f"outdated by {late[0].date}"
    told = [f"{_said(c)}: before the maintenance, {by}" for c in old[-_TOLD:]]
    if len(old) > _TOLD:
        told.append(f"and {len(old) - _TOLD} readings before those")
    return since, told


_TOLD = 12
"""Outdated readings that are told one by one."""


def _maintained(lab: Lab, tool: str, on: str) -> list[str]:
    """Dates on which a tool was opened, up to a day."""
    known = lab.tools.get(tool)
    return [each.date for each in known.maintenance if each.date <= on] if known is not None else []


def _opened_since(lab: Lab, tool: str, last: str, on: str) -> list[str]:
    """The dates, after the last reading, on which this tool was opened or measured as just opened."""
    flagged = {c.date for c in lab.calibrations if c.after_maintenance and tool and c.tool == tool}
    told = {each for each in flagged if last < each <= on}
    own = {c.date for c in lab.calibrations if c.after_maintenance and c.tool == tool and c.date == last}
    opened = {each for each in _maintained(lab, tool, on) if each > last or (each == last and not own)}
    # The first reading after an opening is a witness of that opening, not of a second one.
    told = {each for each in told if not any(one <= each for one in opened)}
    return sorted(told | opened)


def _read(calibration: Calibration) -> _Level:
    return _Level(calibration.value, calibration.std**2, date.fromisoformat(calibration.date), (calibration,))


def _aged(level: _Level, gait: Gait, day: date) -> _Level:
    gained = gait.gained(level.value, level.day.isoformat(), day.isoformat(), (day - level.day).days)
    return replace(level, variance=level.variance + gained, day=day)


def _agree(one: _Level, other: _Level) -> bool:
    return abs(one.value - other.value) <= _AGREE * math.sqrt(one.variance + other.variance)


def _joined(one: _Level, other: _Level) -> _Level:
    """The inverse-variance mean of two readings of the same thing at the same day."""
    total = one.variance + other.variance
    if total == 0.0:
        return replace(other, readings=one.readings + other.readings)
    value = (one.value * other.variance + other.value * one.variance) / total
    return _Level(value, one.variance * other.variance / total, other.day, one.readings + other.readings)


def _combined(calibrations: Iterable[Calibration], gait: Gait) -> tuple[_Level, list[str]]:
    """One level out of readings in order of date, and what was set aside, each with its reason."""
    first, *rest = [_read(c) for c in calibrations]
    level, doubted, aside = first, None, []
    for reading in rest:
        known = _aged(level, gait, reading.day)
        if _agree(known, reading):
            level = _joined(known, reading)
            doubted = None
        elif doubted is not None and _agree(_aged(doubted, gait, reading.day), reading):
            aside += [
                f"{_said(c)}: two later readings agree with each other and not with it"
                for c in level.readings
            ]
            aside = [line for line in aside if not line.startswith(_said(doubted.readings[0]))]
            level, doubted = _joined(_aged(doubted, gait, reading.day), reading), None
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
        temperature=newest.temperature,
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
