"""Vertical decomposition: polygons as columns of trapezoids, and what can be read off such columns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from filmwright.numerics.coverage import polygonal, segments
from filmwright.numerics.profile import Profile, over
from filmwright.numerics.region import GRID_NM, Region

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Columns:
    """Trapezoids between neighbouring vertical lines through all vertices, from the top of each slab down.

    Attributes
    ----------
    x : array (n + 1,) [nm]
        The lines; slab k lies between lines k and k + 1.
    slab, cell : array (m,)
        Slab of each trapezoid and index of the polygon that it belongs to.
    bottom, top : array (m, 2) [nm]
        Heights at the left and right side of the slab.
    """

    x: Floats
    slab: Ints
    cell: Ints
    bottom: Floats
    top: Floats

    @cached_property
    def first(self) -> Ints:
        """Index of the uppermost trapezoid of each slab, array (n + 1,); the last entry closes the list."""
        return np.searchsorted(self.slab, np.arange(len(self.x)))


def columns(regions: Sequence[Region], spans: Sequence[tuple[float, float]]) -> Columns:
    """The vertical decomposition of polygons without common area, inside intervals of x.

    Parameters
    ----------
    regions : sequence of Region
    spans : sequence of (from, to) [nm]
        In order, without overlap.
    """
    start, end, cell = segments(shapely.orient_polygons(_shapes(regions)))
    steep = start[:, 0] == end[:, 0]
    start, end, cell = start[~steep], end[~steep], cell[~steep]
    is_top = start[:, 0] > end[:, 0]
    left = np.where(is_top[:, None], end, start)
    right = np.where(is_top[:, None], start, end)
    low, high = np.array(spans, dtype=float).reshape(-1, 2).T
    x = np.unique(np.concatenate([left[:, 0], right[:, 0], low, high]))
    x = x[(x >= low[0]) & (x <= high[-1])]
    middle = (x[:-1] + x[1:]) / 2
    within = np.searchsorted(low, middle, side="right") - 1
    wanted = (within >= 0) & (middle < high[within])
    rank = np.concatenate([[0], np.cumsum(wanted)])
    slabs = np.flatnonzero(wanted)

    first = rank[np.clip(np.searchsorted(x, left[:, 0]), 0, len(x) - 1)]
    count = np.maximum(rank[np.clip(np.searchsorted(x, right[:, 0]), 0, len(x) - 1)] - first, 0)
    edge = np.repeat(np.arange(len(left)), count)
    slab = first[edge] + np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count)
    slab = slabs[slab]
    z = np.column_stack([_height(left, right, edge, x[slab]), _height(left, right, edge, x[slab + 1])])
    order = np.lexsort((is_top[edge], z.sum(axis=1), cell[edge], slab))
    z, slab, owner = z[order], slab[order], cell[edge][order]
    bottom, top, slab, owner = z[0::2], z[1::2], slab[0::2], owner[0::2]
    order = np.lexsort((-(bottom + top).sum(axis=1), slab))
    return Columns(x, slab[order], owner[order], bottom[order], top[order])


def _shapes(regions: Sequence[Region]) -> Any:
    shapes = np.empty(len(regions), dtype=object)
    shapes[:] = [region.shape for region in regions]
    return shapes


def _height(left: Floats, right: Floats, edge: Ints, x: Floats) -> Floats:
    a, b = left[edge], right[edge]
    share = (x - a[:, 0]) / (b[:, 0] - a[:, 0])
    return np.where(share >= 1.0, b[:, 1], a[:, 1] + share * (b[:, 1] - a[:, 1]))


def floor_of(region: Region) -> Profile:
    """What one sees when looking straight down into a region that is open at its top."""
    x0, _, x1, _ = region.bounds
    found = columns([region], [(x0, x1)])
    upper = found.first[:-1]
    upper = upper[found.first[1:] > upper]
    slab = found.slab[upper]
    z = found.bottom[upper]
    return Profile(found.x[slab], found.x[slab + 1], z[:, 0], z[:, 1])


def descent(found: Columns, slowness: Floats, budget: float) -> tuple[Profile, Profile, NDArray[np.bool_]]:
    """How far a budget reaches down each column when every cell costs ``slowness`` per length and gaps are
    free.

    Inside a trapezoid the cost is linear in x, so the heights reached are exact: a slab is cut where the
    budget ends on a border.

    Parameters
    ----------
    found : Columns
    slowness : array (cells,) [budget / nm]
        Infinite where nothing passes.
    budget : float

    Returns
    -------
    Profile
        The heights reached.
    Profile
        The heights started from, on the same pieces.
    array of bool
        Whether each piece ended at something that lets nothing pass.
    """
    slabs = np.flatnonzero(found.first[1:] > found.first[:-1])
    near = np.tile([0.0, 1.0], (len(slabs), 1))
    spent = np.zeros((len(slabs), 2))
    done: list[tuple[Ints, Floats, Floats, NDArray[np.bool_]]] = []
    depth = 0
    while len(slabs):
        after = _after(found, slowness, slabs, near, spent, depth)
        mixed = ((after[:, 0] < budget) != (after[:, 1] < budget)) & np.isfinite(after[:, 0])
        if mixed.any():
            share = ((budget - after[mixed, 0]) / (after[mixed, 1] - after[mixed, 0]))[:, None]
            parts = [slabs, slabs[mixed]]
            cut = _between(near[mixed], share)
            half = _between(spent[mixed], share)
            right, right_spent = np.hstack([cut, near[mixed, 1:]]), np.hstack([half, spent[mixed, 1:]])
            near[mixed, 1:], spent[mixed, 1:] = cut, half
            slabs, near, spent = (
                np.concatenate(parts),
                np.vstack([near, right]),
                np.vstack([spent, right_spent]),
            )
            after = _after(found, slowness, slabs, near, spent, depth)
        at = found.first[slabs] + depth
        slow = slowness[found.cell[at]]
        shut = np.isinf(slow)
        on = (after.mean(axis=1) < budget) & ~shut
        top, bottom = _between(found.top[at], near), _between(found.bottom[at], near)
        fall = np.maximum(budget - spent, 0.0) / np.where(shut, 1.0, slow)[:, None]
        reached = np.where(on[:, None], bottom, np.maximum(top - np.where(shut[:, None], 0.0, fall), bottom))
        final = ~on | (at + 1 >= found.first[slabs + 1])
        done.append((slabs[final], near[final], reached[final], shut[final]))
        slabs, near, spent = slabs[~final], near[~final], after[~final]
        depth += 1
    return _collected(found, done)


def _after(found: Columns, slowness: Floats, slabs: Ints, near: Floats, spent: Floats, depth: int) -> Floats:
    """What has been spent at the bottom of the trapezoids of one depth."""
    at = found.first[slabs] + depth
    height = np.maximum(_between(found.top[at], near) - _between(found.bottom[at], near), 0.0)
    slow = slowness[found.cell[at]]
    shut = np.isinf(slow)
    return np.where(shut[:, None], np.inf, spent + np.where(shut, 0.0, slow)[:, None] * height)


def _collected(
    found: Columns, done: Sequence[tuple[Ints, Floats, Floats, NDArray[np.bool_]]]
) -> tuple[Profile, Profile, NDArray[np.bool_]]:
    slab, share, z, stop = (np.concatenate([part[k] for part in done]) for k in range(4))
    x = _between(np.column_stack([found.x[slab], found.x[slab + 1]]), share)
    top = _between(found.top[found.first[slab]], share)
    order = np.lexsort((x[:, 1], x[:, 0]))
    x, z, top, stop = x[order], z[order], top[order], stop[order]
    return Profile(x[:, 0], x[:, 1], z[:, 0], z[:, 1]), Profile(x[:, 0], x[:, 1], top[:, 0], top[:, 1]), stop


def excavated(found: Columns, slowness: Floats, budget: float, deeper: float) -> Region:
    """Everything above the heights that a descent reaches, where it reaches anything.

    Parameters
    ----------
    found, slowness, budget
        As of :func:`descent`.
    deeper : float [nm]
        By how much the region goes into what lets nothing pass, so that rounding leaves nothing on it.
    """
    if len(found.slab) == 0:
        return Region(shapely.MultiPolygon())
    front, start, stopped = descent(found, slowness, budget)
    moved = (start.z0 - front.z0 > GRID_NM) | (start.z1 - front.z1 > GRID_NM)
    low = np.where(stopped, deeper, 0.0)
    front = Profile(front.x0, front.x1, front.z0 - low, front.z1 - low)[moved]
    ceiling = float(np.max(found.top)) + 1.0
    pieces = [over(front[run], ceiling).shape for run in front.runs(np.inf)] if len(front.x0) else []
    return Region(polygonal(shapely.union_all(pieces, grid_size=GRID_NM)))


def _between(ends: Floats, share: Floats) -> Floats:
    """Values at shares (n, k) of the way between two ends (n, 2)."""
    return np.asarray(ends[:, :1] + share * (ends[:, 1:] - ends[:, :1]))


def crossings(regions: Sequence[Region], x: float) -> list[tuple[int, float, float]]:
    """Where the vertical line at ``x`` [nm] runs inside regions: (index, bottom, top) [nm] from the lowest
    up."""
    start, end, cell = segments(_shapes(regions))
    low, high = np.minimum(start[:, 0], end[:, 0]), np.maximum(start[:, 0], end[:, 0])
    hit = (low <= x) & (x < high)
    start, end, cell = start[hit], end[hit], cell[hit]
    z = start[:, 1] + (x - start[:, 0]) / (end[:, 0] - start[:, 0]) * (end[:, 1] - start[:, 1])
    order = np.lexsort((z, cell))
    cell, z = cell[order], z[order]
    found = [(int(c), float(a), float(b)) for c, a, b in zip(cell[::2], z[::2], z[1::2], strict=True)]
    return sorted(found, key=lambda entry: entry[1] + entry[2])
