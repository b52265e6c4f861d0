"""What is read below threshold: swing, off level, onset."""

from __future__ import annotations

import numpy as np

from filmwright import device, numerics
from filmwright.measure.context import NO_CONTROL, Column, Context, interpolated
from filmwright.measure.readings import Flags, Index, Levels, Swings
from filmwright.measure.smoothing import FEWEST_FOR_NOISE, Array, or_else
from filmwright.units import ELEMENTARY_CHARGE

DECADES = 2.0
"""Decades of current over which the mean swing is read, from the floor up."""


TINY = float(np.finfo(float).tiny)

BENT = 0.03
"""Share by which the stretch above the steepest one must be less steep before the curve counts as bent there."""

ENDS = 0.08
"""Variance, in points, of where that range ends."""


def below_threshold(context: Context) -> dict[str, Column]:
    """Swing, on over off, and onset."""
    grid, levels, swings, known = context.grid, context.levels, context.swings, context.known
    classes, numbers = context.classes, context.numbers
    limit = np.array([device.subthreshold_limit(each) for each in np.unique(known.temperature)])
    limit = limit[np.unique(known.temperature, return_inverse=True)[1]]
    no_decade = ~np.isfinite(swings.swing)
    few: Flags = np.asarray(numbers["room"] < 2.0)
    three = swings.points <= 3
    coarse: Flags = np.asarray(three) & ((swings.span > 2.0) | (len(grid) < FEWEST_FOR_NOISE))
    steeper = _steeper_below(context)
    low_swing: Flags = np.asarray(swings.swing + 3 * or_else(swings.std) < limit)
    off_log = np.log10(levels.off)
    onset = swings.volts - (swings.decades - off_log) * swings.swing
    onset_std = _onset_std(levels, swings, off_log)
    ratio_std = numbers["ratio"] * np.hypot(levels.on_std / levels.on, levels.off_std / levels.off)
    dead = {"dead": classes["dead"]}
    never_off: Flags = np.asarray(numbers["ratio"] < NO_CONTROL)
    everywhere = np.full(len(levels.on), grid[0]), np.full(len(levels.on), grid[-1])
    refusals: dict[str, Flags] = {
        **dead,
        "never off": never_off,
        "no decade": no_decade,
        "coarse": coarse,
        "few decades": few,
        "steeper below": steeper,
        "below limit": low_swing,
    }
    return {
        "subthreshold_swing": Column(
            value=swings.swing,
            std=swings.std,
            low=swings.low,
            high=swings.high,
            unit="V/decade",
            method="steepest decade clear of the floor and of the gate current (line through log I_D)",
            refusals=refusals,
            bound="at most",
        ),
        "implied_trap_density": _traps(context, limit, refusals),
        "mean_subthreshold_swing": _mean_swing(context, {**dead, "never off": never_off}),
        "on_off_ratio": Column(
            value=numbers["ratio"],
            std=ratio_std,
            low=everywhere[0],
            high=everywhere[1],
            unit="",
            method="largest current over the smallest running mean of its size (a twentieth of the sweep)",
            refusals={
                **dead,
                "floor-limited": levels.floor_limited,
                "held": np.isfinite(context.known.held_at),
            },
            bound="at least",
        ),
        "onset_voltage": Column(
            value=onset,
            std=onset_std,
            low=swings.low,
            high=swings.high,
            unit="V",
            method="where the line through the steepest decade meets the off level; it shifts with the floor",
            refusals={
                **dead,
                "never off": never_off,
                "no decade": no_decade,
                "coarse": coarse,
                "floor-limited": levels.floor_limited,
            },
            volts=True,
        ),
    }


def _steeper_below(context: Context) -> Flags:
    """Whether the curve is steepest where it rises out of the instrument's floor: it may be steeper where that hides it."""
    grid, curves, swings, levels = context.grid, context.curves, context.swings, context.levels
    end = len(grid) - 1
    first = np.searchsorted(grid, or_else(swings.low, grid[0]))
    wide = np.maximum(swings.points - 1, 2)
    start = context.clear_from
    above = np.stack([first + wide, np.minimum(first + 2 * wide, end)], axis=1).astype(np.intp)
    above[:, 0] = np.minimum(above[:, 0], end - 2)
    higher = numerics.logarithm_lines(grid, curves, context.points, above)
    slope = 1.0 / swings.swing
    doubt = np.hypot(swings.std * slope**2, or_else(higher[:, 1]))
    bent = slope - higher[:, 0] > np.maximum(doubt, BENT * slope)
    found: Flags = levels.floor_limited & (first - start <= wide) & (bent | ~np.isfinite(higher[:, 0]))
    return found


def _traps(context: Context, limit: Array, refusals: dict[str, Flags]) -> Column:
    """Traps per area and energy that the smallest swing implies at most."""
    swings, areal = context.swings, context.known.areal_capacitance
    unknown: Flags = ~np.isfinite(areal)
    value = np.full(len(areal), np.nan)
    for temperature in np.unique(context.known.temperature):
        mine = (context.known.temperature == temperature) & ~unknown & (swings.swing >= limit)
        value[mine] = device.trap_density(swings.swing[mine], 1.0, float(temperature)) * areal[mine]
    return Column(
        value=value,
        std=swings.std / limit * areal / ELEMENTARY_CHARGE,
        low=swings.low,
        high=swings.high,
        unit="1/(cm^2*V)",
        method="[S/(kT/q·ln 10) − 1]·C/q with the smallest swing, per area and eV; an upper bound by its nature",
        refusals={"no capacitance": unknown, "ionic": context.known.ionic, **refusals},
        bound="at most",
    )


def _mean_swing(context: Context, refused: dict[str, Flags]) -> Column:
    """Swing over a stated range: from the first point that is clear of floor and gate current, two decades up."""
    grid, curves, levels = context.grid, context.curves, context.levels
    count = len(grid)
    place = np.arange(count)[None, :]
    first = np.minimum(context.clear_from, count - 1)
    base = np.maximum(curves[np.arange(len(curves)), first], levels.usable)
    top = np.minimum(base * 10.0**DECADES, interpolated(grid, curves, context.numbers["threshold"]))
    over = (curves > top[:, None]) & (place > first[:, None])
    last = np.where(over.any(axis=1), np.argmax(over, axis=1) - 1, first)
    windows = np.stack([first, last], axis=1).astype(np.intp)
    found = numerics.logarithm_lines(grid, curves, context.points, windows)
    # Noise decides at which points the range ends, which matters where the line is bent.
    wander = np.zeros(len(curves))
    step = (grid[-1] - grid[0]) / (count - 1)
    for shift, at in ((np.array([1, 0]), first), (np.array([0, -1]), last)):
        moved = numerics.logarithm_lines(grid, curves, context.points, windows + shift)
        points = _log_noise(context, at) / np.maximum(found[:, 0] * step, TINY)
        wander += (ENDS + or_else(points) ** 2) * or_else(moved[:, 0] - found[:, 0]) ** 2
    found[:, 1] = np.sqrt(found[:, 1] ** 2 + wander)
    return Column(
        value=1.0 / np.where(found[:, 0] > 0, found[:, 0], np.nan),
        std=found[:, 1] / found[:, 0] ** 2,
        low=grid[first],
        high=grid[np.maximum(last, 0)],
        unit="V/decade",
        method=f"line through log I_D over {DECADES:.0f} decades from where it is clear of floor and gate current, "
        "up to the threshold at most",
        refusals={**refused, "no range": ~(found[:, 2] >= 1.0)},
    )


def _log_noise(context: Context, at: Index) -> Array:
    """Noise of log₁₀ I at one point of each curve."""
    rows = np.arange(len(at))
    current = np.maximum(context.curves[rows, at], TINY)
    result: Array = np.sqrt(or_else(context.points.variance[rows, at])) / current / np.log(10.0)
    return np.minimum(result, 1.0)


def _onset_std(levels: Levels, swings: Swings, off_log: Array) -> Array:
    """Error of V − (log I − log I_off)·S with what slope and logarithm have in common."""
    height, slope = swings.decades - off_log, 1.0 / swings.swing
    own = (height / slope**2) ** 2 * (swings.std * slope**2) ** 2 + (swings.decades_std / slope) ** 2
    both = -2.0 * height / slope**3 * swings.common
    off = swings.swing * levels.off_std / levels.off / np.log(10.0)
    result: Array = np.sqrt(np.maximum(own + both, 0.0) + off**2)
    return result
