"""The numbers of a tool today: with band, age and the way they wander; one belief for page, sheet and settings."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise
from typing import Any

from filmwright.desk.wandering import fitted_wander, histories, openings_of
from filmwright.knowledge import Belief, Calibration, Lab, believe, book
from filmwright.learn import Z95, Alarm, ControlChart, Rule, Wander, control_chart, false_alarm
from filmwright.units import convert, plain, pretty, write


@dataclass(frozen=True, kw_only=True)
class NumberToday:
    """A number of a tool.

    Attributes
    ----------
    of, material, medium, recipe : str
    setting : float or None [SI]
    belief : Belief
        As of the day.
    readings : tuple of Calibration
        In order of date.
    chart : ControlChart
        Of the readings.
    wander : Wander
        In SI.
    wander_said : str
    openings : tuple of str
        ISO dates.
    on : str
    """

    of: str
    material: str
    medium: str
    recipe: str
    setting: float | None
    belief: Belief
    readings: tuple[Calibration, ...]
    chart: ControlChart
    wander: Wander
    wander_said: str
    openings: tuple[str, ...]
    on: str

    @property
    def name(self) -> str:
        """In words: ``deposition rate of titanium, recipe fast``."""
        what = f"{self.of} of {self.material}" if self.material else self.of
        parts = [self.medium and f"in {self.medium}", self.recipe and f"recipe {self.recipe}"]
        at = f"at {write(self.setting, _SETTING_UNITS.get(self.of, ''))}" if self.setting is not None else ""
        return ", ".join(part for part in (what, *parts, at) if part)

    @property
    def unit(self) -> str:
        """In which people write it."""
        return self.belief.unit

    @property
    def value(self) -> str:
        """As printed."""
        return write(self.belief.value, self.unit)

    @property
    def band(self) -> str:
        """Half width of its 95 % band, as printed."""
        half = plain(Z95 * self.belief.std, self.unit)
        share = (
            f" ({100 * Z95 * self.belief.std / abs(self.belief.value):.1f} %)" if self.belief.value else ""
        )
        return f"± {half:.2g} {pretty(self.unit)}".strip() + share

    @property
    def age(self) -> str:
        """Since it was last measured, in words."""
        days = self.belief.age_days
        return (
            "" if days is None else "today" if days < 1 else f"{days:.0f} day{'s' if days >= 2 else ''} ago"
        )

    @property
    def alarms(self) -> tuple[str, ...]:
        """What stands out among the readings of today's phase, newest first; each rule once."""
        days = [each.date for each in self.readings]
        return alarms_told(self.chart.phases[-1].alarms, days, "A tool that does not wander")

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "of": self.of,
            "material": self.material,
            "medium": self.medium,
            "recipe": self.recipe,
            "value": convert(self.belief.value, self.unit),
            "std": plain(self.belief.std, self.unit),
            "unit": self.unit,
            "age_days": self.belief.age_days,
            "reason": self.belief.reason,
            "wander": self.wander_said,
            "readings": len(self.readings),
            "alarms": list(self.alarms),
        }


def alarms_told(alarms: Iterable[Alarm], days: Sequence[str], who: str = "A steady tool") -> tuple[str, ...]:
    """Each rule that found something once: the days of all that it found, what that usually is, how often chance does it.

    Parameters
    ----------
    alarms : iterable of Alarm
    days : sequence of str
        ISO date of each reading.
    who : str
        What would do the same by chance.

    Returns
    -------
    tuple of str
        The rule with the newest reading first.
    """
    groups: dict[Rule, list[Alarm]] = {}
    for alarm in alarms:
        groups.setdefault(alarm.rule, []).append(alarm)
    for found in groups.values():
        found.sort(key=lambda each: -each.points[-1])
    newest = sorted(groups.items(), key=lambda group: -group[1][0].points[-1])
    return tuple(
        f"{rule.name}: {_found(found, days)}; usually {rule.hints}. {who} does this once in {false_alarm(rule):.0f} readings."
        for rule, found in newest
    )


_TOLD_DAYS = 3


def _found(alarms: Sequence[Alarm], days: Sequence[str]) -> str:
    said = ", ".join(_days_of(each, days) for each in alarms[:_TOLD_DAYS])
    return said + (f" and {len(alarms) - _TOLD_DAYS} before" if len(alarms) > _TOLD_DAYS else "")


def _days_of(alarm: Alarm, days: Sequence[str]) -> str:
    first, last = days[alarm.points[0]], days[alarm.points[-1]]
    return first if len(alarm.points) == 1 else f"{first} to {last} ({len(alarm.points)} readings)"


_SETTING_UNITS = {
    "lamp intensity": "nm",
    "hot-plate offset": "°C",
    "resist thickness": "rpm",
    "deposition rate": "W",
}


def numbers_of(tool: str, lab: Lab, day: str) -> tuple[NumberToday, ...]:
    """Every number that was ever measured of a tool.

    Parameters
    ----------
    tool : str
    lab : Lab
        Joined by the logbooks.
    day : str
        ISO date.
    """
    found = []
    for (of, at, material, medium, recipe, setting), own in histories(lab).items():
        known = tuple(each for each in own if each.date <= day)
        if at != tool or not known:
            continue
        belief = believe(
            lab,
            book(),
            of=own[0].of,
            tool=tool,
            material=material,
            medium=medium,
            recipe=recipe,
            setting=setting,
            on=day,
        )
        if belief is None:
            continue
        wander, said = _wander(lab, known)
        openings = tuple(each for each in openings_of(lab, tool, known) if each <= day)
        found.append(
            NumberToday(
                of=of, material=material, medium=medium, recipe=recipe, setting=setting, belief=belief, readings=known,
                chart=control_chart([each.value for each in known], _opened(known, openings)),
                wander=wander, wander_said=said, openings=openings, on=day,
            )
        )  # fmt: skip
    return tuple(found)


def _wander(lab: Lab, own: Sequence[Calibration]) -> tuple[Wander, str]:
    """The drift of a thing in SI, and where it comes from."""
    fitted, relative = fitted_wander(lab, own)
    scale = abs(own[-1].value) if relative else 1.0
    wander = Wander(
        per_day=fitted.wander.per_day * scale,
        per_use=fitted.wander.per_use * scale,
        jump=fitted.wander.jump * scale,
    )
    shown = (
        f"{100 * fitted.wander.per_day:.2f} % per √day, {100 * fitted.wander.per_use:.2f} % per √use"
        if relative
        else f"{write(wander.per_day, own[-1].unit)} per √day, {write(wander.per_use, own[-1].unit)} per √use"
    )
    return wander, f"wanders by {shown}; {fitted.said}"


def _opened(own: Sequence[Calibration], openings: Sequence[str]) -> tuple[bool, ...]:
    return tuple(
        place > 0
        and (each.after_maintenance or any(own[place - 1].date < opened <= each.date for opened in openings))
        for place, each in enumerate(own)
    )


_BETWEEN = 6
"""Days on which the band is worked out between two readings."""


def track_of(number: NumberToday, lab: Lab) -> tuple[tuple[float, float, float, float], ...]:
    """What was believed on the days from the first reading up to today: (day from today, value, low, high) with the 95 % band.

    Parameters
    ----------
    number : NumberToday
    lab : Lab
        Joined by the logbooks.
    """
    own = replace(lab, calibrations=number.readings)
    today = date.fromisoformat(number.on).toordinal()
    days = sorted({date.fromisoformat(each.date).toordinal() for each in number.readings} | {today})
    asked = {today}
    for first, after in pairwise(days):
        # Up to the eve of the next reading, so that what it tells shows as a step.
        asked |= {first + (after - 1 - first) * step // _BETWEEN for step in range(_BETWEEN + 1)}
    opened = {date.fromisoformat(each).toordinal() for each in number.openings}
    asked |= {eve for day in opened for eve in (day - 1, day) if days[0] <= eve <= today}
    found = []
    for day in sorted(asked):
        belief = _believed(own, number, date.fromordinal(day).isoformat())
        if belief is not None:
            half = Z95 * belief.std
            found.append((float(day - today), belief.value, belief.value - half, belief.value + half))
    return tuple(found)


def _believed(lab: Lab, number: NumberToday, day: str) -> Belief | None:
    return believe(
        lab, book(), of=number.readings[0].of, tool=number.readings[0].tool, material=number.material,
        medium=number.medium, recipe=number.recipe, setting=number.setting, on=day,
    )  # fmt: skip
