"""Alignment marks, verniers and line-width structures. Lengths in micrometres."""

from __future__ import annotations

from collections.abc import Sequence

from filmwright.masks.chips.sketch import Sketch
from filmwright.masks.drawing import LayerNumber


def alignment_mark(below: LayerNumber, above: LayerNumber, name: str) -> Sketch:
    """A cross of the lower level between four squares of the upper level, 4 µm apart when aligned.

    Parameters
    ----------
    below, above : (layer, datatype)
    name : str
        Of the cell.
    """
    sketch = Sketch(name)
    sketch.cross(below, 0, 0, 120, 16)
    for dx in (-1, 1):
        for dy in (-1, 1):
            sketch.square(above, dx * 32, dy * 32, 40)
    return sketch


def vernier(below: LayerNumber, above: LayerNumber, name: str, bars: int = 21, step: float = 0.2) -> Sketch:
    """Two scales of bars end to end, 10 µm apart below and ``step`` more above: the bars that meet tell the error.

    Parameters
    ----------
    below, above : (layer, datatype)
    name : str
    bars : int
        Odd; the middle one is longer.
    step : float [µm]
        Misalignment that one bar stands for.
    """
    sketch = Sketch(name)
    middle = bars // 2
    for number in range(bars):
        offset = number - middle
        tall = 40 if offset == 0 else 32 if offset % 5 == 0 else 24
        for layer, pitch, side in ((below, 10.0, -1), (above, 10.0 + step, 1)):
            x = offset * pitch
            sketch.box(layer, x - 2, min(0, side * tall), x + 2, max(0, side * tall))
    return sketch


def line_widths(layer: LayerNumber, widths: Sequence[float], name: str, reach: float = 120.0) -> Sketch:
    """Groups of five lines and spaces of equal width, upright and flat, each with its width beside it.

    Parameters
    ----------
    layer : (layer, datatype)
    widths : sequence of float [µm]
    name : str
    reach : float [µm]
        Length of the lines.
    """
    sketch = Sketch(name)
    x = 0.0
    for width in widths:
        block = 9 * width
        for number in range(5):
            at = number * 2 * width
            sketch.box(layer, x + at, 0, x + at + width, reach)
            sketch.box(layer, x, -30 - block + at, x + reach * 0.6, -30 - block + at + width)
        sketch.text(layer, f"{width:g}", x, reach + 12, 20, middle=False)
        x += max(block, reach * 0.6) + 30
    return sketch


def level_name(layer: LayerNumber, text: str) -> Sketch:
    """A level's own name, printed by its plate, so that one sees which levels have been done."""
    sketch = Sketch(f"level_{layer[0]}")
    sketch.text(layer, text, 0, 0, 60, middle=False)
    return sketch
