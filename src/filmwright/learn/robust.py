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


@dataclass(frozen=True, kw_only=True)
class Robust:
    """Median and spread of what could be measured.

    Attributes
    ----------
    median : float [SI]
    spread : float [SI]
        1.4826 × the median absolute deviation: one standard deviation where the values are normal.
    count : int
    """

    median: float
    spread: float
    count: int


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
    return Robust(median=median, spread=spread, count=int(array.size))


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
