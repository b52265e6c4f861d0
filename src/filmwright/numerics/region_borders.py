"""Which regions share a border, and along which lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from filmwright.numerics.region import MATCH_NM, Region

Lines = NDArray[np.float64]
"""Straight pieces, an array (n, 4) of x0, y0, x1, y1 [nm]."""


@dataclass(frozen=True)
class Border:
    """The common border of two regions of a list.

    Attributes
    ----------
    first, second : int
        Places in the list, ``first`` < ``second``.
    lines : array (n, 4) [nm]
    """

    first: int
    second: int
    lines: Lines

    @property
    def length(self) -> float:
        """Length of the border [nm]."""
        return length_of(self.lines)


def length_of(lines: Lines) -> float:
    """Summed length of straight pieces [nm]."""
    return float(np.hypot(lines[:, 2] - lines[:, 0], lines[:, 3] - lines[:, 1]).sum())


def _segments(regions: Sequence[Region]) -> tuple[Lines, NDArray[np.int64]]:
    """All border pieces with the region that each belongs to."""
    polygons, owner = shapely.get_parts([region.shape for region in regions], return_index=True)
    rings, polygon = shapely.get_rings(polygons, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    inner = ring[:-1] == ring[1:]
    return np.hstack([points[:-1][inner], points[1:][inner]]), owner[polygon[ring[:-1][inner]]]


def _near_pairs(pieces: Lines) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Pairs of pieces whose boxes touch within the tolerance, each once."""
    low = np.minimum(pieces[:, :2], pieces[:, 2:]) - MATCH_NM
    high = np.maximum(pieces[:, :2], pieces[:, 2:]) + MATCH_NM
    # A search without predicate looks at boxes only, and a diagonal is made faster than its box.
    diagonals = shapely.linestrings(np.stack([low, high], axis=1))
    first, second = shapely.STRtree(diagonals).query(diagonals)
    once = first < second
    return first[once], second[once]


def _overlaps(a: Lines, b: Lines) -> tuple[NDArray[np.bool_], Lines]:
    """For pairs of pieces on one line: whether they overlap, and the common piece of each pair."""
    start, along = a[:, :2], a[:, 2:] - a[:, :2]
    length = np.hypot(along[:, 0], along[:, 1])
    unit = along / length[:, None]
    offsets = np.stack([b[:, :2] - start, b[:, 2:] - start], axis=1)
    beside = np.abs(offsets[..., 0] * unit[:, None, 1] - offsets[..., 1] * unit[:, None, 0]).max(axis=1)
    ahead = (offsets * unit[:, None, :]).sum(axis=2)
    begin = np.maximum(ahead.min(axis=1), 0.0)
    end = np.minimum(ahead.max(axis=1), length)
    matched = (beside < MATCH_NM) & (end - begin > MATCH_NM)
    common = np.hstack([start + unit * begin[:, None], start + unit * end[:, None]])
    return matched, common


def borders(regions: Sequence[Region]) -> tuple[Border, ...]:
    """The common borders of regions without common area, ordered by the two regions.

    Pieces count as common when they lie on one line within :data:`MATCH_NM`, so a vertex that only one side has does
    not hide a border, and a common corner is none.
    """
    pieces, owners = _segments(regions)
    long = np.hypot(pieces[:, 2] - pieces[:, 0], pieces[:, 3] - pieces[:, 1]) > MATCH_NM
    pieces, owners = pieces[long], owners[long]
    if not len(pieces):
        return ()
    first, second = _near_pairs(pieces)
    apart = owners[first] != owners[second]
    first, second = first[apart], second[apart]
    matched, common = _overlaps(pieces[first], pieces[second])
    low = np.minimum(owners[first], owners[second])[matched]
    high = np.maximum(owners[first], owners[second])[matched]
    common = common[matched]
    if not len(low):
        return ()
    order = np.lexsort((high, low))
    low, high, common = low[order], high[order], common[order]
    starts = np.flatnonzero(np.r_[True, (np.diff(low) != 0) | (np.diff(high) != 0)])
    ends = np.r_[starts[1:], len(low)]
    return tuple(
        Border(int(low[s]), int(high[s]), common[s:e])
        for s, e in zip(starts.tolist(), ends.tolist(), strict=True)
    )


def facing(one: Lines, other: Lines, gap: float) -> float:
    """Length of the pieces ``one`` that lie within ``gap`` [nm] of the pieces ``other`` [nm]."""
    near = shapely.buffer(_multi(other), gap, quad_segs=32)
    return float(shapely.length(shapely.intersection(_multi(one), near)))


def gap_between(one: Lines, other: Lines) -> float:
    """Shortest distance between two sets of pieces [nm]."""
    return float(shapely.distance(_multi(one), _multi(other)))


def _multi(lines: Lines) -> shapely.MultiLineString:
    return shapely.multilinestrings(shapely.linestrings(lines.reshape(-1, 2, 2)))


def holders(
    regions: Sequence[Region], points: Sequence[tuple[float, float]] | NDArray[np.float64]
) -> tuple[tuple[int, ...], ...]:
    """For each point [nm], which regions hold it (border included), in order."""
    hits: list[list[int]] = [[] for _ in points]
    for point, region in zip(*(each.tolist() for each in holding(regions, points)), strict=True):
        hits[point].append(region)
    return tuple(tuple(each) for each in hits)


def holding(
    regions: Sequence[Region], points: Sequence[tuple[float, float]] | NDArray[np.float64]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Pairs of a point [nm] and a region that holds it (border included), in order of the points, then of the regions."""
    tree = shapely.STRtree([region.shape for region in regions])
    places = shapely.points(np.asarray(points, dtype=float).reshape(-1, 2))
    asked, found = tree.query(places, predicate="intersects")
    order = np.lexsort((found, asked))
    return asked[order], found[order]


def along_sides(regions: Sequence[Region], boxes: NDArray[np.float64]) -> NDArray[np.float64]:
    """Which regions run along which sides of upright rectangles, as far as the sides reach.

    Parameters
    ----------
    regions : sequence of Region
    boxes : array (m, 4) [nm]
        x0, y0, x1, y1 of rectangles that are apart.

    Returns
    -------
    array (n, 5)
        Number of the region; of the rectangle; side (0 left, 1 lower, 2 right, 3 upper); from and to along the side [nm].
    """
    pieces, owners = _segments(regions)
    upright = [np.abs(pieces[:, axis] - pieces[:, axis + 2]) < MATCH_NM for axis in (0, 1)]
    straight = []
    for axis, each in enumerate(upright):
        lines = pieces[each]
        straight.append((lines[:, axis], np.sort(lines[:, [1 - axis, 3 - axis]], axis=1), owners[each]))
    found = []
    for number, box in enumerate(boxes):
        for side in range(4):
            axis = side % 2
            at, ends, owner = straight[axis]
            on = np.abs(at - box[side]) < MATCH_NM
            within = np.clip(ends, box[1 - axis], box[3 - axis])
            on &= within[:, 1] - within[:, 0] > MATCH_NM
            count = int(on.sum())
            found.append(
                np.column_stack([owner[on], np.full(count, number), np.full(count, side), within[on]])
            )
    return np.vstack(found)
