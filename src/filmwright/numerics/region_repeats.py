"""What repeats itself in a drawing: windows that hold the same shapes, each listed once with the places where it lies.

Shapes of all layers are gathered into *clusters*: shapes whose boxes, grown by a margin on every side, meet. Round each
cluster lies a window in the border of which, as wide as the margin, nothing is drawn. Windows with the same content, seen
from their own corner, are one :class:`Repeat`. What lies outside all windows is the :attr:`Repeats.field`.

A large cluster that repeats itself within (cells on common lines) is cut along its period into *tiles*. A tile is looked at
together with a *halo* as wide as the margin, so that what happens near its border is known on both sides.

Where little repeats, the whole drawing is one window.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from filmwright.numerics.region import Region, clusters
from filmwright.numerics.region_period import period_of

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

FINEST_NM = 2.0**-6
"""Shapes that differ by less than this [nm] are the same shape; rounding to the grid of a file is less."""

BATCH = 500
"""Shapes that do not repeat are taken together, about so many at a time: fewer make many windows, more make each slow."""

WORTH = 0.5
"""Part of the shapes that may be left for it to be worth while to look at repeats once."""

_BLOCK = 8
"""Tiles along each side of a block by which long shapes are cut first."""

LARGE = 100
"""Clusters with more shapes than this are searched for a period."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Repeat:
    """Windows with the same content.

    Attributes
    ----------
    windows : array (m, 4) [nm]
        x0, y0, x1, y1 at the first place; more than one only where it lies at one place.
    reach : array (m, 4) [nm]
        The windows with their halo; equal to them where nothing is drawn near their borders.
    offsets : array (n, 2) [nm]
        From the first place to each place; the first is (0, 0).
    """

    windows: Floats
    reach: Floats
    offsets: Floats

    @property
    def count(self) -> int:
        """At how many places it lies."""
        return len(self.offsets)

    @cached_property
    def haloed(self) -> bool:
        """Whether more is looked at than the windows themselves."""
        return not np.array_equal(self.windows, self.reach)

    @cached_property
    def core(self) -> Region:
        """The windows at the first place."""
        return Region.gathered([Region.box(*window) for window in self.windows.tolist()])

    @cached_property
    def looked_at(self) -> Region:
        """The windows with their halo at the first place."""
        return Region.gathered([Region.box(*window) for window in self.reach.tolist()])

    def at(self, places: Ints) -> Repeat:
        """The same at some of its places only."""
        offsets = self.offsets[places]
        move = np.tile(offsets[0], 2)
        return Repeat(windows=self.windows + move, reach=self.reach + move, offsets=offsets - offsets[0])


@dataclass(frozen=True, kw_only=True, eq=False)
class Repeats:
    """A drawing as windows that repeat.

    Attributes
    ----------
    found : tuple of Repeat
    field : tuple of Region
        The separate pieces of what lies outside all windows.
    """

    found: tuple[Repeat, ...]
    field: tuple[Region, ...] = ()

    @classmethod
    def none(cls, area: Region) -> Repeats:
        """All of an area as one window."""
        box = np.array([area.bounds])
        return cls(found=(Repeat(windows=box, reach=box, offsets=np.zeros((1, 2))),))


def repeats(layers: Sequence[Region], area: Region, margin: float) -> Repeats:
    """What repeats itself in a drawing.

    Parameters
    ----------
    layers : sequence of Region
        Everything that is drawn and matters.
    area : Region
        The rectangle within which it matters.
    margin : float [nm]
        How far what is done to a shape may reach.
    """
    shapes, layer = _shapes(layers, area)
    if not len(shapes):
        return Repeats.none(area)
    boxes = shapely.bounds(shapes)
    frame = np.array(area.bounds)
    home, windows = _windows(boxes, frame, margin)
    tiles = _Tiles(shapes, layer, frame, margin)
    groups = _alike(shapes, layer, home, windows, frame)
    single = [int(group[0]) for group in groups if len(group) == 1]
    found = [_repeat(windows, group) for group in groups if len(group) > 1]
    distinct = sum(int((home == group[0]).sum()) for group in groups if len(group) > 1)
    batched: list[int] = []
    for cluster in single:
        members = np.flatnonzero(home == cluster)
        cut = tiles.of(members, windows[cluster]) if len(members) > LARGE else None
        if cut is None:
            batched.append(cluster)
            distinct += len(members)
        else:
            found += cut[0]
            distinct += cut[1]
    if distinct > WORTH * len(shapes) and len(shapes) <= 4 * BATCH:
        return Repeats.none(area)
    found += _batches(home, windows, batched)
    return Repeats(found=tuple(found), field=_field(area, windows))


def _shapes(layers: Sequence[Region], area: Region) -> tuple[NDArray[np.object_], Ints]:
    """All separate shapes that reach into an area, cut at its border, and the layer of each."""
    parts, layer = shapely.get_parts(
        np.array([region.shape for region in layers], dtype=object), return_index=True
    )
    parts, layer = parts[~shapely.is_empty(parts)], layer[~shapely.is_empty(parts)]
    x0, y0, x1, y1 = area.bounds
    low_x, low_y, high_x, high_y = shapely.bounds(parts).T
    there = (low_x < x1) & (high_x > x0) & (low_y < y1) & (high_y > y0)
    parts, layer, inside = (
        parts[there],
        layer[there],
        ((low_x >= x0) & (high_x <= x1) & (low_y >= y0) & (high_y <= y1))[there],
    )
    if inside.all():
        return parts, layer
    cut, owner = shapely.get_parts(shapely.intersection(parts[~inside], area.shape), return_index=True)
    flat = (shapely.get_dimensions(cut) == 2) & ~shapely.is_empty(cut)
    return np.concatenate([parts[inside], cut[flat]]), np.concatenate(
        [layer[inside], layer[~inside][owner[flat]]]
    )


def _windows(boxes: Floats, frame: Floats, margin: float) -> tuple[Ints, Floats]:
    """The cluster of each shape, and the window of each cluster within a frame; windows are apart."""
    home = np.arange(len(boxes))
    windows = boxes + np.array([-margin, -margin, margin, margin])
    while True:
        number = clusters(windows)
        count = int(number.max()) + 1
        if count == len(windows):
            break
        home = number[home]
        low = np.full((count, 2), np.inf)
        high = np.full((count, 2), -np.inf)
        np.minimum.at(low, number, windows[:, :2])
        np.maximum.at(high, number, windows[:, 2:])
        windows = np.hstack([low, high])
    windows[:, :2] = np.maximum(windows[:, :2], frame[:2])
    windows[:, 2:] = np.minimum(windows[:, 2:], frame[2:])
    return home, windows


def _alike(
    shapes: NDArray[np.object_], layer: Ints, home: Ints, windows: Floats, frame: Floats
) -> list[Ints]:
    """Windows with the same content, each group in order; shapes are numbered by the window that holds them."""
    groups: dict[bytes, list[int]] = {}
    for number, content in enumerate(_contents(shapes, layer, home, windows, frame)):
        groups.setdefault(content, []).append(number)
    return [np.array(group) for group in groups.values()]


def _contents(
    shapes: NDArray[np.object_], layer: Ints, home: Ints, windows: Floats, frame: Floats
) -> list[bytes]:
    """What each window holds, as bytes that are equal for equal content."""
    corner = windows[:, :2]
    shapes = shapely.normalize(shapes)
    coordinates, owner = shapely.get_coordinates(shapes, return_index=True)
    counts = np.bincount(owner, minlength=len(shapes))
    starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
    rounded = np.rint((coordinates - corner[home[owner]]) / FINEST_NM).astype(np.int64)
    boxes = np.rint((shapely.bounds(shapes) - np.tile(corner, 2)[home]) / FINEST_NM).astype(np.int64)
    rings = shapely.get_num_interior_rings(shapes)
    order = np.lexsort((counts, *boxes.T, layer, home))
    heads = np.column_stack([layer, rings, counts])[order]
    sorted_counts = counts[order]
    shift = starts[order] - np.concatenate([[0], np.cumsum(sorted_counts)[:-1]])
    points = rounded[np.repeat(shift, sorted_counts) + np.arange(len(rounded))]
    ends_points = np.cumsum(np.bincount(home[owner], minlength=len(windows)))
    ends_shapes = np.cumsum(np.bincount(home, minlength=len(windows)))
    size = np.rint((windows[:, 2:] - corner) / FINEST_NM).astype(np.int64)
    at_frame = (windows == frame).astype(np.int64)
    tails = np.hstack([size, at_frame])
    found, shape, point = [], 0, 0
    for number in range(len(windows)):
        next_shape, next_point = int(ends_shapes[number]), int(ends_points[number])
        found.append(
            heads[shape:next_shape].tobytes() + points[point:next_point].tobytes() + tails[number].tobytes()
        )
        shape, point = next_shape, next_point
    return found


def _repeat(windows: Floats, group: Ints, reach: Floats | None = None) -> Repeat:
    first = windows[group[:1]]
    return Repeat(
        windows=first,
        reach=first if reach is None else reach[group[:1]],
        offsets=windows[group, :2] - first[:, :2],
    )


def _batches(home: Ints, windows: Floats, single: Sequence[int]) -> list[Repeat]:
    """Windows that do not repeat, taken together in the order of their places."""
    sizes = np.bincount(home, minlength=len(windows))
    ordered = sorted(single, key=lambda k: (windows[k, 1], windows[k, 0]))
    found, batch, held = [], [], 0
    for number in ordered:
        batch.append(number)
        held += int(sizes[number])
        if held >= BATCH:
            found.append(batch)
            batch, held = [], 0
    if batch:
        found.append(batch)
    return [Repeat(windows=windows[each], reach=windows[each], offsets=np.zeros((1, 2))) for each in found]


def _field(area: Region, windows: Floats) -> tuple[Region, ...]:
    """The separate pieces of an area outside windows that are apart from each other."""
    x0, y0, x1, y1 = area.bounds
    inner = (windows[:, 0] > x0) & (windows[:, 1] > y0) & (windows[:, 2] < x1) & (windows[:, 3] < y1)
    outer = area.shape
    if not inner.all():
        outer = shapely.difference(outer, shapely.union_all(shapely.box(*windows[~inner].T)))
    pieces = [
        part for part in shapely.get_parts(outer) if shapely.get_dimensions(part) == 2 and part.area > 0
    ]
    holes = shapely.box(*windows[inner].T)
    found = []
    for piece in pieces:
        mine = holes[shapely.covers(piece, holes)] if len(pieces) > 1 else holes
        rings = [*shapely.get_rings(piece)[1:], *shapely.get_exterior_ring(mine)]
        found.append(Region(shapely.polygons(shapely.get_exterior_ring(piece), rings) if rings else piece))
    return tuple(found)


class _Tiles:
    """Cuts a cluster that repeats itself within."""

    def __init__(self, shapes: NDArray[np.object_], layer: Ints, frame: Floats, margin: float) -> None:
        self.shapes, self.layer, self.frame, self.margin = shapes, layer, frame, margin

    def of(self, members: Ints, window: Floats) -> tuple[list[Repeat], int] | None:
        """Its tiles, and how many pieces of shapes the different ones hold; None where that spares nothing."""
        shapes, layer = self.shapes[members], self.layer[members]
        lines = [
            period_of(
                shapely.bounds(shapes), _forms(shapes, layer), shapely.get_coordinates(shapes), axis, window
            )
            for axis in (0, 1)
        ]
        if len(lines[0]) * len(lines[1]) <= 4:
            return None
        xs, ys = lines
        low_x, low_y = np.meshgrid(xs[:-1], ys[:-1])
        high_x, high_y = np.meshgrid(xs[1:], ys[1:])
        windows = np.column_stack([low_x.ravel(), low_y.ravel(), high_x.ravel(), high_y.ravel()])
        m = self.margin
        reach = windows + np.array([-m, -m, m, m])
        reach[:, :2] = np.maximum(reach[:, :2], window[:2])
        reach[:, 2:] = np.minimum(reach[:, 2:], window[2:])
        pieces, kind, home = _cut_in_blocks(shapes, layer, reach, (len(xs) - 1, len(ys) - 1))
        # Two tiles are alike when their halos are, and when both lie alike in them.
        groups: dict[bytes, list[int]] = {}
        for number, content in enumerate(_contents(pieces, kind, home, reach, self.frame)):
            inner = np.rint((windows[number] - np.tile(reach[number, :2], 2)) / FINEST_NM).astype(np.int64)
            groups.setdefault(content + inner.tobytes(), []).append(number)
        sizes = np.bincount(home, minlength=len(windows))
        distinct = int(sum(sizes[group[0]] for group in groups.values()))
        if distinct > WORTH * len(pieces):
            return None
        return [_repeat(windows, np.array(group), reach) for group in groups.values()], distinct


def _forms(shapes: NDArray[np.object_], layer: Ints) -> list[bytes]:
    """The form of each shape wherever it lies, as bytes."""
    boxes = shapely.bounds(shapes)
    return _contents(shapes, layer, np.arange(len(shapes)), boxes, np.full(4, np.nan))


def _cut_in_blocks(
    shapes: NDArray[np.object_], layer: Ints, boxes: Floats, grid: tuple[int, int]
) -> tuple[NDArray[np.object_], Ints, Ints]:
    """As :func:`_cut` for boxes in columns and rows: long shapes are cut by blocks of boxes before they are cut by each."""
    columns, rows = grid
    column, row = np.arange(columns * rows) % columns, np.arange(columns * rows) // columns
    block = column // _BLOCK + (row // _BLOCK) * (columns // _BLOCK + 1)
    members = [np.flatnonzero(block == number) for number in np.unique(block)]
    around = np.array([[*boxes[m, :2].min(axis=0), *boxes[m, 2:].max(axis=0)] for m in members])
    coarse, kind, home = _cut(shapes, layer, around)
    found = []
    for number, mine in enumerate(members):
        inside = home == number
        pieces, kinds, box = _cut(coarse[inside], kind[inside], boxes[mine])
        found.append((pieces, kinds, mine[box]))
    first, second, third = zip(*found, strict=True)
    return np.concatenate(first), np.concatenate(second), np.concatenate(third)


def _cut(shapes: NDArray[np.object_], layer: Ints, boxes: Floats) -> tuple[NDArray[np.object_], Ints, Ints]:
    """Shapes cut by boxes: the pieces, the layer and the box of each."""
    squares = shapely.box(*boxes.T)
    shape, box = shapely.STRtree(squares).query(shapes)
    inside = shapely.covered_by(shapes[shape], squares[box])
    cut: Any = shapes[shape].copy()
    crossed = ~inside
    cut[crossed] = shapely.intersection(cut[crossed], squares[box[crossed]])
    pieces, owner = shapely.get_parts(cut, return_index=True)
    full = (shapely.get_dimensions(pieces) == 2) & ~shapely.is_empty(pieces)
    return pieces[full], layer[shape[owner[full]]], box[owner[full]]


def boxes_holding(boxes: Floats, points: Floats) -> tuple[Ints, Ints]:
    """Pairs of a point and a box that holds it, border included, ordered by points.

    Parameters
    ----------
    boxes : array (n, 4)
        x0, y0, x1, y1.
    points : array (k, 2)

    Returns
    -------
    point, box : array of int
    """
    # A search without predicate looks at boxes only, and a diagonal has the box of its rectangle.
    tree = shapely.STRtree(shapely.linestrings(boxes.reshape(-1, 2, 2)))
    point, box = tree.query(shapely.points(points))
    order = np.lexsort((box, point))
    return point[order], box[order]


def boxes_meeting(ones: Floats, others: Floats) -> tuple[Ints, Ints]:
    """Pairs of boxes (n, 4) and (m, 4) that overlap or touch."""
    one, other = (shapely.linestrings(boxes.reshape(-1, 2, 2)) for boxes in (ones, others))
    found = shapely.STRtree(other).query(one)
    return found[0], found[1]


def linked(count: int, ones: Ints, others: Ints) -> Ints:
    """A number for each of ``count`` things, the same for things that links join, directly or through others.

    Numbers follow the first thing of each set.

    Parameters
    ----------
    count : int
    ones, others : array of int
        The two ends of each link.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    links = coo_array((np.ones(len(ones), dtype=np.int8), (ones, others)), shape=(count, count))
    numbers = connected_components(links, directed=False)[1]
    _, first, inverse = np.unique(numbers, return_index=True, return_inverse=True)
    rank = np.empty(len(first), dtype=np.int64)
    rank[np.argsort(first)] = np.arange(len(first))
    return rank[inverse.ravel()]
