"""Which curves are dead, leaky, never off …: each class is a condition on what was read off the curve."""

from __future__ import annotations

import numpy as np

from filmwright.measure.context import NO_CONTROL, Context
from filmwright.measure.readings import Flags
from filmwright.measure.smoothing import FEWEST_FOR_NOISE, third_differences

LEAK_SHOWN = 0.01
"""Share of the gate current in the drain current from which the leakage is worth a warning."""

NEVER_OFF = 100.0
"""On over off below which a device is called never off, if the off current stands clear of the floor."""

EVIDENCE = {
    "dead": "the drain current ({on:.2g} A at most) never stands clear of the floor ({floor:.2g} A)",
    "no gate control (shorted or open gate)": "largest over smallest current is {ratio:.3g}",
    "never off": "the smallest current is {off:.2g} A, the largest only {ratio:.3g} times as much",
    "never on": "the tangent meets zero at {threshold:.3g} V, at the end of the sweep ({end:.3g} V)",
    "leaky gate": "{leak:.2g} A flow through the gate at {on:.2g} A through the drain",
    "floor-limited": "the off current is hidden by the floor ({floor:.2g} A): swing and on/off are bounds",
    "clipped at compliance": "the current stops at {on:.3g} A while it still rises steeply",
    "depletion mode": "{zero:.2g} A of {on:.2g} A flow at VG 0 V",
    "ambipolar": "the current rises again on the off side, from {off:.2g} A",
}
"""What is quoted for each class; filled with the numbers of the curve."""


def read_classes(context: Context) -> dict[str, Flags]:
    """Classes of curves by what is wrong with them; a sound device has none."""
    grid, curves, levels, numbers = context.grid, context.curves, context.levels, context.numbers
    swept = grid[-1] - grid[0]
    scatter = np.full(len(curves), 0.0)
    if len(grid) >= FEWEST_FOR_NOISE:
        scatter = np.sqrt(np.mean(third_differences(grid, curves) ** 2, axis=1))
    silent = np.abs(np.mean(curves, axis=1)) < 2.0 * scatter
    dead = ((numbers["ratio"] < NO_CONTROL) & silent) | (levels.on <= np.finfo(float).tiny)
    flat = ~dead & (numbers["ratio"] < NO_CONTROL)
    limit = levels.on * (1 - 5e-4)
    run = np.cumprod((curves >= limit[:, None])[:, ::-1], axis=1).sum(axis=1)
    before = np.maximum(curves.shape[1] - run - 1, 1)
    rows = np.arange(len(curves))
    rising = (curves[rows, before] - curves[rows, before - 1]) / (grid[before] - grid[before - 1])
    start = np.abs(curves[:, 0])
    alive = ~dead & ~flat
    return {
        "dead": dead,
        "no gate control (shorted or open gate)": flat,
        "never off": alive & (numbers["ratio"] < NEVER_OFF) & ~levels.floor_limited,
        "never on": alive & (numbers["threshold"] > grid[-1] - 0.05 * swept),
        "leaky gate": (numbers["share"] >= 100 * LEAK_SHOWN) & (~dead | (numbers["leak"] > 100 * levels.on)),
        "floor-limited": alive & levels.floor_limited,
        "clipped at compliance": alive & (run >= 3) & (rising > 0.3 * context.linear.slope),
        "depletion mode": alive & (grid[0] < 0) & (numbers["zero"] > 0.1 * levels.on),
        "ambipolar": alive & (start > 0.02 * levels.on) & (start > 10 * levels.off) & (start > levels.usable),
    }
