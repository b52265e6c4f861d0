"""Thickness of a film, and its index, from a measured spectrum or from psi and delta: every order in range."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import cast

import numpy as np
from numpy.typing import ArrayLike, NDArray

from filmwright.numerics import Solved, least_squares_many
from filmwright.process.optics import Stacks, illuminated, psi_delta

Real = NDArray[np.float64]
_SAMPLES = 24
"""Samples of the search over one period of interference of the shortest wavelength."""
_SHIFTS = 7
"""Starts over the range of the index."""
_BLIND = 1e8
"""Condition above which the curvature does not tell the unknowns apart."""


@dataclass(frozen=True, kw_only=True)
class Measured:
    """Numbers measured at one place of a wafer, with the law that predicts them from a stack.

    Attributes
    ----------
    values, std : array (n,)
        Reflectances, or angles [rad], and their standard deviations.
    predict : function from Stacks to array (columns, n)
    round_trip : array (n,)
        Period of a value that runs in a circle, such as Δ; infinite otherwise.
    """

    values: Real
    std: Real
    predict: Callable[[Stacks], Real]
    round_trip: Real

    def __post_init__(self) -> None:
        if self.values.ndim != 1 or self.values.shape != self.std.shape:
            raise ValueError("values and their standard deviations must be one row each, of the same length")
        if not np.all(np.isfinite(self.values)) or not np.all(self.std > 0):
            raise ValueError("values must be finite and their standard deviations above zero")

    def residual(self, stack: Stacks) -> Real:
        """(predicted − measured)/σ of every column, the short way round where values run in a circle."""
        off = self.predict(stack) - self.values
        turns = np.where(np.isfinite(self.round_trip), np.rint(off / self.round_trip), 0.0)
        whole = np.where(np.isfinite(self.round_trip), self.round_trip, 0.0)
        return np.asarray((off - turns * whole) / self.std)


@dataclass(frozen=True, kw_only=True)
class Order:
    """One thickness that explains what was measured.

    Attributes
    ----------
    thickness : float [m]
    thickness_interval : tuple of two floats [m]
        95 %; wider where the model misses the readings by more than their spread; the whole range that was
        searched where the data cannot tell.
    shift : float
        What was added to the index n − i·k at all wavelengths (Cauchy's A); 0 when the index was not asked for.
    shift_interval : tuple of two floats
        95 %.
    reduced_chi2 : float
        χ² per degree of freedom: near 1 the model holds within the spread of the readings.
    odds : float
        Likelihood over that of the best order, 0 to 1.
    notes : tuple of str
        What else must be said, e.g. that the data cannot tell thickness from index.
    """

    thickness: float
    thickness_interval: tuple[float, float]
    shift: float
    shift_interval: tuple[float, float]
    reduced_chi2: float
    odds: float
    notes: tuple[str, ...] = ()


def measured_reflectance(
    values: ArrayLike, std: ArrayLike, angle: float = 0.0, aperture: float = 0.0
) -> Measured:
    """A reflectance spectrum as data of a fit.

    Parameters
    ----------
    values, std : array (w,) [share of the power]
        At the wavelengths of the stack, and their standard deviations.
    angle : float [rad]
        Of incidence.
    aperture : float [sin θ]
        Numerical aperture of the objective.

    Returns
    -------
    measured : Measured [share of the power]

    Raises
    ------
    ValueError
        When a number is not finite or a standard deviation is not above zero.

    Notes
    -----
    Source: :func:`illuminated`.
    """
    shares = np.asarray(values, dtype=float)
    return Measured(
        values=shares,
        std=np.array(np.broadcast_to(np.asarray(std, dtype=float), shares.shape)),
        predict=lambda stack: illuminated(stack, angle, aperture=aperture).reflectance,
        round_trip=np.full(shares.shape, np.inf),
    )


def measured_angles(
    angles: Sequence[float], psi: ArrayLike, delta: ArrayLike, psi_std: ArrayLike, delta_std: ArrayLike
) -> Measured:
    """Ellipsometric angles, at several angles of incidence and all wavelengths of the stack, as data of a fit.

    Parameters
    ----------
    angles : sequence of a floats [rad]
        Of incidence.
    psi, delta, psi_std, delta_std : array (a, w) [rad]
        Δ near π for bare silicon; standard deviations may be single numbers.

    Returns
    -------
    measured : Measured [rad]

    Raises
    ------
    ValueError
        When a number is not finite or a standard deviation is not above zero.

    Notes
    -----
    Source: :func:`psi_delta`.
    """
    shape = np.shape(psi)

    def row(first: ArrayLike, second: ArrayLike) -> Real:
        both = [np.broadcast_to(np.asarray(each, dtype=float), shape).ravel() for each in (first, second)]
        return np.concatenate(both)

    def predict(stack: Stacks) -> Real:
        many = replace(
            stack,
            wavelength=np.tile(stack.wavelength, len(angles)),
            index=np.tile(stack.index, (1, len(angles))),
            above=np.tile(stack.above, len(angles)),
            behind=np.tile(stack.behind, len(angles)),
        )
        return np.concatenate(psi_delta(many, np.repeat(angles, stack.wavelength.size)), axis=1)

    return Measured(
        values=row(psi, delta),
        std=row(psi_std, delta_std),
        predict=predict,
        round_trip=row(np.full(shape, np.inf), np.full(shape, 2 * math.pi)),
    )


def film_orders(
    stack: Stacks,
    film: int,
    measured: Measured,
    thickness: tuple[float, float],
    index_range: float = 0.0,
) -> tuple[Order, ...]:
    """Every thickness within a range that explains the data: all local minima of χ², the best first.

    χ² = Σ ((predicted − measured)/σ)², searched on a grid finer than the interference and refined from every
    minimum at once; intervals from the curvature, Student's t and max(1, reduced χ²).

    Parameters
    ----------
    stack : Stacks [m]
        One column; the thickness of the film in question does not count.
    film : int [place]
        Which film, from the top, counted from 0.
    measured : Measured [as its law]
        The data.
    thickness : tuple of two floats [m]
        Range of the search.
    index_range : float, 0 or more [n]
        How far the index of the film may be shifted either way; 0 keeps it.

    Returns
    -------
    orders : tuple of Order [m]

    Raises
    ------
    ValueError
        When the range is empty, the film is none of the stack's or there are too few data.

    Notes
    -----
    Source: maximum likelihood with a Gaussian spread; W. H. Press et al., Numerical Recipes, ch. 15 (from
    memory).
    """
    low, high = thickness
    count = 2 if index_range > 0 else 1
    if stack.columns != 1 or not 0 <= film < stack.films.shape[1]:
        raise ValueError(f"give one column and one of its {stack.films.shape[1]} films, got film {film}")
    if not 0 <= low < high or index_range < 0:
        raise ValueError(f"the range must rise from zero or more, got {low:g} to {high:g} m")
    if measured.values.size <= count:
        raise ValueError(f"{count} unknowns need more than {count} data, got {measured.values.size}")

    def residual(x: Real) -> Real:
        return measured.residual(_varied(stack, film, x))

    grid, shape = _grid(stack, film, (low, high), index_range)
    surface = np.sum(residual(grid) ** 2, axis=1).reshape(shape)
    starts = grid.reshape(*shape, -1)[_minima(surface)]
    period = float(stack.wavelength.min()) / 2
    ends = np.array([low, -index_range])[:count], np.array([high, index_range])[:count]
    step = np.array([1e-5 * period, 1e-6])[:count]
    solved = least_squares_many(residual, starts[:, :count], *ends, step)
    return _orders(solved, measured.values.size, ends, 1e-3 * period)


def _varied(stack: Stacks, film: int, x: Real) -> Stacks:
    """One column for every row of x: thickness, and shift of the index where there is one."""
    count = len(x)
    films = np.repeat(stack.films, count, axis=0)
    depth = np.repeat(stack.thickness, count, axis=0)
    depth[:, film] = x[:, 0]
    index = stack.index
    if x.shape[1] > 1:
        own = stack.index[stack.films[0, film]] + x[:, 1:2]
        index = np.concatenate([index, own])
        films[:, film] = len(stack.index) + np.arange(count)
    return replace(
        stack,
        index=index,
        films=films,
        thickness=depth,
        below=np.repeat(stack.below, count),
        plate=np.repeat(stack.plate, count),
    )


def _grid(
    stack: Stacks, film: int, thickness: tuple[float, float], index_range: float
) -> tuple[Real, tuple[int, int]]:
    fastest = np.max((np.abs(stack.index[stack.films[0, film]].real) + index_range) / stack.wavelength)
    count = max(math.ceil((thickness[1] - thickness[0]) * 2 * float(fastest) * _SAMPLES), 3) + 1
    shifts = np.linspace(-index_range, index_range, _SHIFTS) if index_range > 0 else np.zeros(1)
    depth = np.linspace(*thickness, count)
    both = np.stack(np.meshgrid(shifts, depth, indexing="ij"), axis=-1)[..., ::-1]
    grid = both.reshape(-1, 2) if index_range > 0 else both.reshape(-1, 2)[:, :1]
    return np.ascontiguousarray(grid), (shifts.size, count)


def _minima(surface: Real) -> tuple[NDArray[np.int64], ...]:
    """Places along the thickness that lie no higher than their neighbours."""
    walled = np.pad(surface, ((0, 0), (1, 1)), constant_values=np.inf)
    lowest = (surface <= walled[:, :-2]) & (surface < walled[:, 2:])
    return cast(tuple[NDArray[np.int64], ...], np.nonzero(lowest))


def _orders(solved: Solved, data: int, ends: tuple[Real, Real], same: float) -> tuple[Order, ...]:
    from scipy.special import stdtrit

    best = np.argsort(solved.cost)
    free = data - solved.x.shape[1]
    least = float(solved.cost[best[0]])
    loose = max(1.0, least / free)
    student = float(stdtrit(free, 0.975))
    kept: list[int] = []
    for j in best:
        if all(np.abs(solved.x[j] - solved.x[k])[0] > same for k in kept):
            kept.append(int(j))
    return tuple(
        _order(solved, j, free, (student, math.exp(-(float(solved.cost[j]) - least) / (2 * loose))), ends)
        for j in kept
    )


def _order(solved: Solved, row: int, free: int, scale: tuple[float, float], ends: tuple[Real, Real]) -> Order:
    student, odds = scale
    x, slope = solved.x[row], solved.jacobian[row]
    reduced = float(solved.cost[row]) / free
    size = np.maximum(np.linalg.norm(slope, axis=0), np.finfo(float).tiny ** 0.5)
    square = (slope / size).T @ (slope / size)
    covariance = np.linalg.pinv(square, hermitian=True) / np.outer(size, size) * max(1.0, reduced)
    half = student * np.sqrt(np.diag(covariance))
    notes = []
    if np.any(x <= ends[0]) or np.any(x >= ends[1]):
        notes.append("lies at the end of the range that was searched")
    low, high = x - half, x + half
    if np.linalg.cond(square) > _BLIND or bool(half[0] > ends[1][0] - ends[0][0]):
        notes.append("not identifiable: the data cannot tell it within the range that was searched")
        low, high = ends
    shifted = len(x) > 1
    return Order(
        thickness=float(x[0]),
        thickness_interval=(float(low[0]), float(high[0])),
        shift=float(x[1]) if shifted else 0.0,
        shift_interval=(float(low[1]), float(high[1])) if shifted else (0.0, 0.0),
        reduced_chi2=reduced,
        odds=odds,
        notes=tuple(notes),
    )
