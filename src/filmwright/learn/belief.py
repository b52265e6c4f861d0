"""A rate that is believed, how it ages, and what a measurement does to it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise
from statistics import NormalDist

Z95 = NormalDist().inv_cdf(0.975)
"""Half width of a 95 % interval of a normal distribution in standard deviations (1.96)."""


@dataclass(frozen=True, kw_only=True)
class RateBelief:
    """What is believed of a number on a day.

    Attributes
    ----------
    mean, std : float [SI]
        An infinite ``std`` says that nothing is known.
    date : str
        ISO date on which it held; may be empty.
    """

    mean: float
    std: float
    date: str = ""

    def __post_init__(self) -> None:
        if not math.isfinite(self.mean):
            raise ValueError(f"a believed mean must be finite, got {self.mean}")
        if not self.std >= 0:
            raise ValueError(f"a standard deviation must be at least 0, got {self.std}")

    @property
    def low(self) -> float:
        """Lower end of the 95 % interval [SI]."""
        return self.mean - Z95 * self.std

    @property
    def high(self) -> float:
        """Upper end of the 95 % interval [SI]."""
        return self.mean + Z95 * self.std


def aged(belief: RateBelief, days_idle: float, drift_per_sqrt_day: float) -> RateBelief:
    """A belief after the tool was left alone: std² grows by drift² · days (random walk).

    Parameters
    ----------
    belief : RateBelief
    days_idle : float [days], at least 0
    drift_per_sqrt_day : float [SI per √day], at least 0
        Standard deviation that one day adds.
    """
    if not (0 <= days_idle < math.inf and 0 <= drift_per_sqrt_day < math.inf):
        raise ValueError(f"idle time and drift must be at least 0, got {days_idle} and {drift_per_sqrt_day}")
    std = math.hypot(belief.std, drift_per_sqrt_day * math.sqrt(days_idle))
    return replace(belief, std=std, date=_later(belief.date, days_idle))


def kalman_step(
    belief: RateBelief, measured: float, std_measured: float, days_idle: float, drift_per_sqrt_day: float
) -> RateBelief:
    """One step of the scalar Kalman filter for a rate that drifts like a random walk.

    P' = P + drift²·days;  K = P' / (P' + R);  mean' = mean + K (measured − mean);  std'² = (1 − K) P'.

    Parameters
    ----------
    belief : RateBelief
    measured : float [SI]
    std_measured : float [SI], at least 0
        Of the measurement and of one run against the next.
    days_idle : float [days]
    drift_per_sqrt_day : float [SI per √day]

    Raises
    ------
    ValueError
        For a negative spread or idle time, for a measurement that is not a number, and for a belief and a
        measurement
        that are both exact.

    References
    ----------
    R. E. Kalman, J. Basic Eng. 82, 35 (1960), doi:10.1115/1.3662552 (from memory).
    """
    if not math.isfinite(measured) or not std_measured >= 0:
        raise ValueError(
            f"a measurement must be finite with a spread of at least 0, got {measured}, {std_measured}"
        )
    prior = aged(belief, days_idle, drift_per_sqrt_day)
    gain = _gain(prior.std, std_measured)
    mean = prior.mean + gain * (measured - prior.mean)
    spreads = sorted((prior.std, std_measured))
    # sqrt(1 - K) would lose all its digits where K is nearly 1.
    std = spreads[0] if math.isinf(spreads[1]) else spreads[0] * (spreads[1] / math.hypot(*spreads))
    return RateBelief(mean=mean, std=std, date=prior.date)


def _gain(prior_std: float, std_measured: float) -> float:
    if prior_std == std_measured == 0 or (math.isinf(prior_std) and math.isinf(std_measured)):
        raise ValueError("belief and measurement must not both be exact, nor both say nothing")
    if math.isinf(prior_std):
        return 1.0
    if math.isinf(std_measured):
        return 0.0
    return 1.0 / (1.0 + (std_measured / prior_std) ** 2) if prior_std else 0.0


def drift_from_history(days: Sequence[float], values: Sequence[float], stds: Sequence[float]) -> float:
    """Drift of a tool from its own earlier calibrations, by moments: Σ(Δ² − s₁² − s₂²) / ΣΔt, at least 0.

    Parameters
    ----------
    days : sequence of float [days], shape (n,), rising, n at least 3
    values, stds : sequence of float [SI], shape (n,)

    Returns
    -------
    float [SI per √day]

    Raises
    ------
    ValueError
        For fewer than three calibrations or days that do not rise.
    """
    if not (len(days) == len(values) == len(stds) >= 3):
        raise ValueError(f"a drift needs at least three calibrations, got {len(days)}")
    if any(later <= earlier for earlier, later in pairwise(days)):
        raise ValueError("days must rise from one calibration to the next")
    excess = sum(
        (values[i + 1] - values[i]) ** 2 - stds[i] ** 2 - stds[i + 1] ** 2 for i in range(len(values) - 1)
    )
    return math.sqrt(max(0.0, excess / (days[-1] - days[0])))


def _later(day: str, days: float) -> str:
    if not day:
        return ""
    return (date.fromisoformat(day[:10]) + timedelta(days=math.floor(days))).isoformat()
