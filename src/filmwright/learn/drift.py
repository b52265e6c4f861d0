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


WILD = 0.05
"""Share of readings that are taken to be wild: a slip of the hand, a chip that was dirty."""

_WILDER = 3.0
"""Half width of the Cauchy distribution of wild readings, in standard deviations of good ones."""


def log_likelihood(readings: Sequence[Reading], wander: Wander, wild: float = 0.0) -> float:
    """Logarithm of the probability density of a history, given its first reading.

    ln L = Σ ln p(v_i), p(v) = (1 − ε)·N(v; 0, f_i) + ε·C(v; 3·√f_i) with the innovation v_i = y_i − m_(i|i−1), its variance
    f_i = P_(i|i−1) + s_i², the share ε of wild readings and their Cauchy density C of that half width, whose pull on f is bounded.
    Reference: P. J. Huber, Ann. Math. Stat. 35 (1964) 73, doi:10.1214/aoms/1177703732, for the mixture; C. J. Masreliez, IEEE
    Trans. Autom. Control 20 (1975) 107, doi:10.1109/TAC.1975.1100882, for the filter.

    Parameters
    ----------
    readings : sequence of Reading, in order of day, at least 2
    wander : Wander
    wild : float, 0 to below 1
        ε; with 0 the model is normal.

    Returns
    -------
    float
    """
    return sum(density for density, _ in _judged(readings, wander, wild))


def _judged(readings: Sequence[Reading], wander: Wander, wild: float) -> list[tuple[float, float]]:
    """Of each reading after the first: the logarithm of its density, and the probability g that it is a good one.

    The level takes g of the step of a Kalman filter: m + g·K·v, P − g·K²·f + g·(1 − g)·K²·v².
    """
    if len(readings) < 2:
        raise ValueError(f"a history has two readings or more, got {len(readings)}")
    if not 0 <= wild < 1:
        raise ValueError(f"a share of wild readings is from 0 to below 1, got {wild}")
    _check_order(readings)
    mean, variance = readings[0].value, readings[0].std ** 2
    found = []
    for earlier, reading in pairwise(readings):
        variance += _between(earlier, reading, wander)
        off, all_of_it = reading.value - mean, variance + reading.std**2
        density, good = _density(off * off / all_of_it, wild)
        found.append((density - 0.5 * math.log(2 * math.pi * all_of_it), good))
        gain = variance / all_of_it
        mean += good * gain * off
        variance += gain**2 * (good * (1 - good) * off**2 - good * all_of_it)
    return found


def _density(square: float, wild: float) -> tuple[float, float]:
    """ln of the mixture over the height of the normal density, at a squared standardised innovation; and the share of the good part."""
    good = -0.5 * square
    if not wild:
        return good, 1.0
    # The larger of the two parts is taken out, so that neither vanishes in double precision.
    one = math.log1p(-wild) + good
    other = math.log(wild / _WILDER * math.sqrt(2 / math.pi)) - math.log1p(square / _WILDER**2)
    most = max(one, other)
    both = most + math.log(math.exp(one - most) + math.exp(other - most))
    return both, math.exp(one - both)


def fit_wander(readings: Sequence[Reading], prior: Prior, wild: float = WILD) -> FittedWander:
    """The drift that makes a history likeliest, held to what is usual as far as the history leaves it open.

    Maximises ln L − ½·Σ (ln(q/q_usual)/doubt)². With a wide doubt this is maximum likelihood; with few readings it is the prior.
    One wild reading hardly moves it, several that agree do.

    Parameters
    ----------
    readings : sequence of Reading, in order of day
    prior : Prior
    wild : float, 0 to below 1
        Share of readings that are taken to be wild; 0 trusts each.

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
        return held / 2 - log_likelihood(readings, drift(logs), wild)

    bounds = [(math.log(_NOTHING), math.log(_MOST))] * len(names)
    starts = [[start] * len(names) for start in (0.0, -1.5, 1.5)]
    best = min(
        (minimize(cost, start, method="L-BFGS-B", bounds=bounds) for start in starts),
        key=lambda found: found.fun,
    )
    fitted = drift([float(log) for log in best.x])
    odd = sum(good < 0.5 for _, good in _judged(readings, fitted, wild))
    said = f"drift from this tool's own {len(readings)} readings, held to what is usual"
    if odd:
        said += f"; {odd} of them, far off what lay before, {'counts' if odd == 1 else 'count'} little"
    return FittedWander(wander=fitted, points=len(readings), said=said)


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
