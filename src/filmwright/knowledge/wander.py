"""How a number of a tool wanders between measurements: what is usual, and what the lab's own history says."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from filmwright.sources import Value


@dataclass(frozen=True, kw_only=True)
class OwnWander:
    """A drift that was learned from a tool's own history.

    Attributes
    ----------
    of, tool, material, medium, recipe : str
        What it holds for, as in a calibration.
    per_day, per_use, jump : float
        Standard deviations per √day, per √use and per opening; relative to the value where ``relative``, else in SI.
    relative : bool
    points : int
        Readings behind it.
    """

    of: str
    tool: str
    per_day: float
    per_use: float
    jump: float
    relative: bool
    points: int
    material: str = ""
    medium: str = ""
    recipe: str = ""


@dataclass(frozen=True, kw_only=True)
class Gait:
    """How a number wanders, as :func:`~filmwright.knowledge.believe` needs it.

    Attributes
    ----------
    per_day, per_use, jump : float
        Standard deviations per √day, per √use and per opening; relative or in SI.
    relative : bool
    uses : tuple of str
        ISO dates on which the tool was used, in order; one for each use.
    said : str
        Where the numbers come from; empty for what is usual.
    """

    per_day: float
    per_use: float
    jump: float
    relative: bool
    uses: tuple[str, ...] = ()
    said: str = ""

    def gained(self, value: float, since: str, until: str, days: float) -> float:
        """Variance [SI²] that a number gains between two days; uses count from the day after."""
        used = max(bisect_right(self.uses, until) - bisect_right(self.uses, since), 0)
        return self._scale(value) ** 2 * (self.per_day**2 * max(days, 0.0) + self.per_use**2 * used)

    def jumped(self, value: float, openings: int) -> float:
        """Variance [SI²] of openings that nobody measured after."""
        return (self._scale(value) * self.jump) ** 2 * openings

    def _scale(self, value: float) -> float:
        return abs(value) if self.relative else 1.0


def gait_of(
    usual: tuple[Value, Value, Value],
    own: Sequence[OwnWander],
    wanted: Mapping[str, str],
    uses: Sequence[str],
) -> Gait:
    """The lab's own drift of a thing where there is one, else what is usual.

    Parameters
    ----------
    usual : tuple of Value
        Per day, per use, per opening.
    own : sequence of OwnWander
    wanted : mapping
        ``of``, ``tool``, ``material``, ``medium``, ``recipe``.
    uses : sequence of str
        ISO dates of the tool's uses, in any order.
    """
    days = tuple(sorted(each[:10] for each in uses))
    fitting = [
        each
        for each in own
        if each.of == wanted["of"]
        and each.tool == wanted["tool"]
        and all(getattr(each, key) in ("", wanted[key]) for key in ("material", "medium", "recipe"))
    ]
    if fitting:
        best = max(
            fitting, key=lambda each: sum(bool(each_) for each_ in (each.recipe, each.material, each.medium))
        )
        return Gait(
            per_day=best.per_day,
            per_use=best.per_use,
            jump=best.jump,
            relative=best.relative,
            uses=days,
            said=f"drift from {best.points} readings of this tool",
        )
    drift, wear, jump = usual
    return Gait(
        per_day=drift.value, per_use=wear.value, jump=jump.value, relative=drift.unit == "%", uses=days
    )
