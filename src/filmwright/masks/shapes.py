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
    corners = np.round(np.round(np.vstack(outlines) / grid) * grid, 3)
    starts = np.cumsum([0, *(len(points) for points in outlines)])
    solid = _has_area(corners, starts)
    full = [corners[a:b] for a, b, keep in zip(starts[:-1], starts[1:], solid, strict=True) if keep]
    if not solid.all():
        notes.append(
            f"{_count(int((~solid).sum()), 'shape')} without area (zero width or on one line), the first at "
            f"{at(corners[starts[np.argmin(solid)]])}; left out"
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


def _has_area(corners: Points, starts: NDArray[np.int64]) -> NDArray[np.bool_]:
    """For each outline whether its corners do not all lie on one line; all outlines of a layer in one go.

    Parameters
    ----------
    corners : array (n, 2)
        Of all outlines in a row.
    starts : array (outlines + 1,)
        Where each outline begins, and the end.
    """
    first, counts = starts[:-1], np.diff(starts)
    spread = corners - np.repeat(corners[first], counts, axis=0)
    size = np.abs(spread).sum(axis=1)
    farthest = np.flatnonzero(size == np.repeat(np.maximum.reduceat(size, first), counts))
    outline = np.repeat(np.arange(len(first)), counts)
    far = spread[farthest[np.searchsorted(outline[farthest], np.arange(len(first)))]]
    beside = spread[:, 0] * far[outline, 1] != spread[:, 1] * far[outline, 0]
    found: NDArray[np.bool_] = np.logical_or.reduceat(beside, first)
    return found


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
