"""Planar regions: sets of polygons with the operations that a drawing needs."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from filmwright.numerics.region_split import WindowIndex, split

GRID_NM = 2.0**-10
"""Snapping grid [nm]: a power of two, so that snapping is exact."""

Counts = NDArray[np.int64]

MATCH_NM = 0.01
"""Borders closer than this [nm] are the same border: ten times the snapping grid."""

_CROSSING = 1e-6
"""Relative difference between the area that an outline encircles and the area inside it from which on it crosses itself."""


def _polygons_only(geometry: Any) -> Any:
    """Drop the lines and points that an overlay may leave; its polygons have no area in common."""
    if geometry.geom_type in ("Polygon", "MultiPolygon"):
        return geometry
    pieces = shapely.get_parts(shapely.get_parts(geometry))
    return shapely.multipolygons(pieces[shapely.get_dimensions(pieces) == 2])


def _simple(polygon: Any) -> Any:
    """The points inside an outline that does not cross itself; touching itself it may."""
    if polygon.is_valid:
        return polygon
    x, y = np.asarray(polygon.exterior.coords).T
    encircled = abs(float(np.dot(x[:-1] - x[0], y[1:] - y[0]) - np.dot(x[1:] - x[0], y[:-1] - y[0]))) / 2
    mended = _polygons_only(shapely.make_valid(polygon, method="structure", keep_collapsed=False))
    if abs(mended.area - encircled) > _CROSSING * max(encircled, 1.0):
        raise ValueError(f"an outline must not cross itself, one within {polygon.bounds} does")
    return mended


def _outlines(polygons: Sequence[NDArray[np.float64]]) -> NDArray[np.object_]:
    """Outlines as simple polygons."""
    if not polygons:
        return np.array([], dtype=object)
    owner = np.repeat(np.arange(len(polygons)), [len(points) for points in polygons])
    found: NDArray[np.object_] = shapely.polygons(shapely.linearrings(np.vstack(polygons), indices=owner))
    for k in np.flatnonzero(~shapely.is_valid(found)):
        found[k] = _simple(found[k])
    return found


def _on_grid(geometry: Any) -> Any:
    """Polygons with coordinates on the grid; those that are there already are not touched."""
    geometry = _polygons_only(geometry)
    coordinates = shapely.get_coordinates(geometry)
    snapped = np.rint(coordinates / GRID_NM) * GRID_NM
    if (coordinates == snapped).all():
        return geometry
    moved = shapely.transform(geometry, lambda _: snapped)
    # Moving vertices may, rarely, make borders meet that did not; only then is the slower overlay needed.
    return moved if shapely.is_valid(moved) else _polygons_only(shapely.set_precision(geometry, GRID_NM))


def clusters(boxes: NDArray[np.float64]) -> NDArray[np.int64]:
    """A number for each box, the same for boxes that are linked by boxes that meet.

    Parameters
    ----------
    boxes : array (n, 4)
        x0, y0, x1, y1.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    # A search without predicate looks at boxes only, and a diagonal is made faster than its box.
    diagonals = shapely.linestrings(boxes.reshape(-1, 2, 2))
    first, second = shapely.STRtree(diagonals).query(diagonals)
    links = coo_array((np.ones(len(first), dtype=np.int8), (first, second)), shape=(len(boxes), len(boxes)))
    return np.asarray(connected_components(links, directed=False)[1], dtype=np.int64)


def _union(shapes: Sequence[Any] | NDArray[np.object_]) -> Any:
    """The union of many shapes; only those whose boxes meet are overlaid."""
    parts = shapely.get_parts(np.array(list(shapes), dtype=object))
    parts = parts[~shapely.is_empty(parts)]
    if not len(parts):
        return shapely.MultiPolygon()
    numbers = clusters(shapely.bounds(parts))
    order = np.argsort(numbers, kind="stable")
    starts = np.flatnonzero(np.diff(numbers[order], prepend=-1))
    groups = np.split(order, starts[1:])
    wholes = [parts[group[0]] if len(group) == 1 else shapely.union_all(parts[group]) for group in groups]
    places = np.array([group[0] for group in groups])
    wholes = [wholes[k] for k in np.argsort(places)]
    found = shapely.get_parts(_each_on_grid(np.array(wholes, dtype=object)))
    return found[0] if len(found) == 1 else shapely.multipolygons(found)


def _each_on_grid(shapes: NDArray[np.object_]) -> NDArray[np.object_]:
    """Shapes with coordinates on the grid, each as :func:`_on_grid` moves it."""
    coordinates, owner = shapely.get_coordinates(shapes, return_index=True)
    off = np.unique(owner[(coordinates != np.rint(coordinates / GRID_NM) * GRID_NM).any(axis=1)])
    odd = np.flatnonzero(~np.isin(shapely.get_type_id(shapes), (3, 6)))
    for k in np.union1d(off, odd):
        shapes[k] = _on_grid(shapes[k])
    return shapes


def _within(box: Any, frame: Any) -> bool:
    return bool(box[0] >= frame[0] and box[1] >= frame[1] and box[2] <= frame[2] and box[3] <= frame[3])


def _punched(outline: Any, shapes: NDArray[np.object_]) -> Any:
    """A polygon with shapes as its holes; None where they are not whole, apart from each other and well inside its box."""
    if not len(shapes) or shapely.get_num_interior_rings(shapes).any():
        return None
    boxes, (x0, y0, x1, y1) = shapely.bounds(shapes), outline.bounds
    inside = (boxes[:, :2] > (x0, y0)).all() and (boxes[:, 2:] < (x1, y1)).all()
    if not inside or len(np.unique(clusters(boxes))) < len(shapes):
        return None
    return shapely.polygons(shapely.get_exterior_ring(outline), shapely.get_exterior_ring(shapes))


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

    @cached_property
    def key(self) -> str:
        """A digest of the outlines: equal for regions with the same vertices in the same order."""
        return hashlib.blake2b(shapely.to_wkb(self.shape), digest_size=16).hexdigest()

    @cached_property
    def _polygons(self) -> NDArray[np.object_]:
        """The separate pieces, kept with what is prepared for tests with them."""
        polygons: NDArray[np.object_] = shapely.get_parts(self.shape)
        return polygons

    @cached_property
    def outlines(self) -> tuple[NDArray[np.object_], Counts]:
        """All outlines, outer and inner, and of which of the separate pieces each is; the outer one of a piece is its first."""
        rings, owner = shapely.get_rings(self._polygons, return_index=True)
        return rings, owner

    @cached_property
    def _rectangle(self) -> bool:
        """Whether the region is an upright rectangle."""
        if self.empty or self.shape.geom_type != "Polygon":
            return False
        return bool(shapely.box(*self.shape.bounds).equals(self.shape))

    @cached_property
    def _window_index(self) -> WindowIndex:
        return WindowIndex(self._polygons)

    @classmethod
    def nothing(cls) -> Region:
        """The region without points."""
        return cls(shapely.MultiPolygon())

    @classmethod
    def joined(cls, regions: Iterable[Region]) -> Region:
        """The union of many regions."""
        shapes = [region.shape for region in regions]
        return cls(shapes[0]) if len(shapes) == 1 else cls(_union(shapes))

    @classmethod
    def gathered(cls, parts: Sequence[Region]) -> Region:
        """Regions that are known to have neither area nor border in common, as one; no overlay is done."""
        polygons = [polygon for part in parts for polygon in shapely.get_parts(part.shape)]
        if not polygons:
            return cls.nothing()
        return cls(polygons[0] if len(polygons) == 1 else shapely.multipolygons(polygons))

    @classmethod
    def of(cls, polygons: Iterable[Sequence[tuple[float, float]] | NDArray[np.float64]]) -> Region:
        """The union of polygons, each a sequence of (x, y) [nm].

        An outline may touch itself (a hole joined to the outside by a double line); one that crosses itself raises ValueError.
        """
        return cls(_union(_outlines([np.asarray(points, dtype=float) for points in polygons])))

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
        return Region(_on_grid(shapely.union(self.shape, other.shape)))

    def intersection(self, other: Region) -> Region:
        """Points in both regions."""
        if other._rectangle and _within(shapely.bounds(self.shape), other.shape.bounds):
            return self
        return Region(_on_grid(shapely.intersection(self.shape, other.shape)))

    def difference(self, other: Region) -> Region:
        """Points in this region and not in the other."""
        if self._rectangle and (punched := _punched(self.shape, other._polygons)) is not None:
            return Region(punched)
        return Region(_on_grid(shapely.difference(self.shape, other.shape)))

    def clipped(self, x0: float, y0: float, x1: float, y1: float) -> Region:
        """What lies in an upright rectangle [nm]; only the outlines near it are looked at."""
        here = shapely.bounds(self.shape)
        if not self.empty and _within(here, (x0, y0, x1, y1)):
            return self
        if here[0] > x1 or here[1] > y1 or here[2] < x0 or here[3] < y0:
            return Region.nothing()
        near = self._window_index.near(shapely.box(x0, y0, x1, y1))
        return Region(_on_grid(shapely.geometrycollections(near)))

    def moved(self, dx: float, dy: float) -> Region:
        """The same shapes at another place [nm]."""
        return (
            Region(shapely.transform(self.shape, lambda points: points + np.array([dx, dy])))
            if dx or dy
            else self
        )

    def grown(self, distance: float, *, sharp: bool = True) -> Region:
        """Every border moved outward by ``distance`` [nm] (negative: inward), corners kept sharp.

        With ``sharp`` false, corners become arcs: what is left keeps the distance from the old border, no more.
        """
        join = "mitre" if sharp else "round"
        if distance < 0:
            # Pieces that shrink stay apart: no overlay is needed.
            pieces = shapely.buffer(self._polygons, distance, join_style=join, mitre_limit=4.0)
            return Region(_on_grid(shapely.geometrycollections(pieces)))
        return Region(_on_grid(shapely.buffer(self.shape, distance, join_style=join, mitre_limit=4.0)))

    def near(self, other: Region, distance: float) -> Region:
        """The points of this region that are nearer than ``distance`` [nm] to the other, corners kept sharp."""
        return self.intersection(other.grown(distance))

    def split(self, other: Region) -> tuple[Region, Region]:
        """This region inside and outside another."""
        pieces = split(self._polygons, other._polygons)
        inside, outside = (Region(_on_grid(shapely.geometrycollections(side))) for side in pieces)
        return inside, outside

    def distance(self, other: Region) -> float:
        """Shortest distance between two regions [nm]; 0 when they touch."""
        return float(shapely.distance(self.shape, other.shape))

    def point_inside(self) -> tuple[float, float]:
        """A point [nm] that surely lies inside."""
        point = shapely.point_on_surface(self.shape)
        return float(point.x), float(point.y)

    def points_inside(self, most: int) -> tuple[tuple[float, float], ...]:
        """A point [nm] inside each of the separate pieces, or of at most so many of them in even steps."""
        pieces = self._polygons[:: -(-len(self._polygons) // most) or 1]
        return tuple((x, y) for x, y in shapely.get_coordinates(shapely.point_on_surface(pieces)).tolist())

    def parts(self) -> tuple[Region, ...]:
        """The separate pieces."""
        return tuple(Region(part) for part in shapely.get_parts(self.shape))

    def rings(self) -> tuple[NDArray[np.float64], ...]:
        """All outlines, outer and inner, each an array (n, 2) [nm]."""
        points, owner = shapely.get_coordinates(self.outlines[0], return_index=True)
        return tuple(np.split(points, np.flatnonzero(np.diff(owner)) + 1)) if len(points) else ()

    def rings_by_size(self, sized: Callable[[Counts], Counts]) -> tuple[NDArray[np.float64], ...]:
        """Outlines, outer and inner, in arrays (k, n, 2) [nm] of those with n points each, the first repeated as the last.

        Parameters
        ----------
        sized : function of array (m,) → array (m,)
            To how many points an outline of so many is rounded up, standing still at the last; 0 leaves it out.
        """
        points, owner = shapely.get_coordinates(self.outlines[0], return_index=True)
        corners = np.bincount(owner)
        first, sizes = np.cumsum(corners) - corners, sized(corners)
        return tuple(
            points[first[some, None] + np.minimum(np.arange(n), corners[some, None] - 1)]
            for n in np.unique(sizes[sizes > 0])
            for some in [np.flatnonzero(sizes == n)]
        )

    def holds(self, x: float, y: float) -> bool:
        """Whether a point [nm] lies inside or on the border."""
        shapely.prepare(self.shape)
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
