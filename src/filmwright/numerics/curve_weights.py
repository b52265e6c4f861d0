"""Derivatives of curves by local polynomials, as weights on neighbouring points."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Index = NDArray[np.intp]

_EVEN = 1e-6
"""Steps that differ by less than this part of themselves are equal."""


@dataclass(frozen=True, kw_only=True)
class LocalPolynomials:
    """Least-squares polynomials around each point, for several half widths.

    Attributes
    ----------
    halves : array (n_halves,)
        Half widths in points, rising; a window has 2·half + 1 points.
    weights : array (n_halves, n_places, degree + 1, 2·widest + 1)
        Derivative d of half width k at place p is ``weights[k, p, d, : 2·half + 1]`` times the points around p. One place where
        the steps are equal.
    squares : array as weights
        Squares of the weights.
    gains : array (n_halves, n_places, degree + 1)
        Root of the sum of the squared weights.
    """

    halves: Index
    weights: Floats
    squares: Floats
    gains: Floats


def local_polynomials(grid: Floats, halves: tuple[int, ...], degree: int) -> LocalPolynomials:
    """Weights of the derivatives 0 … degree of least-squares polynomials; kept, for grids come again.

    Parameters
    ----------
    grid : array (n_points,)
        Rising.
    halves : tuple of int
        Rising; each with 2·half + 1 points above the degree, and no more than there are. Others are left out.
    degree : int
        At least 0.

    References
    ----------
    A. Savitzky, M. J. E. Golay, Anal. Chem. 36, 1627 (1964), doi:10.1021/ac60214a047 (from memory).
    """
    return _kept(np.ascontiguousarray(grid, dtype=float).tobytes(), halves, degree)


@functools.lru_cache(maxsize=64)
def _kept(grid_bytes: bytes, halves: tuple[int, ...], degree: int) -> LocalPolynomials:
    grid = np.frombuffer(grid_bytes)
    count = len(grid)
    use = [each for each in halves if degree < 2 * each + 1 <= count]
    steps = np.diff(grid)
    even = bool(np.ptp(steps) <= _EVEN * np.mean(steps))
    places = 1 if even else count
    widest = max(use, default=0)
    weights = np.zeros((len(use), places, degree + 1, 2 * widest + 1))
    for row, half in enumerate(use):
        centres = np.array([half]) if even else np.arange(half, count - half)
        mean = (grid[-1] - grid[0]) / (count - 1)
        around = centres[:, None] + np.arange(-half, half + 1)
        offset = np.arange(-half, half + 1)[None] * mean if even else grid[around] - grid[centres][:, None]
        span = half * mean
        found = np.linalg.pinv((offset / span)[:, :, None] ** np.arange(degree + 1))
        scale = np.array([math.factorial(d) / span**d for d in range(degree + 1)])
        at = slice(0, 1) if even else slice(half, count - half)
        weights[row, at, :, : 2 * half + 1] = found * scale[None, :, None]
    squares = weights**2
    return LocalPolynomials(
        halves=np.array(use, dtype=np.intp),
        weights=weights,
        squares=squares,
        gains=np.sqrt(np.sum(squares, axis=3)),
    )
