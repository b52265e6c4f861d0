"""Slopes of one curve at every point, ends included, with errors: for figures and for output curves."""

from __future__ import annotations

import functools

import numpy as np

from filmwright.measure.smoothing import FEWEST_FOR_NOISE, Array, read_noise

ROUNDING = 1e-9
"""Smallest error of a point, as a share of the largest value: a curve without noise is not known better."""

KNOWN_TO = 0.02
"""Share of the largest slope to which slopes are wanted; the narrowest window that reaches it is taken."""

HALVES = (1, 2, 3, 4, 6, 8, 11, 16, 22)
"""Half widths of the window, in points."""


def point_errors(grid: Array, curve: Array) -> Array:
    """Standard deviation of each point from the noise of the curve itself.

    Parameters
    ----------
    grid : array (n_points,) [V]
        Rising.
    curve : array (n_points,) [A]
        Low currents first.

    Returns
    -------
    array (n_points,) [A]
        With too few points to tell noise from shape, next to nothing.
    """
    least = ROUNDING * max(float(np.max(np.abs(curve))), np.finfo(float).tiny)
    if len(grid) < FEWEST_FOR_NOISE:
        return np.full(len(grid), least)
    noise = read_noise(grid, curve[None, :])
    found: Array = np.sqrt(noise.variance(curve[None, :])[0])
    return np.maximum(found, least)


def slopes(grid: Array, curve: Array, std: Array) -> tuple[Array, Array, Array]:
    """Slope at each point, its error, and the weights of the points in it.

    Parameters
    ----------
    grid : array (n_points,) [V]
        Rising.
    curve, std : array (n_points,)

    Returns
    -------
    array (n_points,), array (n_points,), array (n_points, n_points)
    """
    weights = np.zeros((len(grid), len(grid)))
    found, errors = np.zeros(len(grid)), np.zeros(len(grid))
    for half in [each for each in HALVES if 2 * each + 1 <= max(3, len(grid) // 3)]:
        weights = slope_weights(grid.tobytes(), half)
        found, errors = weights @ curve, np.sqrt(weights**2 @ std**2)
        if np.max(errors) <= KNOWN_TO * float(np.max(found)):
            break
    return found, errors, weights


@functools.lru_cache(maxsize=64)
def slope_weights(grid_bytes: bytes, half: int) -> Array:
    """Slopes of a parabola through the 2·half + 1 nearest points, whole also at the ends.

    Parameters
    ----------
    grid_bytes : bytes
        Of the array of voltages.
    half : int
    """
    grid = np.frombuffer(grid_bytes)
    count = len(grid)
    wide = min(2 * half + 1, count)
    start = np.clip(np.arange(count) - half, 0, count - wide)
    near = start[:, None] + np.arange(wide)
    offset = grid[near] - grid[:, None]
    weights = np.zeros((count, count))
    inverse = np.linalg.pinv(offset[:, :, None] ** np.arange(3))
    weights[np.arange(count)[:, None], near] = inverse[:, 1]
    return weights
