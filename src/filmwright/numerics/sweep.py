"""Minkowski sums: the region that a convex kernel covers when it is led along an outline."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from filmwright.numerics.coverage import Edges
from filmwright.numerics.region import GRID_NM, Region

Floats = NDArray[np.float64]


LEAST_RADIUS = 50.0
"""Arcs are divided at least as finely as those of this radius [nm]: small sweeps add up."""

NEAR = 0.12
"""A tangent nearer than this share of a facet to the edge beside it is that edge, turned by rounding."""


@dataclass(frozen=True, kw_only=True)
class Kernel:
    """An upper half-ellipse over a lower one of the same width.

    Attributes
    ----------
    side, up, down : float [nm]
        How far it reaches to either side, up and down.
    tolerance : float [nm]
        By how much an arc may be replaced by its tangents. Flat faces are exact, corners at most this much
        too thick.
    """

    side: float
    up: float
    down: float
    tolerance: float = 0.1

    def __post_init__(self) -> None:
        if min(self.side, self.up, self.down) < 0 or max(self.side, self.up, self.down) <= 0:
            raise ValueError(f"a kernel must reach somewhere, got {self}")

    @property
    def facet(self) -> float:
        """Angle between neighbouring tangents [rad]: a quadrant over three times a power of two.

        Tangents of kernels of any size then fall on each other, and those along the axes are always among
        them.
        """
        reach = max(self.side, self.up, self.down, LEAST_RADIUS)
        wanted = np.pi / 4 / np.arccos(1 / (1 + self.tolerance / reach))
        return float(np.pi / 2 / (3 * 2 ** max(np.ceil(np.log2(wanted / 3) - 0.1), 0)))

    def parameter(self, normals: Floats) -> Floats:
        """Ellipse parameter of the support point for each outward normal, array (n,) [rad]."""
        height = np.where(normals[:, 1] >= 0, self.up, self.down)
        return np.arctan2(normals[:, 1] * height, normals[:, 0] * self.side)

    def point(self, parameter: Floats) -> Floats:
        """Point of the kernel's border, array (n, 2) [nm]."""
        sine = np.sin(parameter)
        return np.column_stack(
            [self.side * np.cos(parameter), np.where(sine >= 0, self.up, self.down) * sine]
        )


def convolution(points: Floats, kernel: Kernel) -> Floats:
    """Closed curve whose winding number is positive exactly where the swept region is.

    Every edge is moved out to the support point of its normal. At a convex corner the tangents of the kernel
    between the two normals are cut with each other; the tangents are the same everywhere, so that repeated
    sweeps do not multiply vertices. At a concave corner the curve runs back along a chord of the kernel.

    Parameters
    ----------
    points : array (n, 2) [nm]
        Closed outline without repeated points, interior to the left; may run forth and back along a line.
    kernel : Kernel
    """
    along = np.roll(points, -1, axis=0) - points
    along /= np.hypot(*along.T)[:, None]
    after = kernel.parameter(np.column_stack([along[:, 1], -along[:, 0]]))
    before = np.roll(after, 1)
    turn = (after - before + np.pi) % (2 * np.pi) - np.pi
    turn[turn < 1e-6 - np.pi] += 2 * np.pi
    convex = turn > -1e-9
    first = np.floor(before / kernel.facet + NEAR) + 1
    last = np.ceil((before + turn) / kernel.facet - NEAR) - 1
    pieces = np.where(convex, np.maximum(last - first + 1, 0) + 1, 2).astype(np.int64)
    corner = np.repeat(np.arange(len(points)), pieces)
    rank = np.arange(len(corner)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    low = np.where(rank == 0, before[corner], (first[corner] + rank - 1) * kernel.facet)
    high = np.where(
        rank == pieces[corner] - 1, (before + turn)[corner], (first[corner] + rank) * kernel.facet
    )
    rounded = kernel.point((low + high) / 2) / np.cos((high - low) / 2)[:, None]
    back = np.where((rank == 1)[:, None], kernel.point(after[corner]), kernel.point(before[corner]))
    moved: Floats = points[corner] + np.where(convex[corner][:, None], rounded, back)
    return moved


def _ring(points: Floats) -> Floats:
    keep = np.hypot(*(np.roll(points, -1, axis=0) - points).T) > GRID_NM / 4
    kept: Floats = points[keep]
    return kept


def _filled(curves: list[Floats]) -> Any:
    # A zero buffer keeps what a closed curve winds round positively and drops its inverted loops.
    rings = [shapely.buffer(shapely.Polygon(curve), 0.0) for curve in curves]
    return rings[0] if len(rings) == 1 else shapely.union_all(rings)


def swept(region: Region, kernel: Kernel) -> Region:
    """Everything that the kernel covers when its centre visits a region (holes are filled)."""
    outlines = [
        shapely.get_coordinates(part.exterior)[:-1]
        for part in shapely.orient_polygons(shapely.get_parts(region.shape))
    ]
    return Region(_filled([convolution(_ring(points), kernel) for points in outlines]))


def chains(edges: Edges) -> list[Floats]:
    """Edges joined into open polylines, each an array (n, 2) [nm]."""
    if len(edges.start) == 0:
        return []
    joined = np.all(edges.end[:-1] == edges.start[1:], axis=1)
    cuts = np.flatnonzero(~joined) + 1
    firsts = np.concatenate([[0], cuts])
    lasts = np.concatenate([cuts, [len(edges.start)]])
    return [np.vstack([edges.start[a:b], edges.end[b - 1 : b]]) for a, b in zip(firsts, lasts, strict=True)]


def swept_edges(edges: Edges, kernel: Kernel) -> Region:
    """Everything that the kernel covers when its centre runs along edges."""
    curves = []
    for chain in chains(edges):
        forth_and_back = _ring(np.vstack([chain, chain[-2:0:-1]]))
        if len(forth_and_back) > 1:
            curves.append(convolution(forth_and_back, kernel))
    return Region(_filled(curves)) if curves else Region(shapely.MultiPolygon())


def swept_into(region: Region, edges: Edges, kernel: Kernel) -> Region:
    """The part of a region that the kernel covers from some of its own edges, not what lies behind a gap."""
    shape = shapely.intersection(region.shape, swept_edges(edges, kernel).shape, grid_size=GRID_NM)
    parts = shapely.get_parts(shape)
    parts = parts[shapely.get_type_id(parts) == 3]
    if len(parts) > 1:
        source = shapely.multilinestrings([shapely.linestrings(chain) for chain in chains(edges)])
        shapely.prepare(source)
        parts = parts[shapely.dwithin(source, parts, 2 * GRID_NM)]
    return Region(parts[0] if len(parts) == 1 else shapely.multipolygons(parts))


def time_to_border(
    edges: Edges, border: Edges, speed: Floats, least: float = 0.05, shortest: float = 20.0
) -> float:
    """When edges that run along a border first meet it if each moves towards it at its own speed.

    Edges that are steeper than one in five against the border, or shorter than ``shortest`` [nm], arrive
    little by little, not at one moment, and are left out; so is what is nearer than ``least`` [nm]. Infinite
    when nothing will arrive.
    """
    long = edges.length > shortest
    edges, speed = edges.where(long), speed[long]
    if len(edges.start) == 0 or len(border.start) == 0:
        return float("inf")
    lines = shapely.multilinestrings(shapely.linestrings(np.stack([border.start, border.end], axis=1)))
    shapely.prepare(lines)
    near = shapely.distance(lines, shapely.points(edges.start))
    far = shapely.distance(lines, shapely.points(edges.end))
    ahead = np.minimum(near, far)
    use = (np.abs(near - far) < 0.2 * edges.length) & (ahead > least) & (speed > 0)
    return float(np.min(ahead[use] / speed[use])) if use.any() else float("inf")


def nearest(points: Floats, edges: Edges) -> tuple[Floats, Floats]:
    """Distance from each point to the nearest of some edges [nm], and the place on it, array (n, 2)."""
    lines = shapely.multilinestrings(shapely.linestrings(np.stack([edges.start, edges.end], axis=1)))
    links = shapely.get_coordinates(shapely.shortest_line(shapely.points(points), lines)).reshape(-1, 2, 2)
    return np.hypot(*(links[:, 1] - links[:, 0]).T), links[:, 1]


def closest(first: Edges, second: Edges) -> tuple[float, float, float]:
    """Smallest distance between two sets of edges, and the middle of that link: (distance, x, y) [nm]."""
    lines = [
        shapely.multilinestrings(shapely.linestrings(np.stack([edges.start, edges.end], axis=1)))
        for edges in (first, second)
    ]
    link = shapely.get_coordinates(shapely.shortest_line(*lines))
    x, y = link.mean(axis=0)
    return float(np.hypot(*(link[1] - link[0]))), float(x), float(y)
