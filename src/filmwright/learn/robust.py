"""Means and spreads that one wild value does not spoil."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike

MAD_TO_STD = 1 / NormalDist().inv_cdf(0.75)
"""Standard deviation over median absolute deviation of a normal distribution (1.4826)."""

_LEVEL = 0.95
_FEWEST_FOR_INTERVAL = 6
"""Of five values or fewer even the smallest and the largest enclose the median less often than in 95 %."""


@dataclass(frozen=True, kw_only=True)
class Robust:
    """Median and spread of what could be measured.

    Attributes
    ----------
    median : float [SI]
    spread : float [SI]
        1.4826 × the median absolute deviation: one standard deviation where the values are normal.
    count : int
    low, high : float [SI]
        95 % interval of the median, free of any assumed distribution; infinite below six values.
    """

    median: float
    spread: float
    count: int
    low: float = -math.inf
    high: float = math.inf


def robust(values: ArrayLike) -> Robust:
    """Median and 1.4826 × median absolute deviation; values that are not numbers are left out and not
    counted.

    Parameters
    ----------
    values : array (n,) [SI], at least one finite

    References
    ----------
    F. R. Hampel, J. Am. Stat. Assoc. 69, 383 (1974) (from memory).
    """
    array = np.asarray(values, dtype=float).ravel()
    array = array[np.isfinite(array)]
    if array.size == 0:
        raise ValueError("a median needs at least one finite value")
    median = float(np.median(array))
    spread = MAD_TO_STD * float(np.median(np.abs(array - median)))
    low, high = median_interval(array)
    return Robust(median=median, spread=spread, count=int(array.size), low=low, high=high)


def median_interval(values: ArrayLike) -> tuple[float, float]:
    """95 % interval of a median from the ordered values alone.

    The ends are the k-th value from below and from above, k the largest for which both enclose the median in at
    least 95 % of all draws, P = 1 − 2·B(k − 1; n, ½), moved towards the next value so that the stated 95 % are met:
    λ = (n − k)·I / (k + (n − 2k)·I) with I = (P(k) − 0.95) / (P(k) − P(k + 1)).

    Parameters
    ----------
    values : array (n,) [SI], all finite

    Returns
    -------
    low, high : float [SI]
        Infinite below six values, where no pair of values encloses the median in 95 % of all draws.

    References
    ----------
    T. P. Hettmansperger, S. J. Sheather, Stat. Probab. Lett. 4, 75 (1986) (from memory).
    """
    from scipy.special import bdtr

    ordered = np.sort(np.asarray(values, dtype=float).ravel())
    n = int(ordered.size)
    if n < _FEWEST_FOR_INTERVAL:
        return -math.inf, math.inf
    ks = np.arange(1, n // 2 + 1)
    holds = 1 - 2 * bdtr(ks - 1, n, 0.5)
    k = int(ks[holds >= _LEVEL][-1])
    held, next_held = float(holds[k - 1]), float(1 - 2 * bdtr(k, n, 0.5))
    share = (held - _LEVEL) / (held - next_held)
    inward = (n - k) * share / (k + (n - 2 * k) * share)
    low = ordered[k - 1] + inward * (ordered[k] - ordered[k - 1])
    high = ordered[n - k] + inward * (ordered[n - k - 1] - ordered[n - k])
    return float(low), float(high)


def weighted_mean(values: Sequence[float], stds: Sequence[float]) -> tuple[float, float]:
    """Mean weighted by 1/std² and its spread, widened by the Birge ratio when the values scatter more than
    they should.

    Parameters
    ----------
    values, stds : sequence of float [SI], shape (n,)
        Where a spread is 0, all values get the same weight.

    Returns
    -------
    mean, std : float [SI]

    References
    ----------
    R. T. Birge, Phys. Rev. 40, 207 (1932) (from memory).
    """
    if not values or len(values) != len(stds) or not all(math.isfinite(each) for each in (*values, *stds)):
        raise ValueError("a mean needs finite values and as many spreads")
    count = len(values)
    if min(stds) <= 0:
        mean = math.fsum(values) / count
        scatter = math.fsum((each - mean) ** 2 for each in values)
        return mean, math.sqrt(scatter / (count * (count - 1))) if count > 1 else 0.0
    weights = [1 / std**2 for std in stds]
    total = math.fsum(weights)
    mean = math.fsum(w * v for w, v in zip(weights, values, strict=True)) / total
    birge = 1.0
    if count > 1:
        birge = math.fsum(w * (v - mean) ** 2 for w, v in zip(weights, values, strict=True)) / (count - 1)
    return mean, math.sqrt(max(1.0, birge) / total)
