"""How a tool's rate wanders: with idle days, with uses, and by a jump when the tool was opened; learned from its own history.

A local-level model: y_i = m_i + e_i, e_i ~ N(0, s_i²); m_(i+1) = m_i + w_i, w_i ~ N(0, q_d²·days + q_u²·uses + q_m²·openings).
Reference: A. C. Harvey, Forecasting, Structural Time Series Models and the Kalman Filter (1989), doi:10.1017/CBO9781107049994, ch. 2–4.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import fmean

from filmwright.learn.belief import Z95, RateBelief, kalman_step

FEWEST = 4
"""Readings below which a history tells nothing of a drift: the prior stands."""

_NOTHING = 1e-4
"""A drift of this part of its prior is as good as none: where the search ends."""

_MOST = 1e2


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One calibration or qualification point of a tool.

    Attributes
    ----------
    day : float [days]
        From any beginning.
    value, std : float [SI]
    uses : int
        Of the tool, from that beginning up to the reading.
    openings : int
        Likewise.
    """

    day: float
    value: float
    std: float
    uses: int = 0
    openings: int = 0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.value) and math.isfinite(self.day) and self.std > 0):
            raise ValueError(
                f"a reading must be finite with a spread above 0, got {self.value} ± {self.std} on day {self.day}"
            )


@dataclass(frozen=True, kw_only=True)
class Wander:
    """Standard deviations by which a level moves unseen.

    Attributes
    ----------
    per_day : float [SI per √day]
    per_use : float [SI per √use]
    jump : float [SI]
        For each opening.
    """

    per_day: float
    per_use: float = 0.0
    jump: float = 0.0

    def __post_init__(self) -> None:
        if not all(0 <= each < math.inf for each in (self.per_day, self.per_use, self.jump)):
            raise ValueError(f"a drift must be at least 0, got {self}")

    def gained(self, days: float, uses: int = 0, openings: int = 0) -> float:
        """Variance that a level gains: q_d²·days + q_u²·uses + q_m²·openings [SI²]."""
        return self.per_day**2 * max(days, 0.0) + self.per_use**2 * uses + self.jump**2 * openings


@dataclass(frozen=True, kw_only=True)
class Prior:
    """What is usual of a drift, before the tool's own history speaks.

    Attributes
    ----------
    usual : Wander
    doubt : Wander
        Of each the standard deviation of its natural logarithm; 0 holds it fast.
    """

    usual: Wander
    doubt: Wander


@dataclass(frozen=True, kw_only=True)
class FittedWander:
    """A drift learned from a history.

    Attributes
    ----------
    wander : Wander
    points : int
        Readings behind it; 0 where the prior stands as it is.
    said : str
    """

    wander: Wander
    points: int
    said: str


def filtered(readings: Sequence[Reading], wander: Wander) -> tuple[RateBelief, ...]:
    """The level after each reading, by the Kalman filter, with nothing known before the first.

    Parameters
    ----------
    readings : sequence of Reading, in order of day
    wander : Wander
    """
    _check_order(readings)
    found: list[RateBelief] = []
    for place, reading in enumerate(readings):
        before = found[-1] if found else RateBelief(mean=0.0, std=math.inf)
        gained = _between(readings[place - 1], reading, wander) if found else 0.0
        prior = RateBelief(mean=before.mean, std=math.sqrt(before.std**2 + gained))
        found.append(kalman_step(prior, reading.value, reading.std, 0.0, 0.0))
    return tuple(found)


def later(belief: RateBelief, wander: Wander, *, days: float, uses: int = 0, openings: int = 0) -> RateBelief:
    """A belief after days, uses and openings that nobody measured: the mean stays, std² grows.

    Parameters
    ----------
    belief : RateBelief
    wander : Wander
    days : float [days], at least 0
    uses, openings : int, at least 0
    """
    if min(days, uses, openings) < 0:
        raise ValueError(f"nothing is later by {days} days, {uses} uses and {openings} openings")
    return RateBelief(mean=belief.mean, std=math.sqrt(belief.std**2 + wander.gained(days, uses, openings)))


def log_likelihood(readings: Sequence[Reading], wander: Wander) -> float:
    """Logarithm of the probability density of a history, given its first reading.

    ln L = −½·Σ (ln 2π·f_i + v_i²/f_i) with the innovation v_i = y_i − m_(i|i−1) and its variance f_i = P_(i|i−1) + s_i².

    Parameters
    ----------
    readings : sequence of Reading, in order of day, at least 2
    wander : Wander

    Returns
    -------
    float
    """
    if len(readings) < 2:
        raise ValueError(f"a history has two readings or more, got {len(readings)}")
    levels = filtered(readings, wander)
    total = 0.0
    for place, reading in enumerate(readings[1:]):
        variance = levels[place].std ** 2 + _between(readings[place], reading, wander) + reading.std**2
        off = reading.value - levels[place].mean
        total -= 0.5 * (math.log(2 * math.pi * variance) + off**2 / variance)
    return total


def fit_wander(readings: Sequence[Reading], prior: Prior) -> FittedWander:
    """The drift that makes a history likeliest, held to what is usual as far as the history leaves it open.

    Maximises ln L − ½·Σ (ln(q/q_usual)/doubt)². With a wide doubt this is maximum likelihood; with few readings it is the prior.

    Parameters
    ----------
    readings : sequence of Reading, in order of day
    prior : Prior

    Returns
    -------
    FittedWander
    """
    if len(readings) < FEWEST:
        said = f"usual drift: a drift of its own needs {FEWEST} readings, there are {len(readings)}"
        return FittedWander(wander=prior.usual, points=0, said=said)
    from scipy.optimize import minimize

    names = [name for name in ("per_day", "per_use", "jump") if _is_open(prior, name, readings)]
    if not names:
        return FittedWander(wander=prior.usual, points=0, said="usual drift, held fast")

    def drift(logs: Sequence[float]) -> Wander:
        told = {
            name: getattr(prior.usual, name) * math.exp(log) for name, log in zip(names, logs, strict=True)
        }
        return Wander(**{**vars(prior.usual), **told})

    def cost(logs: Sequence[float]) -> float:
        held = sum(
            (log / float(getattr(prior.doubt, name))) ** 2 for name, log in zip(names, logs, strict=True)
        )
        return held / 2 - log_likelihood(readings, drift(logs))

    bounds = [(math.log(_NOTHING), math.log(_MOST))] * len(names)
    starts = [[start] * len(names) for start in (0.0, -1.5, 1.5)]
    best = min(
        (minimize(cost, start, method="L-BFGS-B", bounds=bounds) for start in starts),
        key=lambda found: found.fun,
    )
    return FittedWander(
        wander=drift([float(log) for log in best.x]),
        points=len(readings),
        said=f"drift from this tool's own {len(readings)} readings, held to what is usual",
    )


def _is_open(prior: Prior, name: str, readings: Sequence[Reading]) -> bool:
    """Whether the history can tell of a part of the drift: something of its kind happened, and the prior leaves it open."""
    first, last = readings[0], readings[-1]
    happened = {
        "per_day": last.day > first.day,
        "per_use": last.uses > first.uses,
        "jump": last.openings > first.openings,
    }
    return happened[name] and getattr(prior.doubt, name) > 0 and getattr(prior.usual, name) > 0


def _between(earlier: Reading, after: Reading, wander: Wander) -> float:
    return wander.gained(
        after.day - earlier.day, after.uses - earlier.uses, after.openings - earlier.openings
    )


def _check_order(readings: Sequence[Reading]) -> None:
    if any(after.day < earlier.day for earlier, after in pairwise(readings)):
        raise ValueError("readings must be in order of day")


@dataclass(frozen=True, kw_only=True)
class Dummies:
    """Whether the band of a result is wider than what a step accepts, and what brings it inside.

    Attributes
    ----------
    needed : bool
    half_width : float
        Of the 95 % band of the result, relative.
    tolerance : float
        Half width that the step accepts, relative.
    count : int or None
        Runs on a dummy wafer, each measured, that bring it inside; None where no number does.
    said : str
        One sentence with the reason; empty where none is needed.
    """

    needed: bool
    half_width: float
    tolerance: float
    count: int | None
    said: str


_MOST_DUMMIES = 10
"""More runs than this for one film is no plan."""


def dummy_first(
    rate: RateBelief, *, reading_std: float, tolerance: float, per_use: float = 0.0, result: str = "film"
) -> Dummies:
    """Whether to run a dummy first: the 95 % band of a result that is a rate times a time is as wide, relative, as that of the rate.

    After n dummies, each of them measured: P ← (P + q_u²)·s²/(P + q_u² + s²), n times; the step itself is one more use.

    Parameters
    ----------
    rate : RateBelief
        As of now.
    reading_std : float [SI], above 0
        Of one measurement of the rate on a dummy.
    tolerance : float
        Half width that the step accepts, relative, above 0.
    per_use : float [SI per √use]
    result : str
        In words, such as ``film`` or ``etch``.
    """
    if not (rate.mean and tolerance > 0 and reading_std > 0):
        raise ValueError(
            f"a rate, a tolerance and a spread are not 0, got {rate.mean}, {tolerance}, {reading_std}"
        )
    scale = Z95 / abs(rate.mean)
    half = scale * math.sqrt(rate.std**2 + per_use**2)
    if half <= tolerance:
        return Dummies(needed=False, half_width=half, tolerance=tolerance, count=0, said="")
    variance, count = rate.std**2, None
    for n in range(1, _MOST_DUMMIES + 1):
        prior = variance + per_use**2
        variance = reading_std**2 if math.isinf(prior) else prior * reading_std**2 / (prior + reading_std**2)
        if scale * math.sqrt(variance + per_use**2) <= tolerance:
            count = n
            break
    why = f"the {result} is known to ± {half:.1%} today, the step accepts ± {tolerance:.1%}"
    if count:
        remedy = (
            "1 measured dummy brings it inside" if count == 1 else f"{count} measured dummies bring it inside"
        )
    else:
        read = f"± {scale * reading_std:.1%}"
        remedy = f"no number of dummies measured to {read} brings it inside, so measure finer or accept more"
    said = f"Run a dummy first: {why}; {remedy}."
    return Dummies(needed=True, half_width=half, tolerance=tolerance, count=count, said=said)


def usual_reading(readings: Sequence[Reading]) -> float:
    """Spread of one reading as it usually is at this tool [SI]: root mean square of those of its history."""
    return math.sqrt(fmean(reading.std**2 for reading in readings))
