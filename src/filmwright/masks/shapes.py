"""The raw outlines of one layer → its region, with everything odd about them counted and placed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import gdstk
import numpy as np
from numpy.typing import NDArray

from filmwright.numerics import Region
from filmwright.units import convert, to_si

_CROSSING_PRECISION = 1e-3
_ON_GRID = 1e-3
"""Part of a grid step by which a corner may miss it and still lie on it: rounding of a unit conversion."""

Points = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Layer:
    """What one layer came to.

    Attributes
    ----------
    region : Region [nm]
    notes : tuple of str
        Corners off the file's grid, shapes that cross themselves, shapes without area; each with its number and first place.
    off_asked : str
        Corners off the grid that was asked for; empty when there are none.
    """

    region: Region
    notes: tuple[str, ...]
    off_asked: str = ""


def layer_of(outlines: Sequence[Points], grid: float, asked: float | None = None) -> Layer:
    """The region of outlines.

    Parameters
    ----------
    outlines : sequence of array (n, 2) [nm]
        Of a zero-width line two points.
    grid : float [nm]
        Of the file; corners that a turn or a scale put off it are moved to it.
    asked : float or None [nm]
        A grid on which they must lie.
    """
    notes = []
    if off := _off(outlines, grid):
        notes.append(f"{off}; each was moved to the grid of the file, {grid:g} nm")
    moved = [np.round(np.round(points / grid) * grid, 3) for points in outlines]
    full = [points for points in moved if len(points) > 2 and _has_area(points)]
    if len(full) < len(moved):
        flat = next(points for points in moved if len(points) < 3 or not _has_area(points))
        notes.append(
            f"{_count(len(moved) - len(full), 'shape')} without area (zero width or on one line), the first at "
            f"{at(flat[0])}; left out"
        )
    region, crossing = _region(full)
    if crossing:
        notes.append(
            f"{_count(len(crossing), 'shape')} cross{'es itself' if len(crossing) == 1 else ' themselves'}, the first at "
            f"{at(crossing[0])}; every enclosed part counts as drawn"
        )
    return Layer(
        region=region, notes=tuple(notes), off_asked=_off(outlines, asked) if asked is not None else ""
    )


def at(point: Points | tuple[float, float]) -> str:
    """A place of the drawing in words, in micrometres."""
    x, y = (convert(to_si(float(number), "nm"), "um") for number in point)
    return f"({x:.9g}, {y:.9g}) µm"


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'s' if number != 1 else ''}"


def _off(outlines: Sequence[Points], grid: float) -> str:
    """How many corners miss a grid, and the first; empty when none does."""
    corners = np.vstack(outlines)
    steps = corners / grid
    wrong = np.flatnonzero((np.abs(steps - np.round(steps)) > _ON_GRID).any(axis=1))
    if not len(wrong):
        return ""
    lie = "lies" if len(wrong) == 1 else "lie"
    return f"{len(wrong)} of {len(corners)} corners {lie} off it, the first at {at(corners[wrong[0]])}"


def _has_area(points: Points) -> bool:
    """Whether corners do not all lie on one line."""
    spread = points - points[0]
    far = spread[np.argmax(np.abs(spread).sum(axis=1))]
    return bool(np.any(np.abs(spread[:, 0] * far[1] - spread[:, 1] * far[0]) > 0))


def _region(outlines: Sequence[Points]) -> tuple[Region, list[Points]]:
    """The union of outlines in nm, and the first corner of each that crosses itself."""
    try:
        return Region.of(outlines), []
    except ValueError:
        pass
    clean: list[Points] = []
    crossing = []
    for points in outlines:
        try:
            Region.of([points])
        except ValueError:
            crossing.append(points[0])
            shape = gdstk.Polygon([(float(x), float(y)) for x, y in points])
            parts = gdstk.boolean(shape, [], "or", precision=_CROSSING_PRECISION)
            clean.extend(np.asarray(part.points) for part in parts)
        else:
            clean.append(points)
    return Region.of(clean), crossing
