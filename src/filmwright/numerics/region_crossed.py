"""Which regions a line runs through, one after the other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from filmwright.numerics.region import MATCH_NM, Polyline, Region

Runs = tuple[tuple[int, float, float], ...]
"""Region, and from where to where along the line [nm]."""


def crossed(regions: Sequence[Region], lines: Sequence[Polyline]) -> tuple[Runs, ...]:
    """For each line the regions that it runs through, in order, each with the interval of the line's own length.

    Regions that share no area are met one after the other; a run shorter than :data:`MATCH_NM` is left out.

    Parameters
    ----------
    regions : sequence of Region
    lines : sequence of Polyline
        Straight: of more than two points only the first and the last count.
    """
    ends = np.array([(line.points[0], line.points[-1]) for line in lines])
    paths = shapely.linestrings(ends)
    shapes = np.array([region.shape for region in regions], dtype=object)
    line, region = shapely.STRtree(shapes).query(paths)
    inside, pair = shapely.get_parts(shapely.intersection(paths[line], shapes[region]), return_index=True)
    points, piece = shapely.get_coordinates(inside, return_index=True)
    owner = line[pair[piece]]
    along = ends[:, 1] - ends[:, 0]
    unit = along / np.hypot(*along.T)[:, None]
    place = ((points - ends[owner, 0]) * unit[owner]).sum(axis=1)
    low, high = np.full(len(inside), np.inf), np.full(len(inside), -np.inf)
    np.minimum.at(low, piece, place)
    np.maximum.at(high, piece, place)
    found: list[list[tuple[int, float, float]]] = [[] for _ in lines]
    for k in np.flatnonzero(high - low > MATCH_NM).tolist():
        found[line[pair[k]]].append((int(region[pair[k]]), float(low[k]), float(high[k])))
    return tuple(tuple(sorted(runs, key=lambda run: run[1])) for runs in found)


def held(region: Region, points: Sequence[tuple[float, float]]) -> tuple[bool, ...]:
    """Which points [nm] lie inside a region or on its border.

    Parameters
    ----------
    region : Region
    points : sequence of (x, y) [nm]
    """
    if not points:
        return ()
    shapely.prepare(region.shape)
    x, y = np.array(points, dtype=float).T
    return tuple(shapely.intersects_xy(region.shape, x, y).tolist())
