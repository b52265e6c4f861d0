"""What flows through the gate: how much, its share in the drain current, how it rises, and whether it broke down."""

from __future__ import annotations

import numpy as np

from filmwright import numerics
from filmwright.measure.context import Column, Context, interpolated
from filmwright.measure.leak import JUMP, Leak
from filmwright.measure.readings import Flags, point_noise, tops
from filmwright.measure.smoothing import Array, Noise, or_else

NOISY = 3.0
"""Noise floors of the gate current below which its largest size tells the noise alone."""

OFF = 1.2
"""Times the off level up to which, noise aside, a point counts as off."""

EDGES = 0.01
"""Share of the variance of the gate current among those points that its mean has because noise decides which they are."""

TINY = float(np.finfo(float).tiny)


def gate_leakage(context: Context) -> dict[str, Column]:
    """What flows through the gate, its share in the drain current at stated places, its slope and a breakdown."""
    leak = context.leak
    return {
        "gate_leakage": _largest(context, leak),
        **_shares(context, leak),
        "gate_leakage_slope": _slope(context, leak),
        "gate_breakdown_voltage": _breakdown(context, leak),
    }


def _largest(context: Context, leak: Leak) -> Column:
    grid = context.grid
    filled = leak.signed
    count, rows = len(grid), np.arange(len(filled))
    place = np.argmax(leak.size, axis=1)
    turned = filled * np.where(filled[rows, place] < 0, -1.0, 1.0)[:, None]
    noise = leak.noise
    found = numerics.levels_of_curves(grid, turned, noise.of_points(turned), tops(count), (count,))
    noisy: Flags = np.asarray(found[:, 0] < NOISY * or_else(noise.floor))
    return Column(
        value=np.where(leak.missing, np.nan, np.where(noisy, leak.size[rows, place], found[:, 0])),
        std=np.where(leak.missing, np.nan, found[:, 1]),
        low=grid[place],
        high=grid[place],
        unit="A",
        method="largest size of the gate current in the sweep, by parabolas over a window chosen from the noise",
        refusals={"no gate current": leak.missing, "gate noise": noisy},
        bound="at most",
    )


def _shares(context: Context, leak: Leak) -> dict[str, Column]:
    """|I_G|/|I_D| at the on end, at the threshold, at V_G = V_D and where the curve is off."""
    grid, levels = context.grid, context.levels
    threshold, doubt = context.numbers["threshold"], _threshold_std(context)
    fixed = np.zeros(len(threshold))
    places: dict[str, tuple[Array, Array, str]] = {
        "on": (np.full(len(threshold), grid[-1]), fixed, "at the on end of the sweep"),
        "threshold": (threshold, doubt, "at the threshold"),
        "drain_bias": (context.known.drain_voltage, fixed, "at V_G = V_D, where only the source side leaks"),
    }
    columns, drains = {}, np.abs(context.curves)
    for name, (volts, volts_std, words) in places.items():
        gate = _read_at(grid, leak.size, leak.noise, volts)
        drain = _read_at(grid, drains, context.noise, volts)
        wander = np.zeros(len(volts))
        if volts_std.any():
            moved = [
                interpolated(grid, leak.size, volts + way)
                / np.maximum(interpolated(grid, drains, volts + way), TINY)
                for way in (-volts_std, volts_std)
            ]
            wander = np.abs(moved[1] - moved[0]) / 2.0
        columns[f"gate_share_{name}"] = _share(context, gate, drain, (volts, volts, wander), words)
    low, high, mean, mean_std = _where_off(context, leak)
    columns["gate_share_off"] = _share(
        context,
        (mean, mean_std),
        (levels.off, levels.off_std),
        (low, high, np.zeros(len(mean))),
        "over all points at the off level; near 1 the off current is that of the gate",
        {"floor-limited": levels.floor_limited},
    )
    return columns


def _threshold_std(context: Context) -> Array:
    root: Flags = context.numbers["threshold"] == context.root.intercept
    result: Array = or_else(np.where(root, context.root.intercept_std, context.linear.intercept_std))
    return result


def _read_at(grid: Array, sizes: Array, noise: Noise, volts: Array) -> tuple[Array, Array]:
    """Each curve between two points at its own gate voltage, and its noise there."""
    held = np.clip(or_else(volts, grid[0]), grid[0], grid[-1])
    place = np.clip(np.searchsorted(grid, held) - 1, 0, len(grid) - 2)
    part = (held - grid[place]) / (grid[place + 1] - grid[place])
    value = interpolated(grid, sizes, volts)
    return value, or_else(point_noise(noise, value)) * np.hypot(part, 1.0 - part)


def _where_off(context: Context, leak: Leak) -> tuple[Array, Array, Array, Array]:
    """Between which gate voltages the curve is off, the mean gate current there and its error."""
    grid, levels, count = context.grid, context.levels, len(context.grid)
    noise = np.sqrt(or_else(context.points.variance))
    place = np.arange(count)[None, :]
    held = (place >= levels.place[:, None]) & (place < (levels.place + levels.stretch)[:, None])
    off = held | (np.abs(context.curves) < OFF * levels.off[:, None] + 2.0 * noise)
    number = off.sum(axis=1)
    mean = np.sum(leak.size * off, axis=1) / number
    spread = np.sum(((leak.size - mean[:, None]) * off) ** 2, axis=1) / number
    variance = or_else(leak.noise.variance(mean))
    wander = EDGES * np.maximum(spread - variance, 0.0)
    first, last = np.argmax(off, axis=1), count - 1 - np.argmax(off[:, ::-1], axis=1)
    return grid[first], grid[last], mean, np.sqrt(variance / number + wander)


def _share(
    context: Context,
    gate: tuple[Array, Array],
    drain: tuple[Array, Array],
    place: tuple[Array, Array, Array],
    words: str,
    more: dict[str, Flags] | None = None,
) -> Column:
    leak, grid = context.leak, context.grid
    low, high, wander = place
    outside: Flags = ~((low >= grid[0]) & (high <= grid[-1]))
    small: Flags = gate[0] < leak.floor
    held, under = np.maximum(gate[0], leak.floor), np.maximum(drain[0], TINY)
    value = held / under
    std = np.sqrt((value * np.hypot(gate[1] / np.maximum(held, TINY), drain[1] / under)) ** 2 + wander**2)
    return Column(
        value=np.where(leak.missing | outside, np.nan, value),
        std=np.where(small, np.nan, std),
        low=low,
        high=high,
        unit="",
        method=f"size of the gate current over that of the drain current {words}",
        refusals={
            "dead": context.classes["dead"],
            "no gate current": leak.missing,
            "place outside": outside,
            "gate noise": small,
            **(more or {}),
        },
        bound="at most",
    )


def _slope(context: Context, leak: Leak) -> Column:
    """Volts per decade of the gate current over the upper half of the sweep, by a straight line."""
    half = len(context.grid) // 2
    grid, size = context.grid[half:], leak.size[:, half:]
    read: Flags = np.all(size > leak.floor[:, None], axis=1) & np.all(size > 0, axis=1) & (len(grid) >= 3)
    logs = np.log10(np.where(size > 0, size, 1.0))
    offset = grid - grid.mean()
    spread = float(np.sum(offset**2))
    slope = logs @ offset / spread
    left = logs - logs.mean(axis=1, keepdims=True) - slope[:, None] * offset
    error = np.sqrt(np.sum(left**2, axis=1) / max(len(grid) - 2, 1) / spread)
    flat: Flags = np.asarray(np.abs(slope) < 3.0 * error)
    return Column(
        value=np.where(read & (slope != 0), 1.0 / slope, np.nan),
        std=np.where(read & (slope != 0), error / slope**2, np.nan),
        low=np.full(len(slope), grid[0]),
        high=np.full(len(slope), grid[-1]),
        unit="V/decade",
        method="volts of gate voltage per decade of the gate current, straight line over the upper half of the sweep",
        refusals={"no gate current": leak.missing, "gate noise": ~read, "gate flat": flat},
    )


def _breakdown(context: Context, leak: Leak) -> Column:
    seen, volts = leak.broken, leak.broken_at
    step = float(np.max(np.diff(context.grid)))
    return Column(
        value=np.where(seen, volts, np.nan),
        std=np.where(seen, step / np.sqrt(12.0), np.nan),
        low=volts - step,
        high=volts,
        unit="V",
        method=f"gate voltage at which the gate current jumps by more than {JUMP:g} from one point to the next and stays",
        refusals={"no gate current": leak.missing, "no jump": ~seen},
        volts=True,
    )
