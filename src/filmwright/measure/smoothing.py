"""Noise of a curve, and values and slopes smoothed by a parabola through neighbouring points, for many curves
at once.

Every smoothed quantity is a matrix times the curve, so that its variance follows from the variance of the
points.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

HALF_WIDTHS = (1, 2, 3, 4, 5, 6, 8, 11, 16, 22, 32, 45)
"""Half widths of the smoothing window, in points, from which the data choose; 1: central differences."""

FEWEST_FOR_NOISE = 16
"""Points below which noise and shape of a curve cannot be told apart."""


@dataclass(frozen=True, kw_only=True)
class Smoother:
    """Value and slope at each point of a grid as weights on the points of a curve.

    Attributes
    ----------
    value, slope : array (n_points, n_points)
    first, last : int
        Range of points (last one included) at which the window is whole.
    """

    value: Array
    slope: Array
    first: int
    last: int


def smoother(grid: Array, half_width: int) -> Smoother:
    """Weights of a least-squares parabola over ``2·half_width + 1`` points (central differences for 1).

    Parameters
    ----------
    grid : array (n_points,) [V]
        Rising.
    half_width : int
        From 1 to (n_points − 1)/2.
    """
    return _smoother(grid.tobytes(), half_width)


@functools.lru_cache(maxsize=512)
def _smoother(grid_bytes: bytes, half: int) -> Smoother:
    grid = np.frombuffer(grid_bytes)
    count = len(grid)
    if half == 1:
        central: Array = np.asarray(np.gradient(np.eye(count), grid, axis=0))
        return Smoother(value=np.eye(count), slope=central, first=0, last=count - 1)
    centres = np.arange(half, count - half)
    around = centres[:, None] + np.arange(-half, half + 1)
    span = (grid[around[:, -1]] - grid[around[:, 0]]) / 2.0
    offset = (grid[around] - grid[centres][:, None]) / span[:, None]
    weights = np.linalg.pinv(offset[:, :, None] ** np.arange(3))
    value, slope = np.zeros((count, count)), np.zeros((count, count))
    value[centres[:, None], around] = weights[:, 0]
    slope[centres[:, None], around] = weights[:, 1] / span[:, None]
    return Smoother(value=value, slope=slope, first=half, last=count - half - 1)


def half_widths(count: int) -> tuple[int, ...]:
    """The half widths that a curve of so many points may use: the widest spans two fifths of the curve."""
    if count < FEWEST_FOR_NOISE:
        return (1,)
    return tuple(each for each in HALF_WIDTHS if each == 1 or 5 * each <= count)


def third_differences(grid: Array, curves: Array) -> Array:
    """What is left of each point after any parabola through its neighbours, with the variance of one point.

    Parameters
    ----------
    grid : array (n_points,) [V]
    curves : array (n_curves, n_points)

    Returns
    -------
    array (n_curves, n_points − 3)
    """
    weights = _third_weights(grid.tobytes())
    width = weights.shape[0]
    result: Array = sum(weights[:, j] * curves[:, j : j + width] for j in range(4))  # type: ignore[assignment]
    return result


@functools.lru_cache(maxsize=256)
def _third_weights(grid_bytes: bytes) -> Array:
    grid = np.frombuffer(grid_bytes)
    points = np.stack([grid[j : len(grid) - 3 + j] for j in range(4)], axis=1)
    gaps = points[:, :, None] - points[:, None, :] + np.eye(4)
    weights = 1.0 / np.prod(gaps, axis=2)
    result: Array = weights / np.linalg.norm(weights, axis=1, keepdims=True)
    return result


@dataclass(frozen=True, kw_only=True)
class Noise:
    """Variance of a point as floor² + (share·current)²; NaN where there are too few points to tell.

    Attributes
    ----------
    floor : array (n_curves,) [A]
    share : array (n_curves,)
    """

    floor: Array
    share: Array

    def of(self, rows: NDArray[np.intp]) -> Noise:
        """The noise of some of the curves."""
        return Noise(floor=self.floor[rows], share=self.share[rows])

    def variance(self, currents: Array) -> Array:
        """Variance at currents (n_curves, …) [A²]."""
        shape = (-1,) + (1,) * (currents.ndim - 1)
        result: Array = self.floor.reshape(shape) ** 2 + (self.share.reshape(shape) * currents) ** 2
        return result


def read_noise(grid: Array, curves: Array) -> Noise:
    """Noise of many curves from their third differences in the quietest eighth and the upper third of the sweep.

    Half the squares lie below 0.455 of the variance for Gaussian noise, which makes the reading
    proof against a few
    bad points.

    Parameters
    ----------
    grid : array (n_points,) [V]
    curves : array (n_curves, n_points) [A]
        Low currents first.

    Returns
    -------
    Noise
    """
    count = curves.shape[1]
    if count < FEWEST_FOR_NOISE:
        unknown = np.full(len(curves), np.nan)
        return Noise(floor=unknown, share=unknown)
    left = third_differences(grid, curves)
    third, width = left.shape[1] // 3, max(left.shape[1] // 8, 8)
    total = np.cumsum(np.pad(np.abs(curves), ((0, 0), (1, 0))), axis=1)
    quiet = np.argmin(total[:, width + 3 :] - total[:, : -width - 3], axis=1)
    around = quiet[:, None] + np.arange(width)
    low = _robust(np.take_along_axis(left, around, axis=1))
    high = _robust(left[:, -third:])
    size_low = np.mean(np.take_along_axis(curves, around, axis=1) ** 2, axis=1)
    size_high = np.mean(curves[:, -third:] ** 2, axis=1)
    share = np.maximum(high - low, 0.0) / np.maximum(size_high - size_low, np.finfo(float).tiny)
    share = np.where(size_high > 1.1 * size_low, share, 0.0)
    floor = np.maximum(low - share * size_low, 0.0)
    pooled = np.where((size_high > 1.1 * size_low) & (high >= low), floor, np.maximum(low, high))
    return Noise(floor=np.sqrt(pooled), share=np.sqrt(share))


def _robust(residuals: Array) -> Array:
    squares = residuals**2
    middle = np.median(squares, axis=1) / 0.4549
    result: Array = np.where(middle > 0, middle, np.mean(squares, axis=1))
    return result
