"""What is read off many curves at once: levels, crossings, swing. Curves are n-type: low currents first."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from filmwright import numerics
from filmwright.measure.smoothing import FEWEST_FOR_NOISE, Array, Noise, half_widths, or_else

Flags = NDArray[np.bool_]
Index = NDArray[np.intp]

ABOVE_FLOOR = 5.0
"""A current counts as read from this many times the off level and the noise of the floor on."""

ABOVE_GATE = 5.0
"""… and from this many times the gate current on."""


@dataclass(frozen=True, kw_only=True)
class Levels:
    """On and off currents of each curve, arrays (n_curves,) [A].

    Attributes
    ----------
    on, on_std : array
        Largest current and its noise.
    off, off_std : array
        Smallest running mean of the size of the current (the floor where that hides it), and its noise.
    place : array of int
        Where the stretch of the off level begins.
    stretch : array of int
        Points in it.
    usable : array
        Current from which on the curve stands clear of its floor.
    clear_of : array (n_curves, n_points)
        … and of the gate current at the same gate voltage.
    floor_limited : array of bool
        The off current is not told from the noise of the instrument.
    """

    on: Array
    on_std: Array
    off: Array
    off_std: Array
    place: Index
    stretch: Index
    usable: Array
    clear_of: Array
    floor_limited: Flags


def clear_to_the_end(flags: Flags) -> Index:
    """Place from which on all flags (n_curves, n_points) of a row hold; their number where not even the last does."""
    count = flags.shape[1]
    turned = flags[:, ::-1]
    first = np.argmin(turned, axis=1)
    place: Index = count - np.where(turned[np.arange(len(flags)), first], count, first)
    return place


def tops(count: int) -> tuple[int, ...]:
    """Half widths of the parabolas by which a largest value is read."""
    if count < FEWEST_FOR_NOISE:
        return ()
    return tuple(sorted({max(count // part, 1) for part in (40, 20, 10, 6)}))


def read_levels(
    grid: Array,
    curves: Array,
    leak: Array,
    noise: tuple[Noise, numerics.CurveNoise],
    instrument: Array,
) -> Levels:
    """On and off level of each curve; the off level is the smallest mean of |I| over a twentieth of the
    sweep.

    Parameters
    ----------
    grid : array (n_points,) [V]
    curves, leak : array (n_curves, n_points) [A]
        ``leak``: size of the gate current, zero where not measured.
    noise : Noise and CurveNoise
        Of the curves, and of each of their points.
    instrument : array (n_curves,) [A]
        Floor of the instrument where other sweeps of the file show it, else 0.
    """
    count = curves.shape[1]
    width = 1 if count < 12 else max(3, count // 20)
    widths = (width,) if count < FEWEST_FOR_NOISE else tuple(width * each for each in (1, 2, 3, 4, 5, 6))
    halves = tops(count)
    found = numerics.levels_of_curves(grid, curves, noise[1], halves, widths)
    off, mean = np.maximum(found[:, 2], np.finfo(float).tiny), found[:, 4]
    floor = or_else(noise[0].floor)
    limited = ((floor > 0) & (mean < 3.0 * floor)) | (mean < 0) | (off <= 2.0 * instrument)
    off = np.where(limited, np.maximum(np.maximum(off, floor), instrument), off)
    if (nothing := off <= np.finfo(float).tiny).any():
        # The table writes zero there: what it resolves is at best its smallest current that is not.
        least = np.min(np.where(curves == 0, np.inf, np.abs(curves)), axis=1)
        nothing &= np.isfinite(least)
        off, limited = np.where(nothing, least, off), limited | nothing
    usable = ABOVE_FLOOR * np.maximum(off, floor)
    return Levels(
        on=np.maximum(found[:, 0], np.finfo(float).tiny),
        on_std=found[:, 1],
        off=off,
        off_std=found[:, 3],
        place=found[:, 5].astype(np.intp),
        stretch=found[:, 6].astype(np.intp),
        usable=usable,
        clear_of=np.maximum(usable[:, None], ABOVE_GATE * leak),
        floor_limited=limited,
    )


def point_noise(noise: Noise, currents: Array) -> Array:
    """Standard deviation of one point of each curve at its current (n_curves,), widened as Student's t is beside the normal one."""
    floor, share = or_else(noise.floor) ** 2, (or_else(noise.share) * currents) ** 2
    total = np.maximum(floor + share, np.finfo(float).tiny)
    freedom = or_else(noise.freedom, 2.5)
    inverse = np.minimum(((floor / total) ** 2 / freedom[:, 0] + (share / total) ** 2 / freedom[:, 1]), 0.4)
    result: Array = np.sqrt(noise.variance(currents)) * (
        1.0 + inverse * (1.21 + inverse * (1.44 + 0.9 * inverse))
    )
    return result


def crossings(
    grid: Array, curves: Array, points: numerics.CurveNoise, starts: Index, targets: Array
) -> tuple[Array, Array]:
    """Gate voltages at which each curve rises through its levels, and their errors.

    Parameters
    ----------
    grid : array (n_points,) [V]
    curves : array (n_curves, n_points) [A]
    points : CurveNoise
    starts : array (n_curves,) of int
        Place from which on the curve is searched.
    targets : array (n_curves, n_levels) [A]

    Returns
    -------
    array (n_curves, n_levels) [V], array (n_curves, n_levels) [V]
        NaN where the curve does not cross.
    """
    halves = half_widths(curves.shape[1])
    found = numerics.level_crossings(grid, curves, points, halves, starts, targets)
    return found[:, :, 0], found[:, :, 1]


@dataclass(frozen=True, kw_only=True)
class Swings:
    """The steepest decade of each curve, arrays (n_curves,).

    Attributes
    ----------
    swing, std : array [V per decade]
        NaN where no three points stand clear of the floor.
    volts, decades : array
        Middle of the steepest stretch [V] and log₁₀ of the current there.
    decades_std, common : array
        Error of that logarithm, and its covariance with the slope 1/swing.
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
    decades_std: Array
    common: Array
    low: Array
    high: Array
    span: Array
    points: Array


def read_swings(grid: Array, curves: Array, clear_of: Array, points: numerics.CurveNoise) -> Swings:
    """Inverse of the largest slope of log₁₀ I over a window of about one decade that stands clear of the
    floor.

    The window is the narrowest that holds a decade somewhere; without one the narrowest of three points is
    taken.

    Parameters
    ----------
    grid : array (n_points,) [V]
    curves : array (n_curves, n_points) [A]
    clear_of : array (n_curves, n_points) [A]
    points : CurveNoise
    """
    halves = half_widths(curves.shape[1])
    found = numerics.steepest_logarithms(grid, curves, points, halves, clear_of)
    at, half = or_else(found[:, 2]).astype(np.intp), or_else(found[:, 3]).astype(np.intp)
    slope = np.where(found[:, 0] > 0, found[:, 0], np.nan)
    none = ~np.isfinite(slope)
    return Swings(
        swing=1.0 / slope,
        std=found[:, 1] / slope**2,
        volts=np.where(none, np.nan, grid[at]),
        decades=found[:, 4],
        decades_std=found[:, 5],
        common=found[:, 6],
        low=np.where(none, np.nan, grid[np.maximum(at - half, 0)]),
        high=np.where(none, np.nan, grid[np.minimum(at + half, len(grid) - 1)]),
        span=found[:, 7],
        points=np.where(none, 0, 2 * half + 1),
    )
