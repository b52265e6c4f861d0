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

BLOCK = 40
"""Points that are smoothed together."""

FEWEST_FOR_NOISE = 16
"""Points below which noise and shape of a curve cannot be told apart."""


@dataclass(frozen=True, kw_only=True)
class Smoother:
    """Value and slope at each point of a grid as weights on the points of a curve.

    Attributes
    ----------
    value, slope : array (n_points, n_points)
    half_width : int
    first, last : int
        Range of points (last one included) at which the window is whole.
    """

    value: Array
    slope: Array
    half_width: int
    first: int
    last: int

    def values_of(self, curves: Array) -> Array:
        """Smoothed values of curves (n_curves, n_points); 0 where the window is not whole."""
        return self._through(self.value, curves)

    def slopes_of(self, curves: Array) -> Array:
        """Slopes of curves (n_curves, n_points); 0 where the window is not whole."""
        return self._through(self.slope, curves)

    def _through(self, weights: Array, curves: Array) -> Array:
        """Weights times curves, in blocks along the diagonal because the rest of the weights is zero."""
        result = np.zeros_like(curves)
        for start in range(self.first, self.last + 1, BLOCK):
            stop = min(start + BLOCK, self.last + 1)
            near = slice(max(start - self.half_width, 0), min(stop + self.half_width, curves.shape[1]))
            result[:, start:stop] = curves[:, near] @ weights[start:stop, near].T
        return result


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
        return Smoother(value=np.eye(count), slope=central, half_width=1, first=0, last=count - 1)
    centres = np.arange(half, count - half)
    around = centres[:, None] + np.arange(-half, half + 1)
    span = (grid[around[:, -1]] - grid[around[:, 0]]) / 2.0
    offset = (grid[around] - grid[centres][:, None]) / span[:, None]
    weights = np.linalg.pinv(offset[:, :, None] ** np.arange(3))
    value, slope = np.zeros((count, count)), np.zeros((count, count))
    value[centres[:, None], around] = weights[:, 0]
    slope[centres[:, None], around] = weights[:, 1] / span[:, None]
    return Smoother(value=value, slope=slope, half_width=half, first=half, last=count - half - 1)


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
    """Noise of many curves from third differences in the quietest eighth and the upper third of the sweep.

    The largest quarter of the squares is left out, which makes the reading proof against a few bad points and
    against
    the bend at threshold.

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
    squares = third_differences(grid, curves) ** 2
    third, width = squares.shape[1] // 3, max(squares.shape[1] // 8, 8)
    total = np.cumsum(np.pad(np.abs(curves), ((0, 0), (1, 0))), axis=1)
    quiet = np.argmin(total[:, width + 3 :] - total[:, : -width - 3], axis=1)
    around = quiet[:, None] + np.arange(width)
    low = _trimmed(np.take_along_axis(squares, around, axis=1))
    size_low = np.mean(np.take_along_axis(curves, around, axis=1) ** 2, axis=1)
    middle = (curves[:, 1:-2] + curves[:, 2:-1]) / 2.0
    sizes = np.maximum(middle[:, -third:] ** 2, np.finfo(float).tiny)
    relative = _trimmed(squares[:, -third:] / sizes)
    over = relative - low / np.mean(sizes, axis=1)
    share = np.where(np.mean(sizes, axis=1) > 1.1 * size_low, np.maximum(over, 0.0), 0.0)
    floor = np.where(share > 0, np.maximum(low - share * size_low, 0.0), low)
    return Noise(floor=np.sqrt(floor), share=np.sqrt(share))


def _trimmed(squares: Array) -> Array:
    """Variance of Gaussian noise from the smaller three quarters of the squares.

    Their mean is 0.3684 of the variance: [3/4 − 2·q·φ(q)]/(3/4) with q = 1.1503, the upper quarter point of
    |x|.
    """
    kept = max(1, squares.shape[1] * 3 // 4)
    part = np.partition(squares, kept - 1, axis=1)[:, :kept]
    middle = np.mean(part, axis=1) / 0.3684
    result: Array = np.where(middle > 0, middle, np.mean(squares, axis=1))
    return result
