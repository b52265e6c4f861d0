"""What is read off many curves at once: levels, crossings, swing. Curves are n-type: low currents first."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from filmwright.measure.smoothing import Array, Noise, half_widths, smoother

Flags = NDArray[np.bool_]

ABOVE_FLOOR = 5.0
"""A current counts as read from this many times the off level and the noise of the floor on."""


@dataclass(frozen=True, kw_only=True)
class Levels:
    """On and off currents of each curve, arrays (n_curves,) [A].

    Attributes
    ----------
    on, on_std : array
        Largest current and its noise.
    off, off_std : array
        Smallest running mean of the size of the current (the floor where that hides it), and its noise.
    usable : array
        Current from which on the curve stands clear of its floor.
    floor_limited : array of bool
        The off current is not told from the noise of the instrument.
    """

    on: Array
    on_std: Array
    off: Array
    off_std: Array
    usable: Array
    floor_limited: Flags


def read_levels(curves: Array, noise: Noise, instrument: Array) -> Levels:
    """On and off level of each curve; the off level is the smallest mean of |I| over a twentieth of the
    sweep.

    Parameters
    ----------
    curves : array (n_curves, n_points) [A]
    noise : Noise
    instrument : array (n_curves,) [A]
        Floor of the instrument where other sweeps of the file show it, else 0.
    """
    count = curves.shape[1]
    width = 1 if count < 12 else max(3, count // 20)
    size = np.abs(curves)
    total = np.cumsum(np.pad(size, ((0, 0), (1, 0))), axis=1)
    means = (total[:, width:] - total[:, :-width]) / width
    signed = np.cumsum(np.pad(curves, ((0, 0), (1, 0))), axis=1)
    place = np.argmin(means, axis=1)
    rows = np.arange(len(curves))
    off = np.maximum(means[rows, place], np.finfo(float).tiny)
    mean = (signed[rows, place + width] - signed[rows, place]) / width
    on = np.maximum(curves.max(axis=1), np.finfo(float).tiny)
    floor = np.nan_to_num(noise.floor)
    limited = ((floor > 0) & (mean < 3.0 * floor)) | (mean < 0) | (off <= 2.0 * instrument)
    off = np.where(limited, np.maximum(np.maximum(off, floor), instrument), off)
    return Levels(
        on=on,
        on_std=np.sqrt(noise.variance(on)),
        off=off,
        off_std=np.sqrt(noise.variance(off) / width),
        usable=ABOVE_FLOOR * np.maximum(off, floor),
        floor_limited=limited,
    )


def crossings(grid: Array, curves: Array, target: Array, noise: Noise) -> tuple[Array, Array]:
    """Gate voltage at which each curve last rises through its target, interpolated in the logarithm, and its
    error.

    Parameters
    ----------
    grid : array (n_points,) [V]
    curves : array (n_curves, n_points) [A]
    target : array (n_curves,) [A]
        Above 0.
    noise : Noise

    Returns
    -------
    array (n_curves,) [V], array (n_curves,) [V]
        NaN where the curve does not cross.
    """
    rises = (curves[:, :-1] < target[:, None]) & (curves[:, 1:] >= target[:, None])
    place = curves.shape[1] - 2 - np.argmax(rises[:, ::-1], axis=1)
    rows = np.arange(len(curves))
    low, high = curves[rows, place], curves[rows, place + 1]
    with np.errstate(divide="ignore", invalid="ignore"):
        part_log = np.log(target / low) / np.log(high / low)
        part = np.where(low > 0, part_log, (target - low) / (high - low))
        slope = np.where(low > 0, target * np.log(high / low), high - low) / (grid[place + 1] - grid[place])
        std = np.sqrt(noise.variance(target) * ((1 - part) ** 2 + part**2)) / slope
    crossed = rises.any(axis=1)
    volts = grid[place] + part * (grid[place + 1] - grid[place])
    return np.where(crossed, volts, np.nan), np.where(crossed, std, np.nan)


@dataclass(frozen=True, kw_only=True)
class Swings:
    """The steepest decade of each curve, arrays (n_curves,).

    Attributes
    ----------
    swing, std : array [V per decade]
        NaN where no three points stand clear of the floor.
    volts, decades : array
        Middle of the steepest stretch [V] and log₁₀ of the current there.
    low, high : array [V]
        Its ends.
    span : array
        Decades that it covers.
    points : array
        Points in it.
    """

    swing: Array
    std: Array
    volts: Array
    decades: Array
    low: Array
    high: Array
    span: Array
    points: Array


def read_swings(grid: Array, curves: Array, usable: Array, noise: Noise) -> Swings:
    """Inverse of the largest slope of log₁₀ I over a window of about one decade that stands clear of the
    floor.

    The window is the narrowest that holds a decade somewhere; without one the narrowest of three points is
    taken.

    Parameters
    ----------
    grid : array (n_points,) [V]
    curves : array (n_curves, n_points) [A]
    usable : array (n_curves,) [A]
    noise : Noise
    """
    count = len(curves)
    out = {
        name: np.full(count, np.nan) for name in ("slope", "std", "volts", "decades", "low", "high", "span")
    }
    points = np.zeros(count)
    clear = curves > usable[:, None]
    logs = np.log10(np.where(clear, curves, 1.0))
    number = np.cumsum(np.pad(clear, ((0, 0), (1, 0))), axis=1, dtype=np.intp)
    left = np.arange(count)
    widths = half_widths(curves.shape[1])
    for width in (*widths, -1):
        if not left.size:
            break
        half = abs(width)
        found = _best_decade(grid, logs[left], number[left], half)
        take = np.isfinite(found["slope"]) & ((found["span"] >= 1.0) | (width < 0))
        mine = left[take]
        weights = found.pop("weights")[take]
        for name in ("slope", "volts", "decades", "low", "high", "span"):
            out[name][mine] = found[name][take]
        relative = noise.of(mine).variance(curves[mine]) / np.where(clear[mine], curves[mine], np.inf) ** 2
        out["std"][mine] = np.sqrt(np.einsum("ij,ij->i", weights**2, relative)) / np.log(10.0)
        points[mine] = 2 * half + 1
        left = left[~take]
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = np.where(out["slope"] > 0, out["slope"], np.nan)
        swing, std = 1.0 / slope, out["std"] / slope**2
    rest = {name: out[name] for name in ("volts", "decades", "low", "high", "span")}
    return Swings(swing=swing, std=std, points=points, **rest)


def _best_decade(grid: Array, logs: Array, number: NDArray[np.intp], half: int) -> dict[str, Array]:
    """Largest slope of the logarithm over whole windows in which every point is clear."""
    use = smoother(grid, half)
    first, last = half, len(grid) - half - 1
    centres = np.arange(first, last + 1)
    whole = number[:, centres + half + 1] - number[:, centres - half] == 2 * half + 1
    slope = np.where(whole, use.slopes_of(logs)[:, first : last + 1], -np.inf)
    span = np.where(whole, logs[:, centres + half] - logs[:, centres - half], -np.inf)
    slope = np.where(span >= np.minimum(1.0, span.max(axis=1, keepdims=True)), slope, -np.inf)
    rows, place = np.arange(len(logs)), np.argmax(slope, axis=1)
    at = centres[place]
    best = slope[rows, place]
    return {
        "slope": np.where(np.isfinite(best), best, np.nan),
        "span": span[rows, place],
        "volts": grid[at],
        "decades": np.einsum("ij,ij->i", use.value[at], logs),
        "low": grid[at - half],
        "high": grid[at + half],
        "weights": use.slope[at],
    }
