"""What a hot plate is set to for a temperature at the wafer, from offsets that were measured at some set temperatures."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from filmwright.process.ranges import positive

FAR = 5.0
"""Beyond the table by more than this [K] an offset is no longer the one that was measured."""


def plate_offset(
    wafer: float, plates: Sequence[float], offsets: Sequence[float], stds: Sequence[float]
) -> tuple[float, float, tuple[str, ...]]:
    """The offset of a plate, wafer less plate, where the wafer has a temperature: T_p + Δ(T_p) = T, Δ linear between its readings.

    Parameters
    ----------
    wafer : float [K]
        Wanted at the wafer.
    plates : sequence of float [K]
        What the plate was set to, rising.
    offsets, stds : sequence of float [K]
        Wafer less plate there, and their standard deviations.

    Returns
    -------
    offset, std : float [K]
        The spread of a mean of two independent readings with the weights of the interpolation.
    notes : tuple of str
        One where the plate would be more than 5 K beyond the readings: there the nearest offset is kept.

    Raises
    ------
    ValueError
        When a temperature or a length is not above zero, the lists differ in length, the set temperatures do not rise, or the wafer gets
        colder while the plate gets hotter.

    Notes
    -----
    Valid between the readings, wafer flat on the plate.
    Source: linear interpolation; the offset of a plate grows about in proportion to its temperature above the room (common practice).
    """
    positive(wafer=wafer)
    if not plates or not len(plates) == len(offsets) == len(stds):
        raise ValueError("plates, offsets and their deviations must be as many, and at least one")
    reached = [plate + offset for plate, offset in zip(plates, offsets, strict=True)]
    if any(b <= a for a, b in pairwise(plates)) or any(b <= a for a, b in pairwise(reached)):
        raise ValueError("temperatures of the plate, and of the wafer on it, must rise")
    for k in range(len(plates) - 1):
        if reached[k] <= wafer <= reached[k + 1]:
            share = (wafer - reached[k]) / (reached[k + 1] - reached[k])
            offset = (1 - share) * offsets[k] + share * offsets[k + 1]
            return offset, math.hypot((1 - share) * stds[k], share * stds[k + 1]), ()
    end = 0 if wafer < reached[0] else len(plates) - 1
    beyond = abs(wafer - reached[end])
    note = (
        f"the plate would be {beyond:.0f} K beyond the readings of its offset; the nearest one is kept: read it there",
    )
    return offsets[end], stds[end], note if beyond > FAR else ()
