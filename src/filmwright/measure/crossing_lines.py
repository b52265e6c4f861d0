"""Lines of R·W against length at several overdrives, fitted together: devices, not points, are what is independent."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from filmwright.measure.length_lines import quantile_of
from filmwright.numerics import contour

Array = NDArray[np.float64]
_LEAST_SHARE = 1e-7
"""Scatter below which two devices are taken for the same."""


@dataclass(frozen=True, kw_only=True)
class Family:
    """Readings of a set, n devices at m overdrives.

    Attributes
    ----------
    length, length_std : array (n,) [m]
    normalised : array (n, m) [Ω·m]
        R·W.
    noise : array (n, m) [Ω·m]
        Standard errors from the curves' noise.
    shift_std : array (n,) [V]
        Standard error of each device's threshold.
    overdrive : array (m,) [V]
    """

    length: Array
    length_std: Array
    normalised: Array
    noise: Array
    shift_std: Array
    overdrive: Array


@dataclass(frozen=True, kw_only=True)
class FreeLines:
    """A line of its own at every overdrive, with the covariance of all.

    Attributes
    ----------
    intercept, slope : array (m,) [Ω·m], [Ω]
    covariance : array (2m, 2m)
        Intercepts first.
    weight : array (n, m, m)
        Inverse covariance of each device's readings.
    cost : float
    scatter, shift, rest : float
        Of devices: relative, common to all overdrives; of the threshold [V]; relative, of each reading.
    freedom : int
    """

    intercept: Array
    slope: Array
    covariance: Array
    weight: Array
    cost: float
    scatter: float
    shift: float
    rest: float
    freedom: int


def free_lines(family: Family) -> FreeLines:
    """Lines of their own, weighted by what the scatter of the devices is found to be (restricted likelihood).

    Equation: Σᵢ = diag(noise²) + b·bᵀ·σ_L² + s²·cᵢ·cᵢᵀ + (v² + σ_Vᵢ²)·gᵢ·gᵢᵀ + t²·diag(cᵢ²), cᵢ = b·Lᵢ, gᵢ = cᵢ/V_ov
    """
    from scipy.optimize import minimize

    n, m = family.normalised.shape
    line = np.polyfit(family.length, family.normalised, 1)
    shares = np.log(np.array([0.03, 0.01, 0.01]))
    for _ in range(2):
        slope = np.maximum(line[0], 1e-3 * np.max(np.abs(line[0])))
        channel = slope * family.length[:, None]
        bend = channel / family.overdrive

        def minus(logs: Array, slope: Array = slope, channel: Array = channel, bend: Array = bend) -> float:
            return _restricted(family, _covariance(family, np.exp(logs), slope, channel, bend))

        found = minimize(
            minus, shares, method="Nelder-Mead", options={"maxfev": 160, "xatol": 0.03, "fatol": 0.01}
        )
        shares = np.clip(found.x, math.log(_LEAST_SHARE), 2.0)
        weight = np.asarray(
            np.linalg.inv(_covariance(family, np.exp(shares), slope, channel, bend)), dtype=np.float64
        )
        beta, covariance, cost = _solved(family, weight)
        line = np.stack([beta[m:], beta[:m]])
    scatter, shift, rest = np.exp(shares)
    return FreeLines(
        intercept=beta[:m],
        slope=beta[m:],
        covariance=covariance,
        weight=weight,
        cost=cost,
        scatter=float(scatter),
        shift=float(shift * np.mean(family.overdrive)),
        rest=float(rest),
        freedom=n - 2,
    )


def _covariance(family: Family, shares: Array, slope: Array, channel: Array, bend: Array) -> Array:
    scatter, shift, rest = np.clip(shares, _LEAST_SHARE, 10.0)
    shift = shift * np.mean(family.overdrive)
    of_length = family.length_std[:, None] * slope
    of_shift = np.sqrt(shift**2 + family.shift_std**2)[:, None] * bend
    found = _outer(of_length) + _outer(scatter * channel) + _outer(of_shift)
    m = slope.size
    found[:, np.arange(m), np.arange(m)] += family.noise**2 + (rest * channel) ** 2
    return found


def _outer(rows: Array) -> Array:
    return np.asarray(rows[:, :, None] * rows[:, None, :])


def _normal(family: Family, weight: Array) -> tuple[Array, Array]:
    """Normal equations of intercepts and slopes."""
    length = family.length[:, None, None]
    corner = weight.sum(axis=0), (length * weight).sum(axis=0), (length**2 * weight).sum(axis=0)
    matrix = np.block([[corner[0], corner[1]], [corner[1], corner[2]]])
    pulled = np.einsum("nij,nj->ni", weight, family.normalised)
    return matrix, np.concatenate([pulled.sum(axis=0), (family.length[:, None] * pulled).sum(axis=0)])


def _solved(family: Family, weight: Array) -> tuple[Array, Array, float]:
    matrix, right = _normal(family, weight)
    covariance = np.asarray(np.linalg.inv(matrix), dtype=np.float64)
    beta = covariance @ right
    m = family.overdrive.size
    off = family.normalised - beta[:m] - family.length[:, None] * beta[m:]
    return beta, covariance, float(np.einsum("ni,nij,nj->", off, weight, off))


def _restricted(family: Family, covariance: Array) -> float:
    """Minus twice the restricted log-likelihood."""
    sign, size = np.linalg.slogdet(covariance)
    if np.any(sign <= 0):
        return math.inf
    weight = np.asarray(np.linalg.inv(covariance), dtype=np.float64)
    matrix, right = _normal(family, weight)
    beta = np.linalg.solve(matrix, right)
    m = family.overdrive.size
    off = family.normalised - beta[:m] - family.length[:, None] * beta[m:]
    return float(size.sum() + np.linalg.slogdet(matrix)[1] + np.einsum("ni,nij,nj->", off, weight, off))


@dataclass(frozen=True, kw_only=True)
class Crossing:
    """Where the lines of all overdrives cross: R·W there, and minus the length.

    Attributes
    ----------
    resistance, offset : float [Ω·m], [m]
        2·R_c·W that the gate does not change, and ΔL.
    slope : array (m,) [Ω]
    covariance : array (2, 2)
        Of resistance and offset.
    places : array (k, 2)
        Contour of the 95 % interval of one of the two.
    excess : float
        By which the cost exceeds that of free lines.
    chance : float
        Of so much excess where the lines do cross in one point.
    freedom : int
    """

    resistance: float
    offset: float
    slope: Array
    covariance: Array
    places: Array
    excess: float
    chance: float
    freedom: int


def crossing(family: Family, free: FreeLines) -> Crossing | None:
    """The common crossing point, its contour by profile likelihood, and whether there is one; None where no search ends.

    Equation: R·W = A + r(V_ov)·(L + ΔL), A and ΔL common to all overdrives
    """
    from scipy.optimize import minimize
    from scipy.special import fdtrc

    m = family.overdrive.size
    if m < 3 or free.freedom < 1:
        return None
    # The first guess: intercepts against slopes fall on a line, a = A + r·ΔL.
    start = np.polyfit(free.slope, free.intercept, 1)
    size = float(np.mean(np.abs(free.intercept))) + 1e-9 * float(np.mean(family.normalised))
    span = float(np.ptp(family.length))

    def cost(a: Array, b: Array) -> Array:
        return _profiled(family, free.weight, a, b)[0]

    def scaled(place: Array) -> float:
        return float(cost(np.array([place[0] * size]), np.array([place[1] * span]))[0])

    guess = np.array([start[1] / size, start[0] / span])
    found = minimize(scaled, guess, method="BFGS", options={"gtol": 1e-6})
    best = (float(found.x[0] * size), float(found.x[1] * span))
    covariance = _curvature(cost, best, np.array([size, span]))
    if covariance is None or not np.all(np.isfinite(best)):
        return None
    slope = _profiled(family, free.weight, np.array(best[:1]), np.array(best[1:]))[1][0]
    quantile = quantile_of(free.freedom)
    excess = max(float(found.fun) - free.cost, 0.0)
    return Crossing(
        resistance=best[0],
        offset=best[1],
        slope=slope,
        covariance=covariance,
        places=contour(cost, best, covariance, quantile**2),
        excess=excess,
        chance=float(fdtrc(m - 2, max(free.freedom * (m - 1), 1), excess / (m - 2))),
        freedom=free.freedom,
    )


def _profiled(family: Family, weight: Array, resistance: Array, offset: Array) -> tuple[Array, Array]:
    """Cost at crossing points (k,), the slopes (k, m) at their best."""
    reach = family.length + offset[:, None]
    off = family.normalised - resistance[:, None, None]
    matrix = np.einsum("kn,nij->kij", reach**2, weight)
    pulled = np.einsum("nij,knj->kni", weight, off)
    right = np.einsum("kn,kni->ki", reach, pulled)
    slope = np.linalg.solve(matrix, right[..., None])[..., 0]
    left = off - reach[..., None] * slope[:, None, :]
    return np.einsum("kni,nij,knj->k", left, weight, left), slope


def _curvature(cost: object, best: tuple[float, float], size: Array) -> Array | None:
    """Covariance from the second differences of the cost at its least."""
    h = 1e-3 * size
    a, b = best
    da, db = np.meshgrid([-h[0], 0.0, h[0]], [-h[1], 0.0, h[1]], indexing="ij")
    values = cost((a + da).ravel(), (b + db).ravel()).reshape(3, 3)  # type: ignore[operator]
    second = np.array(
        [
            [values[2, 1] - 2 * values[1, 1] + values[0, 1], 0.0],
            [0.0, values[1, 2] - 2 * values[1, 1] + values[1, 0]],
        ]
    )
    second[0, 1] = second[1, 0] = (values[2, 2] - values[2, 0] - values[0, 2] + values[0, 0]) / 4
    curved = second / np.outer(h, h)
    if not np.all(np.isfinite(curved)) or np.linalg.det(curved) <= 0 or curved[0, 0] <= 0:
        return None
    return np.asarray(2 * np.linalg.inv(curved))
