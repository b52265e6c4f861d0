"""What flows through the gate: how much, its share in the drain current, how it rises, and whether it broke down."""

from __future__ import annotations

import numpy as np

from filmwright import numerics
from filmwright.measure.context import Column, Context, interpolated
from filmwright.measure.leak import CLEAR, JUMP, Leak
from filmwright.measure.readings import Flags, tops

NOISY = 3.0
"""Noise floors of the gate current below which its largest size tells the noise alone."""


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
    noisy: Flags = np.asarray(found[:, 0] < NOISY * np.nan_to_num(noise.floor))
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
    """|I_G|/|I_D| where the drain current is largest, at the threshold, at V_G = V_D and where the curve is off."""
    grid = context.grid
    on = grid[np.argmax(context.curves, axis=1)]
    off = grid[np.argmin(np.abs(context.curves), axis=1)]
    places = {
        "on": (on, "where the drain current is largest"),
        "threshold": (context.numbers["threshold"], "at the threshold"),
        "drain_bias": (context.known.drain_voltage, "at V_G = V_D, where only the source side leaks"),
        "off": (off, "where the drain current is smallest; near 1 the off current is that of the gate"),
    }
    columns = {}
    for name, (volts, words) in places.items():
        outside: Flags = ~((volts >= grid[0]) & (volts <= grid[-1]))
        gate = interpolated(grid, leak.size, volts)
        drain = np.abs(interpolated(grid, context.curves, volts))
        small: Flags = gate < leak.floor
        held = np.maximum(gate, leak.floor)
        columns[f"gate_share_{name}"] = Column(
            value=np.where(leak.missing | outside, np.nan, held / np.maximum(drain, np.finfo(float).tiny)),
            std=np.where(small, np.nan, leak.floor / CLEAR / np.maximum(drain, np.finfo(float).tiny)),
            low=volts,
            high=volts,
            unit="",
            method=f"size of the gate current over that of the drain current {words}",
            refusals={
                "dead": context.classes["dead"],
                "no gate current": leak.missing,
                "place outside": outside,
                "gate noise": small,
            },
            bound="at most",
        )
    return columns


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
