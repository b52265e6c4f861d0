"""A straight line through points that are uncertain in both directions."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from filmwright.numerics.roots import root_between

Real = NDArray[np.float64]
_ROUNDS, _SETTLED = 100, 1e-10


@dataclass(frozen=True, kw_only=True)
class StraightLine:
    """The line y = intercept + slope·x.

    Attributes
    ----------
    intercept, slope : float
    covariance : array (2, 2)
        Of intercept and slope, from the stated errors alone.
    cost : float
        Sum of the squared distances in units of their errors; about ``points - 2`` where the errors are right.
    points : int
    """

    intercept: float
    slope: float
    covariance: Real
    cost: float
    points: int


def line_cost(
    intercept: Real | float, slope: Real | float, x: Real, y: Real, x_std: Real, y_std: Real
) -> Real:
    """Squared distance of points from a line in units of their errors, each point moved along x to where it fits best.

    Equation: S = Σ (yᵢ − a − b·xᵢ)² / (σ_yᵢ² + b²·σ_xᵢ²)

    Parameters
    ----------
    intercept, slope : float or array (any shape)
        a, b.
    x, y, x_std, y_std : array (n,)
        Errors independent of each other; at no point both zero.

    References
    ----------
    D. York et al., Am. J. Phys. 72, 367 (2004), doi:10.1119/1.1632486 (from memory).
    """
    a, b = np.asarray(intercept)[..., None], np.asarray(slope)[..., None]
    return np.asarray(np.sum((y - a - b * x) ** 2 / (y_std**2 + b**2 * x_std**2), axis=-1))


def straight_line(x: Real, y: Real, x_std: Real, y_std: Real) -> StraightLine:
    """The likeliest line through points with normal errors in both directions.

    Equation: b = Σ Wᵢ·βᵢ·Vᵢ / Σ Wᵢ·βᵢ·Uᵢ, a = ȳ − b·x̄, Wᵢ = 1/(σ_yᵢ² + b²·σ_xᵢ²),
    βᵢ = Wᵢ·(Uᵢ·σ_yᵢ² + b·Vᵢ·σ_xᵢ²), until b stays.

    Parameters
    ----------
    x, y : array (n,)
        Two points or more, not all at one x.
    x_std, y_std : array (n,)
        Standard errors, at least zero; at no point both zero.

    Returns
    -------
    StraightLine

    Raises
    ------
    ValueError
        With fewer than two places along x, or errors that leave a point without weight.

    References
    ----------
    D. York et al., Am. J. Phys. 72, 367 (2004), doi:10.1119/1.1632486 (from memory).
    """
    x, y, x_std, y_std = (np.asarray(each, dtype=float) for each in (x, y, x_std, y_std))
    if x.size < 2 or np.ptp(x) <= 0:
        raise ValueError("a line needs points at two or more places")
    if np.any(x_std < 0) or np.any(y_std < 0) or np.any(x_std + y_std <= 0):
        raise ValueError("an error must be zero or above, and one of the two above zero")
    slope = float(np.polyfit(x, y, 1)[0])
    for _ in range(_ROUNDS):
        weight = 1.0 / (y_std**2 + slope**2 * x_std**2)
        mean_x, mean_y = float(weight @ x / weight.sum()), float(weight @ y / weight.sum())
        u, v = x - mean_x, y - mean_y
        beta = weight * (u * y_std**2 + slope * v * x_std**2)
        before, slope = slope, float(np.sum(weight * beta * v) / np.sum(weight * beta * u))
        if abs(slope - before) <= _SETTLED * max(abs(slope), abs(before)):
            break
    weight = 1.0 / (y_std**2 + slope**2 * x_std**2)
    mean_x, mean_y = float(weight @ x / weight.sum()), float(weight @ y / weight.sum())
    intercept = mean_y - slope * mean_x
    # The errors follow from the adjusted points, which lie on the line.
    beta = weight * ((x - mean_x) * y_std**2 + slope * (y - mean_y) * x_std**2)
    adjusted = mean_x + beta
    centre = float(weight @ adjusted / weight.sum())
    slope_variance = 1.0 / float(np.sum(weight * (adjusted - centre) ** 2))
    covariance = np.array(
        [
            [1.0 / weight.sum() + centre**2 * slope_variance, -centre * slope_variance],
            [-centre * slope_variance, slope_variance],
        ]
    )
    cost = float(line_cost(intercept, slope, x, y, x_std, y_std))
    return StraightLine(intercept=intercept, slope=slope, covariance=covariance, cost=cost, points=x.size)


def scatter_beyond(x: Real, y: Real, x_std: Real, y_std: Real, pattern: Real) -> float:
    """Scatter that must be added to the stated errors so that the points lie about a line as they do.

    Equation: s with S(σ_y² + s²·pᵢ²) = n − 2; zero where the stated errors already do

    Parameters
    ----------
    x, y, x_std, y_std : array (n,)
    pattern : array (n,)
        p, above zero: how the scatter goes from point to point, e.g. with the size of y.

    References
    ----------
    R. C. Paule, J. Mandel, J. Res. Natl. Bur. Stand. 87, 377 (1982), doi:10.6028/jres.087.022 (from memory).
    """
    freedom = len(x) - 2
    if freedom < 1:
        return 0.0

    def excess(scatter: float) -> float:
        wide = np.hypot(y_std, scatter * pattern)
        return straight_line(x, y, x_std, wide).cost - freedom

    least = 1e-9 * float(np.max(np.abs(y)) / np.max(pattern))
    if np.any(x_std + y_std <= 0):
        y_std = np.hypot(y_std, least * pattern)
    if excess(0.0) <= 0:
        return 0.0
    high = float(np.std(y) / np.min(pattern)) + least
    while excess(high) > 0:
        high *= 4.0
    return root_between(excess, 0.0, high, tolerance=1e-3 * high)
