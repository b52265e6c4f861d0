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

from filmwright import numerics

Array = NDArray[np.float64]

HALF_WIDTHS = (1, 2, 3, 4, 5, 6, 8, 11, 16, 22, 32, 45)
"""Half widths of the smoothing window, in points, from which the data choose; 1: central differences."""

FEWEST_FOR_NOISE = 16
"""Points below which noise and shape of a curve cannot be told apart."""


def half_widths(count: int) -> tuple[int, ...]:
    """The half widths that a curve of so many points may use: the widest spans two fifths of the curve."""
    if count < FEWEST_FOR_NOISE:
        return (1,)
    return tuple(each for each in HALF_WIDTHS if each == 1 or 5 * each <= count)


def or_else(values: Array, instead: float = 0.0) -> Array:
    """The values, with another in the place of what is not a number."""
    result: Array = np.where(np.isnan(values), instead, values)
    return result


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
    freedom : array (n_curves, 2)
        Degrees of freedom with which floor and share are known.
    """

    floor: Array
    share: Array
    freedom: Array

    def variance(self, currents: Array) -> Array:
        """Variance at currents (n_curves, …) [A²]."""
        shape = (-1,) + (1,) * (currents.ndim - 1)
        result: Array = self.floor.reshape(shape) ** 2 + (self.share.reshape(shape) * currents) ** 2
        return result

    def of_points(self, curves: Array) -> numerics.CurveNoise:
        """Noise of each point of the curves (n_curves, n_points)."""
        floor = np.repeat(self.floor**2, curves.shape[1]).reshape(curves.shape)
        return numerics.CurveNoise(variance=self.variance(curves), floor_part=floor, freedom=self.freedom)


def read_noise(grid: Array, curves: Array) -> Noise:
    """Noise of many curves from what third differences leave of any parabola.

    The share is read where the current is above a twentieth of its largest, the floor where it is next to nothing; squares beyond
    three standard deviations are left out, which makes the reading proof against a few bad points and the bend at threshold.

    Parameters
    ----------
    grid : array (n_points,) [V]
    curves : array (n_curves, n_points) [A]

    Returns
    -------
    Noise
    """
    if curves.shape[1] < FEWEST_FOR_NOISE:
        unknown = np.full(len(curves), np.nan)
        return Noise(floor=unknown, share=unknown, freedom=np.full((len(curves), 2), np.nan))
    found = numerics.noise_of_curves(curves, _third_weights(np.ascontiguousarray(grid).tobytes()))
    return Noise(floor=found[:, 0], share=found[:, 1], freedom=np.ascontiguousarray(found[:, 2:]))
