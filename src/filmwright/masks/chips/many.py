"""A die of many equal transistors, to see how the work grows with their number. An invented scenario."""

from __future__ import annotations

import math
from typing import Any

from filmwright.masks.chips import devices
from filmwright.masks.chips.devices import PAD, Levels
from filmwright.masks.chips.sketch import Sketch, finished

LEVELS = Levels(gate=(1, 0), channel=(2, 0), opening=(3, 0), contact=(4, 0))
WINDOW = (5, 0)
"""Windows over the pads in a protecting film."""

PITCH_X, PITCH_Y = 500.0, 420.0


def many_transistors(count: int, width: float = 50.0, length: float = 10.0) -> Any:
    """The layout library of a die with ``count`` transistors of one cell, each with its own terminal labels.

    Five levels: gate, channel, opening, contact and the window over the pads.

    Parameters
    ----------
    count : int
    width, length : float [µm]
    """
    cell = devices.transistor(LEVELS, width, length)
    pads = {"S": (-170.0, 0.0), "D": (170.0, 0.0), "G": (0.0, -215.0)}
    for x, y in pads.values():
        cell.square(WINDOW, x, y, PAD - 10)
    columns = math.ceil(math.sqrt(count))
    rows = math.ceil(count / columns)
    top = Sketch(f"many_{count}")
    top.frame(columns * PITCH_X + 100, rows * PITCH_Y + 100)
    for number in range(count):
        row, column = divmod(number, columns)
        x, y = 50 + (column + 0.5) * PITCH_X, 50 + (row + 0.5) * PITCH_Y + 80
        top.place(cell, x, y)
        for end, (dx, dy) in pads.items():
            top.label(f"N{number + 1:04d}:{end}", x + dx, y + dy)
    return finished(f"many-{count}", top)
