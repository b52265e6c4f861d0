"""Planar regions: sets of polygons with the operations that a drawing needs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

GRID_NM = 2.0**-10
"""Snapping grid [nm]: a power of two, so that snapping is exact."""


def _polygons_only(geometry: Any) -> Any:
    """Drop the lines and points that an overlay may leave."""
    if geometry.geom_type in ("Polygon", "MultiPolygon"):
        return geometry
    parts = [part for part in shapely.get_parts(geometry) if part.geom_type in ("Polygon", "MultiPolygon")]
    return shapely.union_all(parts, grid_size=GRID_NM) if parts else shapely.MultiPolygon()


@dataclass(frozen=True)
class Polyline:
    """An open polyline.

    Attributes
    ----------
    points : tuple of (x, y) [nm]
    """

    points: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        if len(self.points) < 2 or any(a == b for a, b in zip(self.points, self.points[1:], strict=False)):
            raise ValueError(f"a polyline needs at least two different points, got {self.points}")

    @property
    def length(self) -> float:
        """Length along the line [nm]."""
        return float(shapely.LineString(self.points).length)


@dataclass(frozen=True, eq=False)
class Region:
    """A set of polygons in the plane, coordinates in nanometres.

    Operations return new regions; coordinates are snapped to :data:`GRID_NM`.
    """

    shape: Any

    @classmethod
    def of(cls, polygons: Iterable[Sequence[tuple[float, float]] | NDArray[np.float64]]) -> Region:
        """The union of simple polygons, each a sequence of (x, y) [nm]."""
        shapes = [shapely.Polygon(points) for points in polygons]
        return cls(_polygons_only(shapely.union_all(shapes, grid_size=GRID_NM)) if shapes else shapely.MultiPolygon())

    @classmethod
    def box(cls, x0: float, y0: float, x1: float, y1: float) -> Region:
        """A rectangle between two corners [nm]."""
        return cls(shapely.box(x0, y0, x1, y1))

    @property
    def empty(self) -> bool:
        """Whether the region has no area."""
        return bool(self.shape.is_empty)

    @property
    def area(self) -> float:
        """Area [nm²]."""
        return float(self.shape.area)

    @property
    def perimeter(self) -> float:
        """Length of all borders [nm]."""
        return float(self.shape.length)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """x0, y0, x1, y1 [nm]."""
        x0, y0, x1, y1 = self.shape.bounds
        return float(x0), float(y0), float(x1), float(y1)

    def union(self, other: Region) -> Region:
        """Points in either region."""
        return Region(_polygons_only(shapely.union(self.shape, other.shape, grid_size=GRID_NM)))

    def intersection(self, other: Region) -> Region:
        """Points in both regions."""
        return Region(_polygons_only(shapely.intersection(self.shape, other.shape, grid_size=GRID_NM)))

    def difference(self, other: Region) -> Region:
        """Points in this region and not in the other."""
        return Region(_polygons_only(shapely.difference(self.shape, other.shape, grid_size=GRID_NM)))

    def grown(self, distance: float) -> Region:
        """Every border moved outward by ``distance`` [nm] (negative: inward), corners kept sharp."""
        return Region(_polygons_only(shapely.buffer(self.shape, distance, join_style="mitre", mitre_limit=4.0)))

    def parts(self) -> tuple[Region, ...]:
        """The separate pieces."""
        return tuple(Region(part) for part in shapely.get_parts(self.shape))

    def rings(self) -> tuple[NDArray[np.float64], ...]:
        """All outlines, outer and inner, each an array (n, 2) [nm]."""
        found = []
        for part in shapely.get_parts(self.shape):
            found.extend(np.asarray(ring.coords) for ring in (part.exterior, *part.interiors))
        return tuple(found)

    def holds(self, x: float, y: float) -> bool:
        """Whether a point [nm] lies inside or on the border."""
        return bool(shapely.intersects_xy(self.shape, x, y))

    def shared_border(self, other: Region) -> float:
        """Length of the border that two regions without common area share [nm]."""
        common = shapely.intersection(self.shape, other.shape)
        return float(shapely.length(common)) if common.area == 0.0 else 0.0

    def along(self, line: Polyline) -> tuple[tuple[float, float], ...]:
        """Where a polyline runs inside the region: intervals (from, to) of its own length [nm], in order."""
        path = shapely.LineString(line.points)
        inside = shapely.intersection(path, self.shape)
        found = []
        for piece in shapely.get_parts(inside):
            if piece.geom_type == "LineString" and piece.length > 0:
                ends = [float(path.project(shapely.Point(piece.coords[k]))) for k in (0, -1)]
                found.append((min(ends), max(ends)))
        merged: list[tuple[float, float]] = []
        for start, end in sorted(found):
            if merged and start - merged[-1][1] < GRID_NM:
                merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
            else:
                merged.append((start, end))
        return tuple(merged)
