"""What a hierarchy of cells unfolds to, asked before it is unfolded; and the cells that are alignment marks."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import gdstk
import numpy as np
from numpy.typing import NDArray

from filmwright.masks.opening import refused

MOST_SHAPES = 2_000_000
"""More shapes than these are no die that is walked in a minute (judgement)."""

_DEEPEST = 200
_MARK = re.compile(r"(^|[^a-z])(mark|align)", re.IGNORECASE)

Box = tuple[float, float, float, float]
Points = NDArray[np.float64]


def check_unfolding(cells: Sequence[Any], path: Path) -> None:
    """Refuse cells that contain each other, or arrays that unfold to more than :data:`MOST_SHAPES` shapes and texts.

    A layout library follows references without looking: a circle of them never ends.
    """
    counted: dict[int, int] = {}
    open_now: list[Any] = []

    def count(cell: Any) -> int:
        known = counted.get(id(cell))
        if known is not None:
            return known
        if any(cell is other for other in open_now) or len(open_now) > _DEEPEST:
            names = " → ".join(f'"{each.name}"' for each in (*open_now[-6:], cell))
            what = "cells that contain each other" if cell in open_now else "cells nested too deep"
            raise refused(path, f"{what}: {names}", "export the drawing without the circle")
        open_now.append(cell)
        own = sum(_times(each) for each in (*cell.polygons, *cell.paths, *cell.labels))
        own += sum(
            _times(ref) * count(ref.cell) for ref in cell.references if isinstance(ref.cell, gdstk.Cell)
        )
        open_now.pop()
        counted[id(cell)] = own
        return own

    most = max((count(cell) for cell in cells), default=0)
    if most > MOST_SHAPES:
        raise refused(
            path,
            f"arrays that unfold to {most:.3g} shapes, more than {MOST_SHAPES:.3g}",
            "check the numbers of its arrays, or export one die only",
        )


def _times(item: Any) -> int:
    """How often an item is repeated."""
    return max(1, int(item.repetition.size or 0))


def marked_places(top: Any, scale: float) -> tuple[Box, ...]:
    """The boxes [nm] of every place of a cell in whose name a word begins with "mark" or "align".

    Parameters
    ----------
    top : Cell
    scale : float [nm]
        Length of the library's unit.
    """
    boxes: set[Box] = set()
    holds = _holding_marks(top)

    def look(cell: Any, turn: Points, shift: Points) -> None:
        if _MARK.search(cell.name) and cell is not top:
            (x0, y0), (x1, y1) = cell.bounding_box() or ((0, 0), (0, 0))
            corners = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]) @ turn.T + shift
            low, high = corners.min(axis=0) * scale, corners.max(axis=0) * scale
            x, y, right, top_y = (round(float(number), 3) for number in (*low, *high))
            boxes.add((x, y, right, top_y))
            return
        for ref in cell.references:
            if ref.cell.name not in holds:
                continue
            own = _turn(ref)
            for offset in _offsets(ref):
                look(ref.cell, turn @ own, turn @ (np.asarray(ref.origin) + offset) + shift)

    look(top, np.eye(2), np.zeros(2))
    return tuple(sorted(boxes))


def _holding_marks(top: Any) -> set[str]:
    """Names of the cells that are marks or hold some."""
    holds: dict[str, bool] = {}

    def ask(cell: Any) -> bool:
        if cell.name not in holds:
            below = [ask(each) for each in cell.dependencies(False)]
            holds[cell.name] = bool(_MARK.search(cell.name)) or any(below)
        return holds[cell.name]

    ask(top)
    return {name for name, there in holds.items() if there}


def _turn(ref: Any) -> Points:
    """Mirror at the x axis, scale and turn of a reference, as a matrix."""
    cosine, sine = math.cos(ref.rotation), math.sin(ref.rotation)
    flip = -1.0 if ref.x_reflection else 1.0
    return float(ref.magnification) * np.array([[cosine, -flip * sine], [sine, flip * cosine]])


def _offsets(item: Any) -> Points:
    """Where the copies of a repeated item stand from its own place."""
    return np.asarray(item.repetition.get_offsets()) if item.repetition.size else np.zeros((1, 2))
