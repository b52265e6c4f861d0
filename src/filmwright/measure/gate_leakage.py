"""What flows through the gate."""

from __future__ import annotations

import numpy as np

from filmwright.measure.context import Column, Context
from filmwright.measure.readings import Flags
from filmwright.measure.smoothing import read_noise


def gate_leakage(context: Context) -> dict[str, Column]:
    """What flows through the gate."""
    grid, gate_currents = context.grid, context.gate_currents
    missing: Flags = np.asarray(~np.isfinite(gate_currents).any(axis=1))
    size = np.abs(np.where(missing[:, None], 0.0, np.nan_to_num(gate_currents)))
    place = np.argmax(size, axis=1)
    noise = read_noise(grid, np.nan_to_num(gate_currents))
    largest = size[np.arange(len(size)), place]
    return {
        "gate_leakage": Column(
            value=np.where(missing, np.nan, largest),
            std=np.where(missing, np.nan, np.sqrt(noise.variance(largest))),
            low=grid[place],
            high=grid[place],
            unit="A",
            method="largest size of the gate current in the sweep",
            refusals={"no gate current": missing},
        )
    }
