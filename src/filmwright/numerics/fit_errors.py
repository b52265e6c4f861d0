"""What a least-squares fit knows of its unknowns: covariance, directions that nothing tells, and profile intervals."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from filmwright.numerics.fitting import Fitted, Flags, Problem, Real, Rows, fit_many

_SINGULAR = 1e-12
"""Eigenvalue of JᵀJ with unit diagonal, below which a direction changes nothing (rounding squared is 1e-32)."""
_SHARE = 0.1
"""Part of a unit vector from which an unknown takes part in such a direction."""
_FINE = np.array([0.6, 1.2, 1.8, 2.4, 3.2, 5.0, 8.0])
_FAR = 10.0 ** np.arange(1.5, 7.1, 0.5)
_MOST = 60
_BETWEEN = np.linspace(0.0, 1.0, 6)[1:-1]


@dataclass(frozen=True, kw_only=True)
class FitErrors:
    """Of many fits.

    Attributes
    ----------
    covariance : array (k, p, p)
        Infinite on the diagonal where a direction is not told; zero for held unknowns.
    std : array (k, p)
        NaN for held unknowns.
    correlation : array (k, p, p)
    untold : array (k, p) of bool
        Unknowns that take part in a direction along which the data say nothing.
    directions : array (k, p, p)
        Eigenvectors (columns) of JᵀJ with unit diagonal, the least told first.
    strength : array (k, p)
        Their eigenvalues; they add up to the number of free unknowns.
    """

    covariance: Real
    std: Real
    correlation: Real
    untold: Flags
    directions: Real
    strength: Real


def fit_errors(fitted: Fitted, noise_known: bool = True) -> FitErrors:
    """Covariance of every fit, to first order.

    Equation: C = (JᵀJ)⁻¹, times Σr²/(n − p) when only the ratios of the weights are known; with a tail
    C = (JᵀwJ)⁻¹·(Jᵀw²r²J)·(JᵀwJ)⁻¹

    Parameters
    ----------
    fitted : Fitted
    noise_known : bool
        Whether the residuals are in standard deviations.

    Returns
    -------
    FitErrors

    References
    ----------
    C. L. Lawson, R. J. Hanson, Solving Least Squares Problems, SIAM 1995, doi:10.1137/1.9781611971217 (from memory);
    P. J. Huber, Robust Statistics, Wiley 1981, ch. 7 (from memory).
    """
    weights = fitted.weights
    square = np.einsum("kpn,kqn,kn->kpq", fitted.slopes, fitted.slopes, weights, optimize=True)
    spine = np.einsum("kpp->kp", square)
    none = ~(spine > 0) & ~fitted.held
    free = ~fitted.held & (spine > 0)
    root = np.sqrt(np.where(free, spine, 1.0))
    both = free[:, :, None] & free[:, None, :]
    size = square.shape[1]
    unit = np.where(both, square / (root[:, :, None] * root[:, None, :]), np.eye(size))
    strength, directions = np.linalg.eigh(unit)
    flat = strength < _SINGULAR
    inverse = np.einsum(
        "kpi,ki,kqi->kpq", directions, np.where(flat, 0.0, 1.0 / np.where(flat, 1.0, strength)), directions
    )
    untold = none | (np.any(flat[:, None, :] & (np.abs(directions) > _SHARE), axis=2) & free)
    covariance = np.where(both, inverse / (root[:, :, None] * root[:, None, :]), 0.0)
    if np.isfinite(fitted.tail):
        pushed = fitted.slopes * (weights * fitted.residual)[:, None, :]
        covariance = covariance @ (pushed @ pushed.swapaxes(1, 2)) @ covariance
    elif not noise_known:
        left = np.maximum(fitted.residual.shape[1] - np.sum(free, axis=1), 1)
        covariance = covariance * (fitted.cost / left)[:, None, None]
    places = np.arange(size)
    variance = np.einsum("kpp->kp", covariance)
    known = np.sqrt(np.where(free & ~untold & (variance > 0), variance, np.inf))
    correlation = np.clip(
        np.where(both, covariance / (known[:, :, None] * known[:, None, :]), 0.0), -1.0, 1.0
    )
    correlation[:, places, places] = 1.0
    covariance[:, places, places] = np.where(untold, np.inf, np.where(free, variance, 0.0))
    std = np.where(untold, np.inf, np.where(fitted.held, np.nan, np.sqrt(np.maximum(variance, 0.0))))
    return FitErrors(
        covariance=covariance,
        std=std,
        correlation=correlation,
        untold=untold,
        directions=directions,
        strength=strength,
    )


@dataclass(frozen=True, kw_only=True)
class ProfileEnds:
    """Intervals of the unknowns of one fit from the profile of its cost.

    Attributes
    ----------
    low, high : array (p,)
        Where the least cost with the unknown held there has risen by the stated amount; the bound, or infinity,
        where it never does.
    open_low, open_high : array (p,) of bool
        The cost never rises so far on this side: the data give no limit there.
    """

    low: Real
    high: Real
    open_low: Flags
    open_high: Flags


def profile_ends(
    problem: Problem, fitted: Fitted, row: int, low: ArrayLike, high: ArrayLike, rise: float
) -> ProfileEnds:
    """Intervals of one fit without the assumption that its cost is a parabola.

    Equation: χ²(θ_i, all others refitted) − χ²_min = rise; 3.84 for 95 % of one unknown with known noise.

    The values of all unknowns on both sides are fitted as problems of one batch; far ones only where near ones do not do.

    Parameters
    ----------
    problem : callable
        As for :func:`fit_many`.
    fitted : Fitted
    row : int
        Which fit.
    low, high : array (p,)
        Bounds.
    rise : float
        Valid range: above 0.

    Returns
    -------
    ProfileEnds

    Raises
    ------
    ValueError
        If ``rise`` is not above 0.

    References
    ----------
    D. M. Bates, D. G. Watts, Nonlinear Regression Analysis and Its Applications, Wiley 1988, ch. 6 (from memory);
    D. J. Venzon, S. H. Moolgavkar, Appl. Stat. 37, 87 (1988), doi:10.2307/2347496 (from memory).
    """
    if not rise > 0:
        raise ValueError(f"rise must be above 0, got {rise}")
    profile = _Profile(problem, fitted, row, np.asarray(low, float), np.asarray(high, float))
    sides = [(unknown, sign) for unknown in range(profile.size) for sign in (-1.0, 1.0)]
    ends, opened = np.empty(len(sides)), np.ones(len(sides), dtype=bool)
    brackets: list[tuple[int, float, float, float, float]] = []
    last = [(float(profile.x[unknown]), 0.0) for unknown, _ in sides]
    for steps in (_FINE, _FAR):
        left = [at for at in range(len(sides)) if opened[at]]
        ladders = [profile.ladder(*sides[at], rise, steps) for at in left]
        rises = profile.rises([sides[at][0] for at in left], ladders)
        for at, values, found in zip(left, ladders, rises, strict=True):
            over = np.flatnonzero(found >= rise)
            if not len(over):
                ends[at] = profile.bound(*sides[at])
                last[at] = (float(values[-1]), max(float(found[-1]), 0.0)) if len(values) else last[at]
                continue
            first = int(over[0])
            before = (float(values[first - 1]), max(float(found[first - 1]), 0.0)) if first else last[at]
            opened[at] = False
            brackets.append((at, *before, float(values[first]), float(found[first])))
    for _ in range(2):
        brackets = _narrower(profile, sides, brackets, rise)
    for at, inner, less, outer, more in brackets:
        part = (np.sqrt(rise) - np.sqrt(less)) / max(np.sqrt(more) - np.sqrt(less), 1e-300)
        ends[at] = inner + part * (outer - inner)
    return ProfileEnds(low=ends[::2], high=ends[1::2], open_low=opened[::2], open_high=opened[1::2])


def _narrower(
    profile: _Profile,
    sides: list[tuple[int, float]],
    brackets: list[tuple[int, float, float, float, float]],
    rise: float,
) -> list[tuple[int, float, float, float, float]]:
    """The same brackets after a look at places inside."""
    if not brackets:
        return []
    inside = [inner + _BETWEEN * (outer - inner) for _, inner, _, outer, _ in brackets]
    found = profile.rises([sides[bracket[0]][0] for bracket in brackets], inside)
    result = []
    for (at, inner, less, outer, more), values, rises in zip(brackets, inside, found, strict=True):
        places, heights = np.r_[inner, values, outer], np.r_[less, np.maximum(rises, 0.0), more]
        first = max(int(np.flatnonzero(heights >= rise)[0]), 1)
        result.append((at, places[first - 1], min(heights[first - 1], rise), places[first], heights[first]))
    return result


class _Profile:
    """One fit, and the least cost with one of its unknowns held at a value."""

    def __init__(self, problem: Problem, fitted: Fitted, row: int, low: Real, high: Real) -> None:
        self._problem, self._row, self._tail = problem, row, fitted.tail
        self._low, self._high, self._cost = low, high, float(fitted.cost[row])
        self.x = fitted.x[row]
        self.size = len(self.x)
        slopes = fitted.slopes[row] * np.sqrt(fitted.weights[row])
        self._square = slopes @ slopes.T
        spine = np.diag(self._square)
        # An unknown that changes nothing is looked at over steps of its own size.
        root = np.sqrt(np.where(spine > 0, spine, 1.0 / np.maximum(np.abs(self.x), 1.0) ** 2))
        unit = self._square / root[:, None] / root
        self._covariance = np.linalg.pinv(unit, rcond=1e-10, hermitian=True) / root[:, None] / root
        self._alone = 1.0 / root

    def bound(self, unknown: int, sign: float) -> float:
        return float((self._low if sign < 0 else self._high)[unknown])

    def ladder(self, unknown: int, sign: float, rise: float, steps: Real) -> Real:
        """Values outward from the best one, ending at the bound if it is reached."""
        near = np.sqrt(max(self._covariance[unknown, unknown], self._alone[unknown] ** 2))
        values = self.x[unknown] + sign * steps * near * np.sqrt(rise) / 2.0
        bound = self.bound(unknown, sign)
        inside = values[sign * (bound - values) > 0]
        reached = len(inside) < len(values) and bound != self.x[unknown]
        result: Real = np.r_[inside, bound] if reached else inside
        return result

    def rises(self, unknowns: list[int], ladders: list[Real]) -> list[Real]:
        """How far the least cost lies above that of the fit, for every value of every ladder."""
        which = np.repeat(unknowns, [len(each) for each in ladders])
        values = np.concatenate([*ladders, np.empty(0)])
        if not len(values):
            return [np.empty(0) for _ in ladders]
        own = self._covariance[which, which]
        slant = np.where(
            own[:, None] > 0, self._covariance[which] / np.where(own > 0, own, 1.0)[:, None], 0.0
        )
        start = self.x + slant * (values - self.x[which])[:, None]
        low, high = (np.tile(each, (len(values), 1)) for each in (self._low, self._high))
        places = np.arange(len(values))
        start[places, which] = low[places, which] = high[places, which] = values
        solved = fit_many(self._same, start, low, high, tail=self._tail, rounds=_MOST, tolerance=1e-7)
        rises = np.where(np.isfinite(solved.cost), solved.cost, np.inf) - self._cost
        return np.split(rises, np.cumsum([len(each) for each in ladders])[:-1])

    def _same(self, x: Real, rows: Rows) -> tuple[Real, Real]:
        return self._problem(x, np.full(len(rows), self._row))
