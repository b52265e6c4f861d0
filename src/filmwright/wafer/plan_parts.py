"""The parts of a plan: windows of the drawing that repeat, each with its cells, and the field around them.

A part is computed once, where it lies first, and holds at all its places. The *field* is what lies outside all windows; no
shape reaches into it, so each separate piece of it is one cell for good.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from filmwright.numerics import Repeat, boxes_holding
from filmwright.wafer import plan_memo
from filmwright.wafer.column import Column
from filmwright.wafer.plan_cells import Cell, merged

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True, eq=False)
class Part:
    """Windows with the same content and what lies in them.

    Attributes
    ----------
    place : Repeat
        The windows, and where they lie.
    cells : tuple of Cell
        They cover the windows with their halo, at the first place.
    """

    place: Repeat
    cells: tuple[Cell, ...]

    @cached_property
    def core(self) -> tuple[Cell, ...]:
        """The cells within the windows, without the halo."""
        if not self.place.haloed:
            return self.cells
        cut = [replace(cell, region=plan_memo.split(cell.region, self.place.core)[0]) for cell in self.cells]
        return tuple(cell for cell in cut if not cell.region.empty)

    def with_columns(self, change: Callable[[Column], Column]) -> Part:
        """Every column changed; cells that become equal are one."""
        return replace(self, cells=merged(replace(cell, column=change(cell.column)) for cell in self.cells))

    def at(self, places: Ints) -> Part:
        """The same at some of its places only."""
        dx, dy = self.place.offsets[places[0]].tolist()
        cells = tuple(replace(cell, region=cell.region.moved(dx, dy)) for cell in self.cells)
        return Part(place=self.place.at(places), cells=cells)


@dataclass(frozen=True, kw_only=True, eq=False)
class Places:
    """All windows of a plan at all their places, for look-ups.

    Attributes
    ----------
    boxes : array (n, 4) [nm]
    part, place : array (n,)
        Which part lies in each, and at which of its places.
    """

    boxes: Floats
    part: Ints
    place: Ints

    @classmethod
    def of(cls, repeats: Sequence[Repeat]) -> Places:
        """The windows of repeats."""
        boxes, part, place = [], [], []
        for number, repeat in enumerate(repeats):
            for window in repeat.windows:
                boxes.append(window + np.tile(repeat.offsets, 2))
                part.append(np.full(repeat.count, number))
                place.append(np.arange(repeat.count))
        return cls(boxes=np.vstack(boxes), part=np.concatenate(part), place=np.concatenate(place))

    def at(self, x: float, y: float) -> list[int]:
        """The windows that hold a point [nm], borders included."""
        x0, y0, x1, y1 = self.boxes.T
        found: list[int] = np.flatnonzero((x0 <= x) & (x <= x1) & (y0 <= y) & (y <= y1)).tolist()
        return found

    def holding(self, points: Floats) -> tuple[Ints, Ints]:
        """Pairs of points (n, 2) [nm] and windows that hold them, borders included, by their numbers."""
        return boxes_holding(self.boxes, points)
