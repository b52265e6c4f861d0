"""How fast the numbers of a lab wander, learned from the calibrations of each tool."""

from __future__ import annotations

import functools
import math
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from statistics import median

from filmwright.knowledge import Calibration, Lab, OwnWander, book
from filmwright.learn import FittedWander, Prior, Reading, Wander, fit_wander
from filmwright.learn.drift import FEWEST
from filmwright.sources import Value

_TWO_SIDES = 2 * 1.96
"""Standard deviations from the lower to the upper bound of about 95 %."""

Thing = tuple[str, str, str, str, str, float | None]


def thing_of(calibration: Calibration) -> Thing:
    """What a calibration is of; those of one thing are one history."""
    c = calibration
    return c.of, c.tool, c.material, c.medium, c.recipe, c.setting


def histories(lab: Lab) -> dict[Thing, tuple[Calibration, ...]]:
    """The calibrations of each thing in order of date, without those set aside."""
    found: dict[Thing, list[Calibration]] = defaultdict(list)
    for each in lab.calibrations:
        if not each.set_aside:
            found[thing_of(each)].append(each)
    return {thing: tuple(sorted(own, key=lambda c: c.date)) for thing, own in found.items()}


def readings_of(lab: Lab, own: Sequence[Calibration], scale: float = 1.0) -> tuple[Reading, ...]:
    """Calibrations of one thing as the filter takes them, with uses and openings of the tool counted up to each.

    Parameters
    ----------
    lab : Lab
    own : sequence of Calibration, in order of date
    scale : float [SI]
        By which values are divided, where they wander relative to themselves.
    """
    tool = own[0].tool
    uses = sorted(day[:10] for day in lab.uses.get(tool, ()))
    opened = openings_of(lab, tool, own)
    return tuple(
        Reading(
            day=float(date.fromisoformat(each.date).toordinal()),
            value=each.value / scale,
            std=max(each.std / scale, abs(each.value / scale) * _EXACT) or _EXACT,
            uses=bisect_right(uses, each.date),
            openings=sum(day < each.date or (day == each.date and each.after_maintenance) for day in opened),
        )
        for each in own
    )


_EXACT = 1e-6
"""A reading is never taken to be more exact than this part of itself: a spread of nothing would rule alone."""


def openings_of(lab: Lab, tool: str, own: Sequence[Calibration] = ()) -> tuple[str, ...]:
    """ISO dates on which a tool was opened, from its maintenance and from readings that say so."""
    known = lab.tools.get(tool)
    days = {each.date for each in known.maintenance} if known is not None else set()
    # Between a maintenance on file and the first reading after it lies one opening, not two.
    told = {c.date for c in own if c.after_maintenance and not any(_near(day, c, own) for day in days)}
    return tuple(sorted(days | told))


def _near(day: str, reading: Calibration, own: Sequence[Calibration]) -> bool:
    before = max((c.date for c in own if c.date < reading.date), default="")
    return before <= day <= reading.date


def wanders_of(lab: Lab) -> tuple[OwnWander, ...]:
    """A drift for every thing of which there are enough readings."""
    found = []
    for (of, tool, material, medium, recipe, _), own in histories(lab).items():
        if len(own) < FEWEST or not tool:
            continue
        fitted, relative = fitted_wander(lab, own)
        if not fitted.points:
            continue
        found.append(
            OwnWander(
                of=of,
                tool=tool,
                material=material,
                medium=medium,
                recipe=recipe,
                per_day=fitted.wander.per_day,
                per_use=fitted.wander.per_use,
                jump=fitted.wander.jump,
                relative=relative,
                points=fitted.points,
            )
        )
    return tuple(found)


def fitted_wander(lab: Lab, own: Sequence[Calibration]) -> tuple[FittedWander, bool]:
    """The drift of one thing and whether it is relative to the value."""
    of = own[0].of
    relative = book().drifts[of].unit == "%"
    scale = abs(median(c.value for c in own)) if relative else 1.0
    return _fitted(readings_of(lab, own, scale or 1.0), of), relative


@functools.lru_cache(maxsize=512)
def _fitted(readings: tuple[Reading, ...], of: str) -> FittedWander:
    return fit_wander(readings, usual_wander(of))


def usual_wander(of: str) -> Prior:
    """What is usual of a quantity, as far as nobody knows better: relative, or in SI."""
    parts = {"per_day": book().drifts[of], "per_use": book().wears[of], "jump": book().jumps[of]}
    return Prior(
        usual=Wander(**{name: value.value for name, value in parts.items()}),
        doubt=Wander(**{name: _doubt(value) for name, value in parts.items()}),
    )


def _doubt(value: Value) -> float:
    """Standard deviation of the logarithm of a value between its bounds."""
    return math.log(value.high / value.low) / _TWO_SIDES if 0 < value.low < value.high else 0.0
