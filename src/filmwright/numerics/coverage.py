"""Planar coverages: polygons that lie side by side without gaps or overlaps inside a window.

A coverage is *edge-matched*: two cells that touch have the same vertices along their common border. Who
touches whom, along what length, and what is reached from the top of the window are then exact look-ups of
equal segments.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from filmwright.numerics.region import GRID_NM, Region

OPEN = -1
"""Neighbour of an edge: the outside that reaches the top of the window."""
POCKET = -2
"""Neighbour of an edge: an enclosed outside."""
SIDE = -3
"""Neighbour of an edge: a side of the window."""

SLIVER_AREA = 0.01
"""Pieces below this area [nm²] are left over from rounding and dropped."""
SLIVER_WIDTH = 4 * GRID_NM
"""Pieces thinner than this [nm] are left over from rounding and dropped."""
PROBE = 0.1
"""An edge borders the open outside only if this far [nm] in front of it the outside is still there."""

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Edges:
    """Directed edges; the cell that each belongs to lies on its left.

    Attributes
    ----------
    start, end : array (n, 2) [nm]
    cell : array (n,)
        Index of the cell.
    other : array (n,)
        Index of the cell on the right, or :data:`OPEN`, :data:`POCKET`, :data:`SIDE`.
    """

    start: Floats
    end: Floats
    cell: Ints
    other: Ints

    @cached_property
    def length(self) -> Floats:
        """Length of each edge [nm]."""
        along = self.end - self.start
        return np.hypot(along[:, 0], along[:, 1])

    @cached_property
    def outward(self) -> Floats:
        """Unit vector of each edge that points away from its cell, array (n, 2)."""
        along = (self.end - self.start) / np.maximum(self.length, GRID_NM**2)[:, None]
        return np.asarray(np.column_stack([along[:, 1], -along[:, 0]]))

    def where(self, mask: NDArray[np.bool_]) -> Edges:
        """The edges that a mask picks, in their order."""
        return Edges(self.start[mask], self.end[mask], self.cell[mask], self.other[mask])


def segments(shapes: Any) -> tuple[Floats, Floats, Ints]:
    """Start, end and owner of every ring segment of an array of polygons; interiors lie to the left."""
    rings, owner = shapely.get_rings(shapes, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    if len(points) == 0:
        return np.empty((0, 2)), np.empty((0, 2)), np.empty(0, dtype=np.int64)
    same = ring[:-1] == ring[1:]
    return points[:-1][same], points[1:][same], owner[ring[:-1][same]].astype(np.int64)


def polygons_of(shapes: Sequence[Any]) -> tuple[Any, Ints]:
    """All polygons of shapes, counter-clockwise, without what rounding left over, and the shape each came
    from."""
    parts, owner = shapely.get_parts(np.array([*shapes, None], dtype=object)[:-1], return_index=True)
    if np.any(shapely.get_type_id(parts) > 3):
        parts, again = shapely.get_parts(parts, return_index=True)
        owner = owner[again]
    area, around = shapely.area(parts), shapely.length(parts)
    keep = (area > SLIVER_AREA) & (2 * area > SLIVER_WIDTH * around)
    return shapely.orient_polygons(parts[keep]), owner[keep].astype(np.int64)


def polygonal(shape: Any) -> Any:
    """A shape without the lines and points that an overlay may leave beside its polygons."""
    if shape.geom_type in ("Polygon", "MultiPolygon"):
        return shape
    parts = shapely.get_parts(shapely.get_parts(shape))
    return shapely.multipolygons(parts[shapely.get_type_id(parts) == 3])


def _keys(start: Floats, end: Floats) -> NDArray[np.uint64]:
    """A 64-bit key per undirected segment of points on the grid."""

    def mixed(points: Floats) -> NDArray[np.uint64]:
        x, y = np.round(points / GRID_NM).astype(np.int64).view(np.uint64).reshape(-1, 2).T
        key = x * np.uint64(0x9E3779B97F4A7C15) + y * np.uint64(0xC2B2AE3D27D4EB4F)
        key ^= key >> np.uint64(29)
        key *= np.uint64(0xBF58476D1CE4E5B9)
        return np.asarray(key ^ (key >> np.uint64(32)))

    return mixed(start) + mixed(end)


@dataclass(frozen=True, eq=False)
class Coverage:
    """Edge-matched polygons inside a window whose top is open.

    Attributes
    ----------
    shapes : tuple of polygons
        Counter-clockwise; opaque outside this room.
    window : (x0, y0, x1, y1) [nm]
    """

    shapes: tuple[Any, ...]
    window: tuple[float, float, float, float]

    @classmethod
    def matched(
        cls, regions: Sequence[Region], window: tuple[float, float, float, float]
    ) -> tuple[Coverage, Ints]:
        """A coverage of the polygons of regions, with the index of the region that each cell came from.

        Vertices of each border are copied to its other side, overlaps and gaps of rounding are closed.
        """
        parts, owner = polygons_of([region.shape for region in regions])
        if len(parts) == 0:
            return cls((), window), owner
        cleaned = shapely.coverage_clean(parts, gap_width=4 * GRID_NM, snapping_distance=GRID_NM)
        shapes, again = polygons_of(cleaned)
        return cls(tuple(shapes), window), owner[again]

    def simplified(self, tolerance: float) -> Coverage:
        """The same cells with fewer vertices.

        A vertex goes when the triangle with its neighbours is smaller than ``tolerance`` squared [nm²];
        common borders stay common and no cell vanishes.
        """
        if not self.shapes:
            return self
        shapes = shapely.coverage_simplify(np.array(self.shapes, dtype=object), tolerance)
        return Coverage(tuple(shapely.orient_polygons(shapes)), self.window)

    @property
    def cells(self) -> tuple[Region, ...]:
        """Each cell as a region."""
        return tuple(Region(shape) for shape in self.shapes)

    @cached_property
    def _outside(self) -> tuple[Any, tuple[Any, ...]]:
        solid = (
            shapely.coverage_union_all(np.array(self.shapes, dtype=object))
            if self.shapes
            else shapely.Polygon()
        )
        parts, _ = polygons_of([shapely.difference(shapely.box(*self.window), solid)])
        top = [shapely.bounds(part)[3] >= self.window[3] - GRID_NM for part in parts]
        reached = [part for part, at_top in zip(parts, top, strict=True) if at_top]
        pockets = tuple(part for part, at_top in zip(parts, top, strict=True) if not at_top)
        return (reached[0] if len(reached) == 1 else shapely.MultiPolygon(reached)), pockets

    @property
    def open(self) -> Region:
        """The outside that reaches the top of the window."""
        return Region(self._outside[0])

    @property
    def pockets(self) -> tuple[Region, ...]:
        """The enclosed outsides."""
        return tuple(Region(shape) for shape in self._outside[1])

    @cached_property
    def edges(self) -> Edges:
        """All edges of all cells with what lies on their other side."""
        outside, pockets = self._outside
        count = len(self.shapes)
        around = [*shapely.get_parts(outside), *pockets]
        start, end, cell = segments(np.array([*self.shapes, *around], dtype=object))
        sky = len(shapely.get_parts(outside))
        label = np.concatenate([np.arange(count), np.full(sky, OPEN), np.full(len(pockets), POCKET)]).astype(
            np.int64
        )[cell]
        key = _keys(start, end)
        order = np.argsort(key, kind="stable")
        twin = key[order][:-1] == key[order][1:]
        other = np.full(len(key), SIDE, dtype=np.int64)
        first, second = order[:-1][twin], order[1:][twin]
        other[first], other[second] = label[second], label[first]
        return Edges(start, end, label, other).where(label >= 0)

    @cached_property
    def exposed(self) -> Edges:
        """Edges that border the open outside, cracks narrower than :data:`PROBE` left out."""
        edges = self.edges.where(self.edges.other == OPEN)
        probes = (edges.start + edges.end) / 2 + PROBE * edges.outward
        shape = self._outside[0]
        shapely.prepare(shape)
        return edges.where(shapely.contains_xy(shape, probes))

    def contacts(self) -> dict[tuple[int, int], float]:
        """Length [nm] of the border between every two cells that touch, by their indices (lower first)."""
        edges = self.edges.where(self.edges.other > self.edges.cell)
        code, inverse = np.unique(edges.cell * len(self.shapes) + edges.other, return_inverse=True)
        first, second = np.divmod(code, max(len(self.shapes), 1))
        lengths = np.bincount(inverse, weights=edges.length)
        return {
            (a, b): length
            for a, b, length in zip(first.tolist(), second.tolist(), lengths.tolist(), strict=True)
        }

    def linked(self, roots: Iterable[int], least: float = 0.05) -> frozenset[int]:
        """The cells that hang together with the roots over borders longer than ``least`` [nm]."""
        near: dict[int, list[int]] = {}
        for (a, b), length in self.contacts().items():
            if length > least:
                near.setdefault(a, []).append(b)
                near.setdefault(b, []).append(a)
        todo = list(roots)
        reached = set(todo)
        while todo:
            for cell in near.get(todo.pop(), ()):
                if cell not in reached:
                    reached.add(cell)
                    todo.append(cell)
        return frozenset(reached)
