"""A cell being drawn, in micrometres, with the few shapes that test structures are made of."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import gdstk

from filmwright.masks.chips.font import text_width, written
from filmwright.masks.drawing import FRAME, LayerNumber
from filmwright.units import to_si

LABELS = 60
"""Layer of terminal labels."""

UNIT = to_si(1, "um")
GRID = to_si(1, "nm")


def library(name: str) -> Any:
    """An empty layout library: drawn in µm on a grid of 1 nm."""
    return gdstk.Library(name, unit=UNIT, precision=GRID)


class Sketch:
    """One cell."""

    def __init__(self, name: str) -> None:
        self.cell = gdstk.Cell(name)

    def box(self, layer: LayerNumber, x0: float, y0: float, x1: float, y1: float) -> None:
        """A rectangle between two opposite corners, in any order."""
        low, high = (min(x0, x1), min(y0, y1)), (max(x0, x1), max(y0, y1))
        self.cell.add(gdstk.rectangle(low, high, layer=layer[0], datatype=layer[1]))

    def square(self, layer: LayerNumber, x: float, y: float, size: float) -> None:
        """A square about its middle."""
        self.box(layer, x - size / 2, y - size / 2, x + size / 2, y + size / 2)

    def shape(self, layer: LayerNumber, points: Sequence[tuple[float, float]]) -> None:
        """A polygon."""
        self.cell.add(gdstk.Polygon(points, layer=layer[0], datatype=layer[1]))

    def line(self, layer: LayerNumber, points: Sequence[tuple[float, float]], width: float) -> None:
        """A line of one width with square corners, flush at its ends."""
        path = gdstk.FlexPath(
            list(points), width, joins="miter", ends="flush", layer=layer[0], datatype=layer[1]
        )
        self.cell.add(*path.to_polygons())

    def cross(self, layer: LayerNumber, x: float, y: float, size: float, width: float) -> None:
        """An upright cross in one piece."""
        h, w = size / 2, width / 2
        corners = [
            (-h, -w),
            (-w, -w),
            (-w, -h),
            (w, -h),
            (w, -w),
            (h, -w),
            (h, w),
            (w, w),
            (w, h),
            (-w, h),
            (-w, w),
            (-h, w),
        ]
        self.shape(layer, [(x + dx, y + dy) for dx, dy in corners])

    def text(
        self, layer: LayerNumber, text: str, x: float, y: float, height: float, middle: bool = True
    ) -> None:
        """A text in the film, about x or from x on."""
        start = x - text_width(text, height) / 2 if middle else x
        # Whole micrometres keep the strokes of equal letters equal on the plate.
        shapes = written(text, (round(start), y), height, layer)
        self.cell.add(*gdstk.boolean(shapes, [], "or", precision=1e-3, layer=layer[0], datatype=layer[1]))

    def label(self, text: str, x: float, y: float) -> None:
        """A terminal or device name, on the layer of labels; it is not printed."""
        self.cell.add(gdstk.Label(text, (x, y), layer=LABELS, texttype=0))

    def frame(self, width: float, height: float, line: float = 10.0) -> None:
        """The outline of a die from (0, 0), on the layer of frames."""
        for x0, y0, x1, y1 in (
            (0, 0, width, line),
            (0, height - line, width, height),
            (0, line, line, height - line),
            (width - line, line, width, height - line),
        ):
            self.box(FRAME, x0, y0, x1, y1)

    def place(self, other: Sketch, x: float, y: float, rotation: float = 0.0) -> None:
        """Another cell at a place."""
        self.cell.add(gdstk.Reference(other.cell, (x, y), rotation=rotation))


def finished(name: str, top: Sketch) -> Any:
    """The library with a top cell and all that it refers to."""
    made = library(name)
    made.add(top.cell, *top.cell.dependencies(True))
    return made
