"""Control limits of a tool from its own history, and the rules by which a reading stands out.

Individuals and moving range chart. References for the chart and the first four rules: Western Electric Co., Statistical
Quality Control Handbook (1956); for the others L. S. Nelson, J. Qual. Technol. 16, 237 (1984), doi:10.1080/00224065.1984.11978921.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import NormalDist, fmean, median
from typing import Literal

D2 = 2 / math.sqrt(math.pi)
"""Mean range of two normal readings in standard deviations: d2 = 1.128."""

_D4 = math.sqrt(2) * NormalDist().inv_cdf(0.75)
"""Median range of two normal readings in standard deviations: d4 = 0.954."""

FEWEST = 8
"""Readings below which a phase has no limits: the mean moving range of fewer says little."""

SETTLED = 20
"""Readings after which the limits of a phase stay as they are, so that a later drift cannot widen them."""

Kind = Literal["beyond", "between", "trend", "alternating"]


@dataclass(frozen=True, kw_only=True)
class Rule:
    """One rule by which readings stand out.

    Attributes
    ----------
    name : str
        What is seen, in plain words.
    kind : "beyond", "between", "trend" or "alternating"
        ``beyond`` and ``between``: readings farther from, or nearer to, the centre line than ``sigmas``; ``trend``: each higher, or each
        lower, than the one before; ``alternating``: up and down in turn.
    count, of : int
        So many of so many in a row.
    sigmas : float
        Standard deviations from the centre line.
    one_side : bool
        Whether they must all lie on the same side of it.
    hints : str
        What it usually comes from.
    source : str
    """

    name: str
    kind: Kind
    count: int
    of: int
    hints: str
    source: str
    sigmas: float = 0.0
    one_side: bool = True

    def __post_init__(self) -> None:
        if not 1 <= self.count <= self.of:
            raise ValueError(
                f"a rule counts 1 or more of as many or more readings, got {self.count} of {self.of}"
            )


_HANDBOOK = "Western Electric Co., Statistical Quality Control Handbook (1956)"
_NELSON = "L. S. Nelson, J. Qual. Technol. 16, 237 (1984)"

RULES = (
    Rule(name="one reading beyond 3 sigma", kind="beyond", count=1, of=1, sigmas=3, source=_HANDBOOK,
         hints="a slip of the pen, a wrong setting, or something broke"),
    Rule(name="2 of 3 readings beyond 2 sigma on one side", kind="beyond", count=2, of=3, sigmas=2, source=_HANDBOOK,
         hints="a sudden change"),
    Rule(name="4 of 5 readings beyond 1 sigma on one side", kind="beyond", count=4, of=5, sigmas=1, source=_HANDBOOK,
         hints="a smaller change that stays"),
    Rule(name="8 readings in a row on one side of the centre line", kind="beyond", count=8, of=8, sigmas=0,
         source=_HANDBOOK, hints="the level has moved"),
    Rule(name="6 readings in a row that rise, or fall", kind="trend", count=6, of=6, source=_NELSON,
         hints="something wears out or fills up"),
)  # fmt: skip
"""The rules that a chart uses."""

OTHER_RULES = (
    Rule(name="9 readings in a row on one side of the centre line", kind="beyond", count=9, of=9, sigmas=0,
         source=_NELSON, hints="the level has moved"),
    Rule(name="14 readings in a row that alternate up and down", kind="alternating", count=14, of=14, source=_NELSON,
         hints="two sources in turn, or somebody who corrects too much"),
    Rule(name="15 readings in a row within 1 sigma", kind="between", count=15, of=15, sigmas=1, one_side=False,
         source=_NELSON, hints="the limits are too wide: they hold several levels"),
    Rule(name="8 readings in a row beyond 1 sigma on either side", kind="beyond", count=8, of=8, sigmas=1,
         one_side=False, source=_NELSON, hints="two levels are mixed"),
)  # fmt: skip
"""Rules that are published beside them; each one that is used adds its own false alarms."""


@dataclass(frozen=True, kw_only=True)
class Limits:
    """Centre line and control limits of a phase.

    Attributes
    ----------
    centre, sigma : float [SI]
    points : int
        Readings behind them.
    settled : bool
        Whether further readings leave them as they are.
    left_out : tuple of int
        Places of readings that stood so far off that they were not used.
    """

    centre: float
    sigma: float
    points: int
    settled: bool
    left_out: tuple[int, ...] = ()

    @property
    def low(self) -> float:
        """Lower control limit, centre − 3·sigma [SI]."""
        return self.centre - 3 * self.sigma

    @property
    def high(self) -> float:
        """Upper control limit, centre + 3·sigma [SI]."""
        return self.centre + 3 * self.sigma


@dataclass(frozen=True, kw_only=True)
class Alarm:
    """Readings that stand out.

    Attributes
    ----------
    rule : Rule
    points : tuple of int
        Places of the readings, from 0.
    """

    rule: Rule
    points: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class Phase:
    """Readings between two maintenances.

    Attributes
    ----------
    first, after : int
        Place of its first reading, and of the first one that is no more in it.
    limits : Limits or None
    said : str
        Why there are none, or how far they are to be trusted.
    alarms : tuple of Alarm
    """

    first: int
    after: int
    limits: Limits | None
    said: str
    alarms: tuple[Alarm, ...] = ()


@dataclass(frozen=True, kw_only=True)
class ControlChart:
    """A history of readings, phase by phase.

    Attributes
    ----------
    phases : tuple of Phase
        In order; the last is that of today.
    """

    phases: tuple[Phase, ...]

    @property
    def alarms(self) -> tuple[Alarm, ...]:
        """Of all phases."""
        return tuple(alarm for phase in self.phases for alarm in phase.alarms)

    def alarms_at(self, place: int) -> tuple[Alarm, ...]:
        """The alarms to which a reading belongs."""
        return tuple(alarm for alarm in self.alarms if place in alarm.points)


def control_chart(
    values: Sequence[float], opened: Sequence[bool] = (), rules: Sequence[Rule] = RULES
) -> ControlChart:
    """Limits and alarms of a history; a phase begins anew with each reading after a maintenance.

    Parameters
    ----------
    values : sequence of float [SI], shape (n,)
        In order of time.
    opened : sequence of bool, shape (n,)
        Whether the tool was opened between a reading and the one before; none where it is empty.
    rules : sequence of Rule

    Raises
    ------
    ValueError
        For a reading that is not finite, or flags of another length.
    """
    if not all(map(math.isfinite, values)):
        raise ValueError("a reading must be a finite number")
    if opened and len(opened) != len(values):
        raise ValueError(f"{len(values)} readings need as many flags, got {len(opened)}")
    starts = [0, *(place for place, flag in enumerate(opened) if flag and place)]
    ends = [*starts[1:], len(values)]
    return ControlChart(
        phases=tuple(_phase(values, at, to, rules) for at, to in zip(starts, ends, strict=True))
    )


def _phase(values: Sequence[float], first: int, after: int, rules: Sequence[Rule]) -> Phase:
    own = values[first:after]
    if len(own) < FEWEST:
        return Phase(first=first, after=after, limits=None, said=f"no limits yet, {len(own)} of {FEWEST}")
    limits = limits_of(own[:SETTLED])
    if limits is None:
        said = "no limits: most readings are the same, so the display is too coarse to tell a spread"
        return Phase(first=first, after=after, limits=None, said=said)
    alarms = tuple(
        Alarm(rule=rule, points=tuple(first + place for place in places))
        for rule in rules
        for places in standing_out(own, limits, rule)
    )
    said = f"limits from {limits.points} readings" + (
        "" if limits.settled else f", settled after {SETTLED}: until then a false alarm is likelier"
    )
    return Phase(first=first, after=after, limits=limits, said=said, alarms=alarms)


def limits_of(values: Sequence[float]) -> Limits | None:
    """Centre line and sigma from the moving range: sigma = mean |x_i − x_(i−1)| / d2.

    Readings beyond three sigma of the median, with the sigma of the *median* moving range (d4 = 0.954), are left out first, so that one
    slip does not hide itself by widening the limits.

    Parameters
    ----------
    values : sequence of float [SI], shape (n,), n at least 2

    Returns
    -------
    Limits or None
        None where more than half of the moving ranges are zero.

    References
    ----------
    Western Electric Co., Statistical Quality Control Handbook (1956), charts for individual readings.
    """
    if len(values) < 2:
        raise ValueError(f"a moving range needs two readings, got {len(values)}")
    middle = median(values)
    start = median(abs(later - earlier) for earlier, later in pairwise(values)) / _D4
    if start == 0:
        return None
    # A robust sigma is smaller or larger by chance more often than that of the mean: the cut is wider than the limits.
    left_out = tuple(place for place, value in enumerate(values) if abs(value - middle) > _CUT * start)
    kept = [value for place, value in enumerate(values) if place not in left_out]
    sigma = fmean(abs(later - earlier) for earlier, later in pairwise(kept)) / D2
    return Limits(
        centre=fmean(kept), sigma=sigma, points=len(kept), settled=len(values) >= SETTLED, left_out=left_out
    )


_CUT = 4.5
"""Sigmas of the robust start beyond which a reading does not count in the limits."""


def standing_out(values: Sequence[float], limits: Limits, rule: Rule) -> tuple[tuple[int, ...], ...]:
    """Places of the readings that meet a rule, one group for each time that it lasts.

    Parameters
    ----------
    values : sequence of float [SI]
    limits : Limits
    rule : Rule
    """
    if rule.kind in ("trend", "alternating"):
        return _runs_of_order(values, rule)
    found = []
    for side in (1, -1) if rule.one_side else (0,):
        met = [_meets(value, limits, rule, side) for value in values]
        windows: list[set[int]] = []
        for end in range(rule.of, len(values) + 1):
            inside = {place for place in range(end - rule.of, end) if met[place]}
            # The newest reading closes a window: one that lies on the centre line alarms nobody.
            if len(inside) >= rule.count and met[end - 1]:
                if windows and windows[-1] & inside:
                    windows[-1] |= inside
                else:
                    windows.append(inside)
        found += [tuple(sorted(window)) for window in windows]
    return tuple(sorted(found))


def _meets(value: float, limits: Limits, rule: Rule, side: int) -> bool:
    off = (value - limits.centre) / limits.sigma
    if rule.kind == "between":
        return abs(off) < rule.sigmas
    return (side * off if side else abs(off)) > rule.sigmas


def _runs_of_order(values: Sequence[float], rule: Rule) -> tuple[tuple[int, ...], ...]:
    """Groups of readings that rise or fall, or alternate, at least as long as the rule asks; equal neighbours end one."""
    turn = -1 if rule.kind == "alternating" else 1
    found, start, last = [], 0, 0
    moves = [_sign(later - earlier) for earlier, later in pairwise(values)]
    for place, move in enumerate([*moves, 0]):
        if move == 0 or (last and move != turn * last):
            if place - start + 1 >= rule.count:
                found.append(tuple(range(start, place + 1)))
            start = place if move else place + 1
        last = move
    return tuple(found)


def _sign(value: float) -> int:
    return 1 if value > 0 else -1 if value < 0 else 0
