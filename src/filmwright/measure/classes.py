"""Which curves are dead, leaky, never off …: each class is a condition on what was read off the curve."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from filmwright import units
from filmwright.measure.context import LEAKY, NO_CONTROL, Context, interpolated
from filmwright.measure.leak import Leak
from filmwright.measure.readings import Flags
from filmwright.measure.smoothing import FEWEST_FOR_NOISE, Array, third_differences

LEAK_SHOWN = 0.01
"""Share of the gate current in the drain current from which the leakage is worth a warning."""

NEVER_OFF = 100.0
"""On over off below which a device is called never off, if the off current stands clear of the floor."""

NORMALLY_ON = 10.0
"""A device conducts at V_G = 0 from so many times its off current, and what stands clear of its floor, on."""

BESIDE_ZERO = 0.02
"""Share of the swept range by which the threshold must lie on the on side of zero in a normally-on device."""

MOSTLY = 0.5
"""Share of the gate current in the off current that is called most of it."""

LOST = 0.6
"""Share by which the current ends below its steepest tangent from which contacts may limit it."""

LEVEL = 2.0
"""A curve that spreads by less than so many times its noise is level."""

SHORT = 100.0
"""Resistance [MΩ] below which a current that no gate voltage changes is called a short: a judgement, not a standard."""

LINEAR = 4.0
"""The end of the sweep is in the linear region where its overdrive is so many drain voltages."""

HELD = 0.995
"""Share of its largest value from which a gate current may be held by the instrument …"""

AT_LIMIT = 3
"""… where so many points are alike."""

STRAIGHT = 0.98
"""Correlation of gate current and gate voltage from which the gate is taken for shorted by a resistance."""

EVIDENCE = {
    "dead": "the drain current ({on:.2g} A at most) never stands clear of the floor ({floor:.2g} A)",
    "open": "the drain current averages {mean:.1g} A, noise {scatter:.1g} A: not told from a probe or contact that is open",
    "shorted": "{ohms:.3g} Ω between drain and source whatever the gate voltage (largest over smallest current {ratio:.3g})",
    "gate shorted": (
        "the gate current follows the gate voltage in a straight line (correlation {straight:.3f}): {gate_ohms:.3g} Ω, "
        "{leak:.2g} A through the gate at {on:.2g} A through the drain"
    ),
    "no gate control": "largest over smallest current is {ratio:.3g}, with {leak:.2g} A through the gate",
    "never off": "the smallest current is {off:.2g} A, the largest only {ratio:.3g} times as much",
    "never on": "{on:.2g} A at most: no threshold before the end of the sweep ({end_shown:.3g} V)",
    "leaky gate": "{leak:.2g} A flow through the gate at {on:.2g} A through the drain ({share:.2g} %)",
    "gate broke down": "the gate current jumps at VG {jump_shown:.3g} V and stays up",
    "off current is that of the gate": "{off_gate:.2g} A flow through the gate where {off:.2g} A flow through the drain",
    "floor-limited": "the off current is hidden by the floor ({floor:.2g} A): swing and on/off are bounds",
    "clipped at compliance": "the instrument held the current at {held:.3g} A while it still rose; those points are left out",
    "depletion mode": "normally on: {zero:.2g} A of {on:.2g} A flow at VG 0 V, threshold {threshold_shown:.3g} V",
    "ambipolar": "the current rises again on the off side, from {off:.2g} A to {start:.2g} A",
    "contacts may limit": (
        "the current ends {lost:.0f} % below its steepest tangent: so much of the resistance does not fall with the gate"
        " voltage, contacts or a falling mobility"
    ),
}
"""What is quoted for each class; filled with the numbers of the curve."""

SIGNED = ("threshold", "end", "jump")
"""Gate voltages among the numbers: evidence quotes them as ``…_shown``, in the signs of the device."""


@dataclass(frozen=True, kw_only=True)
class Classes:
    """Classes of the curves of a batch and the numbers that their evidence quotes beside those of all curves."""

    found: Mapping[str, Flags]
    numbers: Mapping[str, Array]


def read_classes(context: Context) -> Classes:
    """Classes of curves by what is wrong with them; a sound device has none, or only the one of the floor."""
    levels, numbers = context.levels, context.numbers
    leak = context.leak
    evidence = _evidence(context, leak)
    silent = np.abs(evidence["mean"]) < 2.0 * evidence["scatter"]
    level = evidence["spread"] < LEVEL * evidence["scatter"]
    dead = ((level | (numbers["ratio"] < NO_CONTROL)) & silent) | (levels.on <= np.finfo(float).tiny)
    flat = ~dead & (numbers["ratio"] < NO_CONTROL)
    conducts = evidence["ohms"] < units.to_si(SHORT, "Mohm")
    alive = ~dead & ~flat
    rows, top = np.arange(len(dead)), np.argmax(context.curves, axis=1)
    leaks = leak.size[rows, top] > leak.floor
    straight = leaks & (evidence["straight"] > STRAIGHT) & (numbers["share"] >= 100 * LEAKY)
    count = context.curves.shape[1]
    none = np.abs(evidence["mean"]) < 3.0 * evidence["scatter"] / np.sqrt(count)
    quiet = leak.missing | (leak.size.max(axis=1) <= np.maximum(leak.floor, 3.0 * evidence["scatter"]))
    start, after = np.abs(context.curves[:, 0]), context.grid[-1] - context.linear.intercept
    linear = LINEAR * context.known.drain_voltage < after
    heavy = leaks & (numbers["share"] >= 100 * LEAKY)
    own = leak.missing | (leak.size[:, 0] < MOSTLY * start)
    found = {
        "dead": dead,
        "open": dead & none & quiet,
        "shorted": flat & ~heavy & conducts,
        "gate shorted": straight,
        "no gate control": flat & heavy,
        "never off": alive & (numbers["ratio"] < NEVER_OFF) & ~levels.floor_limited,
        "never on": (flat & ~heavy & ~conducts)
        | (alive & (numbers["threshold"] > context.grid[-1] - 0.05 * np.ptp(context.grid))),
        "leaky gate": leaks
        & (numbers["share"] >= 100 * LEAK_SHOWN)
        & (~dead | (numbers["leak"] > 100 * levels.on)),
        "gate broke down": leak.broken,
        "off current is that of the gate": _gate_sets_off(context, leak, alive),
        "floor-limited": alive & levels.floor_limited,
        "clipped at compliance": alive & np.isfinite(context.known.held_at),
        "depletion mode": alive & _normally_on(context),
        "ambipolar": alive
        & own
        & (start > 0.02 * levels.on)
        & (start > 10 * levels.off)
        & (start > levels.usable),
        "contacts may limit": alive & ~context.known.ionic & linear & (evidence["lost"] > 100 * LOST),
    }
    return Classes(found={name: np.asarray(flags) for name, flags in found.items()}, numbers=evidence)


def _evidence(context: Context, leak: Leak) -> dict[str, Array]:
    """The numbers that only classes quote."""
    grid, curves, linear = context.grid, context.curves, context.linear
    scatter = np.full(len(curves), 0.0)
    if len(grid) >= FEWEST_FOR_NOISE:
        scatter = np.sqrt(np.mean(third_differences(grid, curves) ** 2, axis=1))
    rows, off = np.arange(len(curves)), np.argmin(np.abs(curves), axis=1)
    tangent = linear.slope * (grid[-1] - linear.intercept)
    return {
        "mean": curves.mean(axis=1),
        "scatter": scatter,
        "spread": curves.std(axis=1),
        "ohms": context.known.drain_voltage / np.abs(curves.mean(axis=1)),
        **_straightness(context),
        "off_gate": leak.size[rows, off],
        "start": np.abs(curves[:, 0]),
        "lost": 100.0 * (1.0 - curves[:, -1] / tangent),
        "jump": leak.broken_at,
    }


def _straightness(context: Context) -> dict[str, Array]:
    """Correlation of gate current and gate voltage, and the resistance, left of where the instrument holds the current."""
    current, size = context.leak.signed, context.leak.size
    held = size > HELD * size.max(axis=1, keepdims=True)
    used = np.where(held & (held.sum(axis=1, keepdims=True) >= AT_LIMIT), 0.0, 1.0)
    number = np.maximum(used.sum(axis=1, keepdims=True), 1.0)
    volts = used * (context.grid - (used * context.grid).sum(axis=1, keepdims=True) / number)
    around = used * (current - (used * current).sum(axis=1, keepdims=True) / number)
    along = np.maximum(np.abs(np.sum(volts * around, axis=1)), np.finfo(float).tiny)
    squares = np.sum(volts**2, axis=1)
    both = np.sqrt(np.sum(around**2, axis=1) * squares)
    return {"straight": along / np.maximum(both, np.finfo(float).tiny), "gate_ohms": squares / along}


def _normally_on(context: Context) -> Flags:
    """Whether the device conducts at zero gate voltage, with its threshold on the on side of it."""
    levels, numbers, grid = context.levels, context.numbers, context.grid
    if not grid[0] < 0.0 < grid[-1]:
        return np.zeros(len(levels.on), dtype=bool)
    conducts = numbers["zero"] > np.maximum(NORMALLY_ON * levels.off, levels.usable)
    beside = numbers["threshold"] < -BESIDE_ZERO * float(np.ptp(grid))
    found: Flags = np.asarray(conducts & beside)
    return found


def _gate_sets_off(context: Context, leak: Leak, alive: Flags) -> Flags:
    """Whether the gate current makes up most of the off current, both clear of their noise."""
    off = context.levels.off
    place = context.grid[np.argmin(np.abs(context.curves), axis=1)]
    gate = interpolated(context.grid, leak.size, place)
    read = ~leak.missing & (gate > leak.floor) & (gate > 0)
    found: Flags = np.asarray(alive & read & (gate > MOSTLY * off) & ~context.levels.floor_limited)
    return found
