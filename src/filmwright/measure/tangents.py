"""The tangent at the steepest place, with the smoothing chosen from the data, for many curves at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from filmwright import device, numerics
from filmwright.measure.smoothing import Array, half_widths, or_else

Index = NDArray[np.intp]

CAUTION = 0.5
"""The steepest place is where the slope less √(2·ln(points/half width)) and so many of its errors is largest."""

NARROWER = 3
"""Sizes by which the window is narrowed once the place is known, so that shape adds little to the error."""

SCATTER, HIDDEN = 0.6, 0.3
"""Shares of the squares by which the intercept scatters over places as steep, and the slope is exceeded at places known as well, that
count as variance."""


@dataclass(frozen=True, kw_only=True)
class Tangents:
    """Where each curve is steepest and the tangent there.

    Attributes
    ----------
    at : array (n_curves,)
        Index of the point.
    half_width : array (n_curves,)
        Of the window that was chosen, in points.
    gate_voltage, value, slope, intercept : array (n_curves,)
    slope_std, intercept_std : array (n_curves,)
        NaN where the noise is not known.
    low, high : array (n_curves,) [V]
        Ends of the window.
    """

    at: Index
    half_width: Index
    gate_voltage: Array
    value: Array
    slope: Array
    intercept: Array
    slope_std: Array
    intercept_std: Array
    low: Array
    high: Array


def steepest(grid: Array, curves: Array, noise: numerics.CurveNoise) -> Tangents:
    """Tangents at the largest slope.

    Parameters
    ----------
    grid : array (n_points,) [V]
    curves : array (n_curves, n_points)
    noise : CurveNoise
        Of each point; NaN where not known.

    Returns
    -------
    Tangents
    """
    found = numerics.steepest_tangents(grid, curves, noise, half_widths(curves.shape[1]), CAUTION, NARROWER)
    at, half = found[:, 0].astype(np.intp), or_else(found[:, 1], 1.0).astype(np.intp)
    volts, slope = grid[at], found[:, 3]
    rising = slope > 0
    intercept = device.tangent_intercept(volts, found[:, 2], np.where(rising, slope, 1.0))
    scatter = np.maximum(or_else(found[:, 7]), 0.0) * SCATTER
    return Tangents(
        at=at,
        half_width=half,
        gate_voltage=volts,
        value=found[:, 2],
        slope=slope,
        intercept=np.where(rising, intercept, np.nan),
        slope_std=np.sqrt(found[:, 4] ** 2 + HIDDEN * or_else(found[:, 8])),
        intercept_std=np.sqrt(found[:, 6] ** 2 + scatter),
        low=grid[np.maximum(at - half, 0)],
        high=grid[np.minimum(at + half, len(grid) - 1)],
    )
