"""Points at which the instrument held the current: they are no points of the device."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from filmwright.measure.curves import Array, Sweep

ALIKE = 5e-4
"""Points within this share of the largest current are held …"""

AT_LIMIT = 3
"""… where so many of them stand together at the end of the sweep …"""

STEEP = 0.3
"""… and the current rose into them by more than this share of its steepest rise."""

RISEN = 0.5
"""A curve that never lay below this share of its largest current was not stopped while it rose."""


def without_held(sweep: Sweep) -> Sweep:
    """The sweep without the points at its end at which the instrument held the current, and the current it held.

    Parameters
    ----------
    sweep : Sweep

    Returns
    -------
    Sweep
        The same where nothing was held, or where it is known already; else with ``held_at`` and ``left_out``.
    """
    if sweep.held_at is not None:
        return sweep
    current = sweep.drain_current
    for ends, turned in ((current[-AT_LIMIT:], 1), (current[:AT_LIMIT], -1)):
        if len(current) > 2 * AT_LIMIT and _alike(ends.tolist()):
            volts, size = turned * sweep.gate_voltage[::turned], np.abs(current[::turned])
            count = _held(volts, size)
            if count:
                kept = slice(0, len(size) - count) if turned > 0 else slice(count, None)
                return _cut(sweep, kept, float(size.max()))
    return sweep


def _alike(points: Sequence[float]) -> bool:
    least, most = min(points), max(points)
    return most - least <= ALIKE * max(abs(least), abs(most)) and least * most > 0


def _held(volts: Array, size: Array) -> int:
    """How many points at the end of a curve are held: alike, the largest, and reached while the current rose steeply."""
    most = float(size.max())
    below = np.flatnonzero(size < most * (1.0 - ALIKE))
    before = int(below[-1]) + 1 if below.size else 0
    span = max(AT_LIMIT, len(size) // 20)
    if len(size) - before < AT_LIMIT or before <= span or size[:before].min() > RISEN * most:
        return 0
    rises = (size[span:before] - size[: before - span]) / (volts[span:before] - volts[: before - span])
    return len(size) - before if rises[-1] > STEEP * rises.max() else 0


def _cut(sweep: Sweep, kept: slice, held_at: float) -> Sweep:
    gone = np.setdiff1d(sweep.gate_voltage, sweep.gate_voltage[kept])
    before = np.array([]) if sweep.left_out is None else sweep.left_out
    return replace(
        sweep,
        gate_voltage=sweep.gate_voltage[kept],
        drain_current=sweep.drain_current[kept],
        gate_current=None if sweep.gate_current is None else sweep.gate_current[kept],
        left_out=np.union1d(before, gone),
        held_at=held_at,
    )
