"""Cutting polygons by polygons, with an overlay only where borders meet."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

Polygons = NDArray[np.object_]
"""An array of polygons without common area."""


def split(polygons: Polygons, cutters: Polygons) -> tuple[list[Any], list[Any]]:
    """Polygons inside and outside others; both lists may also hold collections with stray lines.

    A polygon that the cutters leave alone, or that lies within one of them, is passed on as it is; the rest is overlaid with
    those cutters that it meets, and only with the holes near it.

    Parameters
    ----------
    polygons, cutters : array of polygons
        Each without common area among themselves.
    """
    cutter, polygon = shapely.STRtree(polygons).query(cutters)
    meets = _meet(cutters[cutter], polygons[polygon])
    cutter, polygon = cutter[meets], polygon[meets]
    within, crossed = np.zeros((2, len(polygons)), dtype=bool)
    within[polygon[shapely.covers(cutters[cutter], polygons[polygon])]] = True
    crossed[polygon] = True
    crossed &= ~within
    trim = _Trimmer(cutters)
    wholes = polygons[crossed]
    order = np.argsort(polygon, kind="stable")
    cutter, polygon = cutter[order], polygon[order]
    numbers = np.flatnonzero(crossed)
    starts, ends = (np.searchsorted(polygon, numbers, side) for side in ("left", "right"))
    nears = [
        trim.near(cutter[start:end], whole)
        for start, end, whole in zip(starts.tolist(), ends.tolist(), wholes, strict=True)
    ]
    inside = [*polygons[within], *shapely.intersection(wholes, nears)]
    outside = [*polygons[~within & ~crossed], *shapely.difference(wholes, nears)]
    return inside, outside


def _meet(ones: Polygons, others: Polygons) -> NDArray[np.bool_]:
    """Whether polygons meet, pair by pair; the one with more vertices is searched through an index of its own."""
    swapped = shapely.get_num_coordinates(ones) < shapely.get_num_coordinates(others)
    first, second = np.where(swapped, others, ones), np.where(swapped, ones, others)
    shapely.prepare(first)
    meeting: NDArray[np.bool_] = shapely.intersects(first, second)
    return meeting


class _Trimmer:
    """Cutters reduced to what matters near a polygon."""

    def __init__(self, cutters: Polygons) -> None:
        self.cutters = cutters
        self.holes: dict[int, tuple[Any, Polygons, Any]] = {}

    def near(self, numbers: NDArray[np.int64], polygon: Any) -> Any:
        """Some cutters as one shape, without the holes whose boxes are apart from the polygon's."""
        parts = [self._one(int(number), polygon) for number in numbers]
        return parts[0] if len(parts) == 1 else shapely.multipolygons(parts)

    def _one(self, number: int, polygon: Any) -> Any:
        cutter = self.cutters[number]
        count = shapely.get_num_interior_rings(cutter)
        if count == 0:
            return cutter
        if number not in self.holes:
            rings = shapely.get_interior_ring(cutter, np.arange(count))
            self.holes[number] = (shapely.get_exterior_ring(cutter), rings, shapely.STRtree(rings))
        outline, rings, tree = self.holes[number]
        near = tree.query(polygon)
        return shapely.polygons(outline, rings[np.sort(near)]) if len(near) < count else cutter


class WindowIndex:
    """Polygons that are asked again and again for what lies in a window."""

    def __init__(self, polygons: Polygons) -> None:
        self.polygons = polygons
        self.tree = shapely.STRtree(polygons)
        self.trim = _Trimmer(polygons)

    def near(self, box: Any) -> Polygons:
        """What lies in a rectangle; may hold collections with stray lines."""
        found = [self.trim.near(np.array([number]), box) for number in np.sort(self.tree.query(box)).tolist()]
        pieces: Polygons = shapely.intersection(np.array(found, dtype=object), box)
        return pieces
