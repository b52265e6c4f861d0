"""The gate current of each curve: its size, what of it stands clear of its noise, and whether it broke down."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from filmwright.measure.readings import Flags
from filmwright.measure.smoothing import FEWEST_FOR_NOISE, Array, Noise, or_else, read_noise

CLEAR = 5.0
"""A gate current counts as read from so many times its noise on."""

JUMP = 10.0
"""Factor by which the gate current rises from one point to the next where the insulator breaks down."""

STAYS = 0.3
"""Share of the current after the jump that must last to the end of the sweep: broken, not a spike."""

APART = 3.0
"""Times by which the jump exceeds the steps before and after it, in decades."""

AFTER = 3
"""Points that must lie after the jump, itself counted."""


@dataclass(frozen=True, kw_only=True)
class Leak:
    """The size of the gate current of each curve, and what of it stands clear of its noise.

    Attributes
    ----------
    signed, size : array (n_curves, n_points) [A]
        The current and its size; zero where not measured.
    missing : array (n_curves,) of bool
    noise : Noise
    floor : array (n_curves,) [A]
        From which on it counts as read.
    broken : array (n_curves,) of bool
        Whether it jumps and stays up.
    broken_at : array (n_curves,) [V]
        Gate voltage after the jump.
    """

    signed: Array
    size: Array
    missing: Flags
    noise: Noise
    floor: Array
    broken: Flags
    broken_at: Array


def read_leak(grid: Array, gate_currents: Array) -> Leak:
    """The gate currents of a batch as sizes, with the floor above which they are read, and breakdowns.

    Parameters
    ----------
    grid : array (n_points,) [V]
    gate_currents : array (n_curves, n_points) [A]
        Not a number where not measured.

    Returns
    -------
    Leak
    """
    missing: Flags = np.asarray(~np.isfinite(gate_currents).any(axis=1))
    signed = np.nan_to_num(gate_currents)
    noise = read_noise(grid, signed)
    size = np.abs(signed)
    floor = CLEAR * or_else(noise.floor) if len(grid) >= FEWEST_FOR_NOISE else np.zeros(len(size))
    jumps = _jumps(grid, size, floor)
    return Leak(
        signed=signed,
        size=size,
        missing=missing,
        noise=noise,
        floor=floor,
        broken=np.asarray(jumps.any(axis=1) & ~missing),
        broken_at=grid[1:][np.argmax(jumps, axis=1)],
    )


def _jumps(grid: Array, sizes: Array, floor: Array) -> Flags:
    """Between which points (n_curves, n_points − 1) the gate current jumps and stays up."""
    size = np.maximum(sizes, np.maximum(floor, np.finfo(float).tiny)[:, None])
    # A gate current that merely passes through zero jumps in size as well: it must exceed all that came before.
    before = np.maximum.accumulate(size, axis=1)[:, :-1]
    step = size[:, 1:] / before
    if not (step >= JUMP).any():
        return np.zeros(step.shape, dtype=bool)
    later = np.minimum.accumulate(size[:, ::-1], axis=1)[:, ::-1][:, 1:]
    rise = np.log10(step)
    # One that climbs by decades from point to point climbs before and after too.
    sides = np.pad(np.maximum(rise, 0.0), ((0, 0), (1, 1)))
    beside = np.maximum(sides[:, :-2], sides[:, 2:])
    jumps = (rise > np.log10(JUMP)) & (rise > APART * beside) & (later > STAYS * size[:, 1:])
    # An ohmic current grows with the voltage, from nothing at zero.
    grown = np.abs(grid[1:]) / np.maximum(np.abs(grid[:-1]), np.finfo(float).tiny)
    jumps &= rise > np.log10(JUMP) + np.log10(np.maximum(grown, 1.0))
    jumps[:, max(jumps.shape[1] - AFTER + 1, 0) :] = False
    found: Flags = jumps & (len(grid) >= FEWEST_FOR_NOISE)
    return found
