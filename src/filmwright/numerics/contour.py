"""How far two unknowns may go before data speak against them: intervals by profile likelihood."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

Real = NDArray[np.float64]
_DIRECTIONS, _FARTHEST, _HALVINGS = 96, 1e3, 22


def contour(
    cost: Callable[[Real, Real], Real], best: tuple[float, float], covariance: Real, rise: float
) -> Real:
    """Places around the best one at which a cost has risen by so much.

    Equation: S(θ₀ + ρ·L·(cos φ, sin φ)) = S(θ₀) + rise, with L·Lᵀ the covariance: for a quadratic cost ρ = √rise

    Parameters
    ----------
    cost : function (array, array) → array
        Minus twice the log-likelihood, every other unknown at its best for these two.
    best : tuple of float
        Where it is least.
    covariance : array (2, 2)
        Roughly, of the two.
    rise : float
        The square of the normal (or Student's) quantile of the confidence.

    Returns
    -------
    array (96, 2)
        Infinite where the cost never rises so far in that direction.

    References
    ----------
    D. J. Venzon, S. H. Moolgavkar, Appl. Stat. 37, 87 (1988), doi:10.2307/2347496 (from memory).
    """
    shape = np.linalg.cholesky(covariance + 1e-14 * np.diag(np.diag(covariance)))
    angles = 2 * math.pi * np.arange(_DIRECTIONS) / _DIRECTIONS
    ways = np.stack([np.cos(angles), np.sin(angles)], axis=1) @ shape.T
    start = np.asarray(best, dtype=float)
    level = float(cost(start[:1], start[1:])[0]) + rise

    def below(reach: Real) -> Any:
        places = start + reach[:, None] * ways
        return cost(places[:, 0], places[:, 1]) < level

    first = math.sqrt(rise)
    low, high = np.zeros(_DIRECTIONS), np.full(_DIRECTIONS, first)
    inside = below(high)
    while np.any(inside) and high.max() < _FARTHEST * first:
        low, high = np.where(inside, high, low), np.where(inside, 1.5 * high, high)
        inside = below(high)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        under = below(middle)
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    places = start + high[:, None] * ways
    return np.where(inside[:, None], np.where(ways == 0, start, np.copysign(np.inf, ways)), places)


def profile_interval(
    function: Callable[[Real, Real], Real], places: Real, best: Sequence[float]
) -> tuple[float, float]:
    """Range of a function of two unknowns within a contour: its profile-likelihood interval.

    Parameters
    ----------
    function : function (array, array) → array
    places : array (n, 2)
        Of :func:`contour`.
    best : sequence of float

    Returns
    -------
    tuple of float
        Infinite where the contour is open.
    """
    with np.errstate(all="ignore"):
        values = np.asarray(function(places[:, 0], places[:, 1]), dtype=float)
        middle = float(np.asarray(function(np.array([best[0]]), np.array([best[1]])))[0])
    known = values[~np.isnan(values)]
    if not known.size:
        return -math.inf, math.inf
    # Between two directions the range goes a little farther: a parabola through the three about each end.
    low, high = _tip(values, -1.0), _tip(values, 1.0)
    return min(low, middle), max(high, middle)


def _tip(values: Real, sign: float) -> float:
    turned = sign * values
    at = int(np.nanargmax(turned))
    before, here, after = (float(turned[(at + k) % len(turned)]) for k in (-1, 0, 1))
    bend = before - 2 * here + after
    if not (math.isfinite(bend) and bend < 0):
        return sign * here
    return sign * (here - (after - before) ** 2 / (8 * bend))
