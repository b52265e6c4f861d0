"""The tangent at the steepest place, with the smoothing chosen from the data, for many curves at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from filmwright import device
from filmwright.measure.smoothing import Array, Smoother, half_widths, smoother

Index = NDArray[np.intp]

CAUTION = 4.0
"""The steepest place is where the slope less so many of its errors is largest, over places and windows."""

NARROWER = 2
"""Sizes by which the window is narrowed once the place is known, so that shape adds little to the error."""


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


def steepest(grid: Array, curves: Array, variance: Array) -> Tangents:
    """Tangents at the largest slope.

    Parameters
    ----------
    grid : array (n_points,) [V]
    curves : array (n_curves, n_points)
    variance : array (n_curves, n_points)
        Of each point; NaN where not known.

    Returns
    -------
    Tangents
    """
    widths = half_widths(curves.shape[1])
    slopes, first, at = _steepest_places(grid, curves, np.sqrt(variance), widths)
    chosen = np.maximum(first - NARROWER, 0)
    count = len(curves)
    out = {name: np.full(count, np.nan) for name in ("value", "slope", "slope_std", "intercept_std")}
    half = np.asarray(widths)[chosen]
    for order in np.unique(chosen):
        mine = np.flatnonzero(chosen == order)
        use = smoother(grid, widths[order])
        wider = np.stack(slopes)[first[mine], mine, at[mine]]
        found = _tangent(grid, curves[mine], variance[mine], use, slopes[order][mine], at[mine], wider)
        for name, values in found.items():
            out[name][mine] = values
    volts = grid[at]
    rising = out["slope"] > 0
    intercept = device.tangent_intercept(volts, out["value"], np.where(rising, out["slope"], 1.0))
    intercept = np.where(rising, intercept, np.nan)
    low, high = grid[np.maximum(at - half, 0)], grid[np.minimum(at + half, len(grid) - 1)]
    return Tangents(
        at=at, half_width=half, gate_voltage=volts, intercept=intercept, low=low, high=high, **out
    )


def _steepest_places(
    grid: Array, curves: Array, std: Array, widths: tuple[int, ...]
) -> tuple[list[Array], Index, Index]:
    """Slopes by window, and for each curve the window and the place where the slope is surely largest.

    A window too wide lowers the largest slope, one too narrow has a large error: the lower bound weighs both.
    """
    rows = np.arange(len(curves))
    best = np.full(len(curves), -np.inf)
    chosen, at = np.zeros(len(curves), dtype=np.intp), np.zeros(len(curves), dtype=np.intp)
    slopes = []
    for order, width in enumerate(widths):
        use = smoother(grid, width)
        inside = slice(use.first, use.last + 1)
        slope = use.slopes_of(curves)
        slopes.append(slope)
        error = np.linalg.norm(use.slope[inside], axis=1) * np.nan_to_num(std[:, inside])
        bound = slope[:, inside] - CAUTION * error
        place = np.argmax(bound, axis=1)
        better = bound[rows, place] > best
        best = np.where(better, bound[rows, place], best)
        chosen, at = np.where(better, order, chosen), np.where(better, place + use.first, at)
    return slopes, chosen, at


def _tangent(
    grid: Array, curves: Array, variance: Array, use: Smoother, slopes: Array, places: Index, wider: Array
) -> dict[str, Array]:
    """Value, slope and errors at the chosen places; all curves with the same window.

    To the noise come the scatter over the places that are as steep within one error, and what the slope of
    the wider window says about the shape that smoothing hides.
    """
    rows = np.arange(len(curves))
    value_weights, slope_weights = use.value[places], use.slope[places]
    value = np.einsum("ij,ij->i", value_weights, curves)
    slope = slopes[rows, places]
    with np.errstate(divide="ignore", invalid="ignore"):
        arm = value / slope
        lean = value_weights / slope[:, None] - (arm / slope)[:, None] * slope_weights
        fixed = np.einsum("ij,ij->i", lean**2, variance)
        slope_variance = np.einsum("ij,ij->i", slope_weights**2, variance)
        spread, turn = _place_spread(grid, curves, slopes, np.sqrt(slope_variance), slope, use)
        shape = np.where(wider > 0, (wider - slope) ** 2, 0.0)
    return {
        "value": value,
        "slope": slope,
        "slope_std": np.sqrt(slope_variance + turn + shape),
        "intercept_std": np.sqrt(fixed + spread + (arm / slope) ** 2 * shape / 9.0),
    }


def _place_spread(
    grid: Array, curves: Array, slopes: Array, slope_std: Array, slope: Array, use: Smoother
) -> tuple[Array, Array]:
    """Scatter of intercept and slope over the places that are as steep as the steepest within one error."""
    inside = np.zeros(len(grid), dtype=bool)
    inside[use.first : use.last + 1] = True
    alike = inside & (slopes >= (slope - np.nan_to_num(slope_std))[:, None])
    value = use.values_of(curves)
    with np.errstate(divide="ignore", invalid="ignore"):
        intercepts = np.where(alike, grid - value / slopes, 0.0)
    number = np.maximum(alike.sum(axis=1), 1)
    mean = intercepts.sum(axis=1) / number
    spread = np.where(alike, (intercepts - mean[:, None]) ** 2, 0.0).sum(axis=1) / number
    turn = np.where(alike, (slopes - slope[:, None]) ** 2, 0.0).sum(axis=1) / number
    return spread, turn
