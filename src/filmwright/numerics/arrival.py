"""A front through places side by side, each with its own speed: when it arrives at their borders, and what it takes beyond."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from filmwright.numerics.coverage import Edges
from filmwright.numerics.region import Region

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

ROUNDS = 4
"""Most borders that a front crosses one after the other in one step."""
BENT_NM = 0.05
"""A border is divided until what is taken beyond it is linear within this [nm]."""
SHORTEST_NM = 0.5
"""Borders are not divided below this [nm]."""
BLOCK = 128
"""Points looked at together."""
CUTS = 4.0
"""A border is cut opposite the ends of the edges that a front leaves, at places as far apart as its reach over this."""
LEAST_NM = 0.1
"""Fronts that get less far than this beyond a border [nm] wait for the next step."""


@dataclass(frozen=True, eq=False)
class Timed:
    """Directed edges that a front leaves into their own cell at given times, linear along each.

    Attributes
    ----------
    start, end : array (n, 2) [nm]
    cell : array (n,)
    first, last : array (n,) [s]
        When it leaves the start and the end.
    """

    start: Floats
    end: Floats
    cell: Ints
    first: Floats
    last: Floats

    def where(self, mask: NDArray[np.bool_]) -> Timed:
        """The edges that a mask picks."""
        return Timed(self.start[mask], self.end[mask], self.cell[mask], self.first[mask], self.last[mask])


def arrival(points: Floats, through: Ints, sources: Timed, speeds: Floats) -> Floats:
    """When a front that leaves edges at their times first arrives at points, array (n,) [s]; infinite where none comes.

    For an edge that is left at t + g·s along its length s, the fastest way to a point at height h beside the edge leaves it
    h·g·v / √(1 - (g·v)²) before the foot of the perpendicular.

    Parameters
    ----------
    points : array (n, 2) [nm]
    through : array (n,)
        The cell through which the front comes to each: only edges that it leaves into that cell count.
    sources : Timed
    speeds : array (cells,) [nm/s]
    """
    along = sources.end - sources.start
    length = np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-9)
    unit = along / length[:, None]
    speed = speeds[sources.cell]
    slope = np.clip((sources.last - sources.first) / length * speed, -0.999999, 0.999999)
    lead = slope / np.sqrt(1 - slope**2)
    rise = (sources.last - sources.first) / length
    across, up = points[:, :1] - sources.start[:, 0], points[:, 1:] - sources.start[:, 1]
    foot = across * unit[:, 0] + up * unit[:, 1]
    height = np.abs(across * unit[:, 1] - up * unit[:, 0])
    at = np.minimum(np.maximum(foot - height * lead, 0.0), length)
    time = sources.first + rise * at + np.hypot(height, foot - at) / speed
    time[through[:, None] != sources.cell] = np.inf
    return np.asarray(time.min(axis=1))


def crossings_of(sources: Timed, borders: Edges, speeds: Floats, budget: float) -> Timed:
    """Edges of cells beyond borders that a front reaches within a budget of time, with when it does.

    Parameters
    ----------
    sources : Timed
        Edges that it leaves.
    borders : Edges
        Edges of the cells beyond; ``other`` is the cell through which it comes.
    speeds : array (cells,) [nm/s]
    budget : float [s]
    """
    found: list[Timed] = []
    borders = borders.where(speeds[borders.cell] * budget > LEAST_NM)
    for _ in range(ROUNDS):
        sources = _reached(sources, borders.where(np.isin(borders.other, sources.cell)), speeds, budget)
        if len(sources.cell) == 0:
            break
        found.append(sources)
    return _together(found)


def _together(parts: list[Timed]) -> Timed:
    if not parts:
        return Timed(np.empty((0, 2)), np.empty((0, 2)), np.empty(0, np.int64), np.empty(0), np.empty(0))
    return Timed(
        np.vstack([each.start for each in parts]),
        np.vstack([each.end for each in parts]),
        np.concatenate([each.cell for each in parts]),
        np.concatenate([each.first for each in parts]),
        np.concatenate([each.last for each in parts]),
    )


def _reached(sources: Timed, borders: Edges, speeds: Floats, budget: float) -> Timed:
    reach = float(speeds.max()) * budget
    near = _near(borders.start, borders.end, sources, reach)
    start, end, cell, via = _opposite(borders.where(near), sources, reach)
    done: list[Timed] = []
    first, last = (_soon(points, via, sources, speeds, reach) for points in (start, end))
    while len(cell):
        middle, length = (start + end) / 2, np.hypot(*(end - start).T)
        half = _soon(middle, via, sources, speeds, reach + float(length.max()) / 2)
        # A front gets no faster along a border than by its speed, so these are not reached anywhere.
        near = half - length / 2 / speeds[via] < budget
        with np.errstate(invalid="ignore"):
            bent = ~(np.abs(half - (first + last) / 2) * speeds[cell] <= BENT_NM)
        bent |= (np.minimum(first, last) >= budget) & (half >= budget)
        split = near & bent & (length > 2 * SHORTEST_NM)
        whole = near & ~split
        done.append(Timed(start[whole], end[whole], cell[whole], first[whole], last[whole]))
        start, end = np.vstack([start[split], middle[split]]), np.vstack([middle[split], end[split]])
        first, last = np.concatenate([first[split], half[split]]), np.concatenate([half[split], last[split]])
        cell, via = np.concatenate([cell[split]] * 2), np.concatenate([via[split]] * 2)
    return _within(_together(done), speeds, budget)


def _opposite(borders: Edges, sources: Timed, reach: float) -> tuple[Floats, Floats, Ints, Ints]:
    """Borders cut opposite the ends of the edges that a front leaves, so that none passes unseen between both of its ends."""
    tips, owner = np.vstack([sources.start, sources.end]), np.concatenate([sources.cell, sources.cell])
    cuts: list[Floats] = []
    for k in range(len(borders.cell)):
        one, two = borders.start[k], borders.end[k]
        length = float(borders.length[k])
        unit = (two - one) / length
        apart = tips[owner == borders.other[k]] - one
        foot, height = apart @ unit, np.abs(apart @ np.array([-unit[1], unit[0]]))
        inside = (foot > SHORTEST_NM) & (foot < length - SHORTEST_NM) & (height < reach)
        shares = np.unique(np.round(foot[inside] * CUTS / reach)) * reach / CUTS / length
        cuts.append(np.concatenate([[0.0], shares[(shares > 0) & (shares < 1)], [1.0]]))
    count = np.array([len(each) - 1 for each in cuts], dtype=np.int64)
    edge = np.repeat(np.arange(len(cuts)), count)
    low = np.concatenate([each[:-1] for each in cuts]) if cuts else np.empty(0)
    high = np.concatenate([each[1:] for each in cuts]) if cuts else np.empty(0)
    along = borders.end[edge] - borders.start[edge]
    start, end = borders.start[edge] + low[:, None] * along, borders.start[edge] + high[:, None] * along
    return (
        start,
        np.where((high == 1.0)[:, None], borders.end[edge], end),
        borders.cell[edge],
        borders.other[edge],
    )


def _soon(points: Floats, via: Ints, sources: Timed, speeds: Floats, reach: float) -> Floats:
    """Arrival at points from edges within reach; later, or never, from those farther away."""
    found = np.full(len(points), np.inf)
    left = np.minimum(sources.start[:, 0], sources.end[:, 0]) - reach
    right = np.maximum(sources.start[:, 0], sources.end[:, 0]) + reach
    order = np.argsort(points[:, 0], kind="stable")
    for begin in range(0, len(order), BLOCK):
        some = order[begin : begin + BLOCK]
        x = points[some, 0]
        close = (left <= x.max()) & (right >= x.min())
        if close.any():
            found[some] = arrival(points[some], via[some], sources.where(close), speeds)
    return found


def _near(start: Floats, end: Floats, sources: Timed, reach: float) -> NDArray[np.bool_]:
    """Edges whose box lies within reach of the box of the sources."""
    low = np.minimum(sources.start.min(axis=0), sources.end.min(axis=0)) - reach
    high = np.maximum(sources.start.max(axis=0), sources.end.max(axis=0)) + reach
    return np.asarray(
        np.all(np.maximum(start, end) >= low, axis=1) & np.all(np.minimum(start, end) <= high, axis=1)
    )


def _within(edges: Timed, speeds: Floats, budget: float) -> Timed:
    """The parts of edges that are reached before the budget ends, and early enough to get anywhere."""
    early = np.minimum(edges.first, edges.last)
    edges = edges.where((budget - early) * speeds[edges.cell] > LEAST_NM)
    span = edges.last - edges.first
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(span != 0, (budget - edges.first) / span, 1.0)
    share = np.where(np.isfinite(share), share, 1.0)
    cut = edges.start + np.clip(share, 0.0, 1.0)[:, None] * (edges.end - edges.start)
    late_first, late_last = edges.first > budget, edges.last > budget
    return Timed(
        np.where(late_first[:, None], cut, edges.start),
        np.where(late_last[:, None], cut, edges.end),
        edges.cell,
        np.minimum(edges.first, budget),
        np.minimum(edges.last, budget),
    )


def taken(edges: Timed, speeds: Floats, budget: float, corners: int) -> Mapping[int, Region]:
    """What a front takes of each cell until a budget of time ends: discs about every point of its edges, as large as the time
    that is left there allows. Discs are replaced by polygons of ``corners`` tangents.
    """
    angle = 2 * np.pi * (np.arange(corners) + 0.5) / corners
    disc = np.column_stack([np.cos(angle), np.sin(angle)]) / np.cos(np.pi / corners)
    speed = speeds[edges.cell]
    one = edges.start[:, None, :] + ((budget - edges.first) * speed)[:, None, None] * disc
    two = edges.end[:, None, :] + ((budget - edges.last) * speed)[:, None, None] * disc
    hulls: Any = shapely.convex_hull(shapely.multipoints(shapely.points(np.concatenate([one, two], axis=1))))
    return {
        cell: Region(shapely.union_all(hulls[edges.cell == cell])) for cell in np.unique(edges.cell).tolist()
    }
