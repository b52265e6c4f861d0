"""What is read below threshold: swing, off level, onset."""

from __future__ import annotations

import numpy as np

from filmwright import device
from filmwright.measure.context import NO_CONTROL, Column, Context
from filmwright.measure.readings import Flags, Levels, Swings
from filmwright.measure.smoothing import FEWEST_FOR_NOISE, Array


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
    low_swing: Flags = np.asarray(swings.swing + 3 * np.nan_to_num(swings.std) < limit)
    off_log = np.log10(levels.off)
    onset = swings.volts - (swings.decades - off_log) * swings.swing
    onset_std = _onset_std(levels, swings, off_log)
    ratio_std = numbers["ratio"] * np.hypot(levels.on_std / levels.on, levels.off_std / levels.off)
    dead = {"dead": classes["dead"]}
    never_off: Flags = np.asarray(numbers["ratio"] < NO_CONTROL)
    everywhere = np.full(len(levels.on), grid[0]), np.full(len(levels.on), grid[-1])
    return {
        "subthreshold_swing": Column(
            value=swings.swing,
            std=swings.std,
            low=swings.low,
            high=swings.high,
            unit="V/decade",
            method="steepest decade that stands clear of the floor (line through log I_D)",
            refusals={
                **dead,
                "never off": never_off,
                "no decade": no_decade,
                "coarse": coarse,
                "few decades": few,
                "below limit": low_swing,
            },
            bound="at most",
        ),
        "on_off_ratio": Column(
            value=numbers["ratio"],
            std=ratio_std,
            low=everywhere[0],
            high=everywhere[1],
            unit="",
            method="largest current over the smallest running mean of its size (a twentieth of the sweep)",
            refusals={**dead, "floor-limited": levels.floor_limited},
            bound="at least",
        ),
        "onset_voltage": Column(
            value=onset,
            std=onset_std,
            low=swings.low,
            high=swings.high,
            unit="V",
            method="where the line through the steepest decade meets the off level; it shifts with the floor",
            refusals={**dead, "never off": never_off, "no decade": no_decade, "coarse": coarse},
            volts=True,
        ),
    }


def _onset_std(levels: Levels, swings: Swings, off_log: Array) -> Array:
    """Error of V − (log I − log I_off)·S with what slope and logarithm have in common."""
    height, slope = swings.decades - off_log, 1.0 / swings.swing
    own = (height / slope**2) ** 2 * (swings.std * slope**2) ** 2 + (swings.decades_std / slope) ** 2
    both = -2.0 * height / slope**3 * swings.common
    off = swings.swing * levels.off_std / levels.off / np.log(10.0)
    result: Array = np.sqrt(np.maximum(own + both, 0.0) + off**2)
    return result
