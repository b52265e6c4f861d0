"""A surface under a sky: what each point sees of it, and the film that arrives there.

The ground hangs together and the sky lies above it, so from any point of the surface the open sky is one interval of angles:
its ends are the largest angle under which the surface to the left is seen and the smallest for the surface to the right,
both followed continuously along the surface. No ray is traced and no angle is sampled.

A point moves by the flux *vector* that it sees. Along the normal that is the flux that the surface receives, and the wedge of
sky that a point sees is free, so it moves through free space whatever the step. At an edge that sticks out the film is the fan
of the vectors seen by all tangents there.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from filmwright.numerics.coverage import polygonal
from filmwright.numerics.region import GRID_NM, Region
from filmwright.numerics.sky import Sky

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

BLOCK = 256
"""Points looked at together."""
AWAY = 60.0
"""What is farther away than this many times the height of all relief rises less than 1/60 and darkens by less than 1e-4."""
SHORTEST = 0.5
"""Stretches of surface are not divided below this [nm]: the width of an edge of shadow."""
LEAST_FILM = 0.1
"""Less film than this [nm] on a surface is no film: it is less than a layer of atoms."""
SMOOTHED = 0.01
"""By how much a surface is straightened before anything grows on it [nm]: far less than what is sunk."""
LOOPS = 4
"""How often small loops are looked for: a loop may lie within another."""
LEAST_VOID = 25.0
"""Smaller gaps, left where facets of two fronts met, are filled [nm²]."""
SUNK = 0.25
"""By how much pieces of film begin below the surface [nm], so that none comes apart from it."""


@dataclass(frozen=True, eq=False)
class Surface:
    """The border of the open outside from the left to the right.

    Attributes
    ----------
    points : array (n, 2) [nm]
    """

    points: Floats

    @classmethod
    def below(cls, ambient: Region, beyond: float) -> Surface:
        """The lower border of a region that is open at its top, going on level by ``beyond`` [nm] at both sides."""
        x0, _, x1, top = ambient.bounds
        parts = [part for part in shapely.get_parts(ambient.shape) if part.bounds[3] >= top - GRID_NM]
        part = max(parts, key=lambda each: each.area)
        ring = shapely.get_coordinates(shapely.orient_polygons(part).exterior)[:-1]
        first = int(np.argmin(np.hypot(ring[:, 0] - x0, ring[:, 1] - top)))
        ring = np.roll(ring, -first - 1, axis=0)
        last = int(np.argmin(np.hypot(ring[:, 0] - x1, ring[:, 1] - top)))
        line = ring[:last]
        ends = line[[0, -1]] + np.array([[-beyond, 0.0], [beyond, 0.0]])
        whole = shapely.linestrings(np.vstack([ends[:1], line, ends[1:]]))
        return cls(shapely.get_coordinates(shapely.simplify(whole, SMOOTHED, preserve_topology=False)))

    @property
    def tilt(self) -> Floats:
        """Angle of each edge's normal from straight up, array (n - 1,) [rad]."""
        along = np.diff(self.points, axis=0)
        return np.arctan2(-along[:, 1], along[:, 0])

    @property
    def length(self) -> Floats:
        """Length of each edge, array (n - 1,) [nm]."""
        return np.asarray(np.hypot(*np.diff(self.points, axis=0).T))

    def seen(self, at: Floats, left: Ints, right: Ints) -> tuple[Floats, Floats]:
        """Lowest and highest angle of the open sky from points on the surface, arrays (m,) [rad]; none where they are the
        wrong way round.

        Parameters
        ----------
        at : array (m, 2) [nm]
        left, right : array (m,)
            Indices of the next vertices on either side.
        """
        low, high = np.empty((2, len(at)))
        across = self.points[:, 0]
        away = AWAY * (float(np.ptp(self.points[:, 1])) + 1.0)
        order = np.argsort(left, kind="stable")
        for begin in range(0, len(at), BLOCK):
            some = order[begin : begin + BLOCK]
            x = at[some, 0]
            near = np.flatnonzero((across > x.min() - away) & (across < x.max() + away))
            first, last = int(left[some].min()), int(right[some].max())
            if len(near):
                first, last = min(first, int(near[0]) - 1), max(last, int(near[-1]) + 1)
            first, last = max(first, 0), min(last, len(across) - 1)
            low[some], high[some] = _horizons(
                self.points[first : last + 1], at[some], left[some] - first, right[some] - first
            )
        return np.maximum(low, -np.pi / 2), np.minimum(high, np.pi / 2)


def _horizons(line: Floats, at: Floats, left: Ints, right: Ints) -> tuple[Floats, Floats]:
    """Largest angle of the line up to ``left`` and smallest from ``right`` on, followed from its ends."""
    angle = np.arctan2(line[:, 0] - at[:, :1], line[:, 1] - at[:, 1:])
    turn = np.diff(angle, axis=1)
    turn -= 2 * np.pi * np.round(turn / (2 * np.pi))
    followed = np.concatenate([np.zeros((len(at), 1)), np.cumsum(turn, axis=1)], axis=1)
    place = np.arange(len(line))
    west = np.where(place <= left[:, None], followed, -np.inf).max(axis=1) + angle[:, 0]
    east = np.where(place >= right[:, None], followed, np.inf).min(axis=1)
    return west, east - followed[:, -1] + angle[:, -1]


def received(surface: Surface, sky: Sky, at: Floats, edge: Ints) -> Floats:
    """Flux vector at points on edges of a surface, array (m, 2); points at the very end of an edge see as the edge does.

    Parameters
    ----------
    surface : Surface
    sky : Sky
    at : array (m, 2) [nm]
    edge : array (m,)
        The edge on which each lies.
    """
    low, high = surface.seen(at, edge, edge + 1)
    return _facing(sky, low, high, surface.tilt[edge])


def _facing(sky: Sky, low: Floats, high: Floats, tilt: Floats) -> Floats:
    """Flux vector on a surface of a given tilt from an interval of open sky."""
    return sky.between(np.maximum(low, tilt - np.pi / 2), np.minimum(high, tilt + np.pi / 2))


@dataclass(frozen=True, kw_only=True)
class _Step:
    """A step of time: film on open flat ground, by how much its outline may differ, and what is no film [nm]."""

    thickness: float
    tolerance: float
    least: float


@dataclass(frozen=True, eq=False)
class _Pieces:
    """Stretches of edges: both ends, and by how much the film moves each."""

    edge: Ints
    start: Floats
    end: Floats
    move_start: Floats
    move_end: Floats


def _divided(surface: Surface, sky: Sky, step: _Step, one: Floats, two: Floats) -> _Pieces:
    """Edges cut in halves until the film is linear along each; ``one`` and ``two`` are the moves of their ends."""
    edge, start, end, one, two = _under_lips(surface, sky, step, one, two)
    done: list[tuple[Ints, Floats, Floats, Floats, Floats]] = []
    while len(edge):
        middle = (start + end) / 2
        half = received(surface, sky, middle, edge) * step.thickness
        half *= (_along(half, surface.tilt[edge]) > step.least)[:, None]
        split = np.hypot(*(half - (one + two) / 2).T) > step.tolerance
        split &= np.hypot(*(end - start).T) > 2 * SHORTEST
        done.append((edge[~split], start[~split], end[~split], one[~split], two[~split]))
        start, end = np.vstack([start[split], middle[split]]), np.vstack([middle[split], end[split]])
        one, two = np.vstack([one[split], half[split]]), np.vstack([half[split], two[split]])
        edge = np.concatenate([edge[split], edge[split]])
    return _Pieces(*(np.concatenate([each[k] for each in done]) for k in range(5)))


def _under_lips(
    surface: Surface, sky: Sky, step: _Step, one: Floats, two: Floats
) -> tuple[Ints, Floats, Floats, Floats, Floats]:
    """Edges cut where an overhang ends above them, so that no light between two shadows is missed."""
    line = surface.points
    edge = np.arange(len(line) - 1)
    across, up = np.diff(line, axis=0).T
    onward = np.sign(across)
    turns = np.flatnonzero(onward)
    lips = turns[1:][onward[turns[1:]] != onward[turns[:-1]]]
    aside, upward = sky.between(np.array([-np.pi / 2]), np.array([np.pi / 2]))[0]
    lean = aside / upward
    with np.errstate(divide="ignore", invalid="ignore"):
        share = (line[lips, 0, None] - (line[lips, 1, None] - line[:-1, 1]) * lean - line[:-1, 0]) / (
            across - lean * up
        )
        below = line[:-1, 1] + share * up < line[lips, 1, None]
    cut = (share > 0) & (share < 1) & below & (across > 2 * SHORTEST)
    which, where = np.nonzero(cut.T)
    if len(which) == 0:
        return edge, line[:-1], line[1:], one, two
    order = np.lexsort((share.T[which, where], which))
    which, shares = which[order], share.T[which, where][order]
    middle = line[which] + shares[:, None] * (line[which + 1] - line[which])
    found = received(surface, sky, middle, which) * step.thickness
    found *= (_along(found, surface.tilt[which]) > step.least)[:, None]
    # Behind each edge's own start stand the starts of its further parts; an end is the next part's start, the last its own.
    place = np.concatenate([edge, which])
    rank = np.lexsort((np.concatenate([np.zeros(len(edge)), shares]), place))
    start, first = np.vstack([line[:-1], middle])[rank], np.vstack([one, found])[rank]
    place = place[rank]
    final = np.append(place[1:] != place[:-1], True)
    end, last = np.roll(start, -1, axis=0), np.roll(first, -1, axis=0)
    end[final], last[final] = line[1:], two
    return place, start, end, first, last


@dataclass(frozen=True, eq=False)
class _Corners:
    """What the inner vertices of a surface see, and the film there by the edges that start and end at each [nm]."""

    low: Floats
    high: Floats
    start: Floats
    end: Floats
    sharp: NDArray[np.bool_]

    @classmethod
    def of(cls, surface: Surface, sky: Sky, step: _Step) -> _Corners:
        """The corners of a surface; where both edges receive the same within the tolerance the film has one point."""
        inner = np.arange(1, len(surface.points) - 1)
        low, high = surface.seen(surface.points[inner], inner - 1, inner + 1)
        before, after = surface.tilt[:-1], surface.tilt[1:]
        end = _facing(sky, low, high, before) * step.thickness
        start = _facing(sky, low, high, after) * step.thickness
        sharp = (_turn(surface) > 0) & (np.hypot(*(start - end).T) > step.tolerance / 2)
        both = (start + end) / 2
        start = np.where(sharp[:, None], start, both)
        end = np.where(sharp[:, None], end, both)
        thick = np.maximum(_along(start, after), _along(end, before)) > step.least
        return cls(low, high, start * thick[:, None], end * thick[:, None], sharp & thick)


def _turn(surface: Surface) -> Floats:
    """By how much the surface turns at each inner vertex, above 0 where it sticks out [rad]."""
    turn = np.diff(surface.tilt)
    return np.asarray(turn - 2 * np.pi * np.round(turn / (2 * np.pi)))


@dataclass(frozen=True, eq=False)
class _Fans:
    """Film at vertices that stick out: the inner vertex of each piece, its rank round it, and the moves of its two sides."""

    corner: Ints
    rank: Ints
    first: Floats
    last: Floats

    @classmethod
    def of(cls, surface: Surface, sky: Sky, corners: _Corners, step: _Step) -> _Fans:
        """The flux on tangents between those of the two edges, near enough to each other for the tolerance."""
        # An arc of the film's thickness and its chord are apart by r (angle)² / 8.
        turn = _turn(surface)[corners.sharp]
        count = np.ceil(turn * np.sqrt(step.thickness / (8 * step.tolerance))).astype(np.int64)
        corner = np.repeat(np.flatnonzero(corners.sharp), count)
        rank = np.arange(len(corner)) - np.repeat(np.cumsum(count) - count, count)
        parts, turn = np.repeat(count, count), np.repeat(turn, count)
        lean = surface.tilt[:-1][corner] + turn * rank / parts
        lean -= 2 * np.pi * np.round(lean / (2 * np.pi))
        seen = _facing(sky, corners.low[corner], corners.high[corner], lean) * step.thickness
        first = np.where((rank == 0)[:, None], corners.end[corner], seen)
        last = np.where((rank + 1 == parts)[:, None], corners.start[corner], np.roll(first, -1, axis=0))
        return cls(corner, rank, first, last)


def _normal(tilt: Floats) -> Floats:
    return np.column_stack([np.sin(tilt), np.cos(tilt)])


def _along(move: Floats, tilt: Floats) -> Floats:
    """How far a surface of a tilt moves along its normal."""
    return np.asarray(np.sum(move * _normal(tilt), axis=1))


def above(surface: Surface, sky: Sky, step: _Step, top: float) -> Region:
    """What stays open between a surface and a level after a step in which nothing that grew cast a shadow.

    Where nothing grew its border lies a little below the surface, so that no hair of film stands there.
    """
    corners = _Corners.of(surface, sky, step)
    full = sky.between(np.array([-np.pi / 2]), np.array([np.pi / 2])) * step.thickness
    pieces = _divided(surface, sky, step, np.vstack([full, corners.start]), np.vstack([corners.end, full]))
    fans = _Fans.of(surface, sky, corners, step)
    front = _unlooped(_front(surface, pieces, fans))
    if front is not None:
        return Region(shapely.polygons(_under(front, top)))
    return Region(
        polygonal(
            shapely.difference(shapely.polygons(_under(surface.points, top)), _film(surface, pieces, fans))
        )
    )


def _under(line: Floats, top: float) -> Floats:
    """The outline of what lies between a line that runs to the right and a level above it."""
    return np.vstack([line, [[line[-1, 0], top], [line[0, 0], top]]])


def _front(surface: Surface, pieces: _Pieces, fans: _Fans) -> Floats:
    """Where the surface has moved to, in its order."""
    line, normal = surface.points, _normal(surface.tilt)
    both = normal[:-1] + normal[1:]
    mitre = both / np.maximum(np.sum(both * normal[1:], axis=1), 0.2)[:, None]
    mitre = np.vstack([normal[:1], mitre, normal[-1:]])
    ends = []
    for point, move in ((pieces.start, pieces.move_start), (pieces.end, pieces.move_end)):
        at = np.hypot(*(point - line[pieces.edge]).T) / surface.length[pieces.edge]
        vertex = np.where(at == 0.0, pieces.edge, pieces.edge + 1)
        out = np.where(((at == 0.0) | (at == 1.0))[:, None], mitre[vertex], normal[pieces.edge])
        bare = ~np.any(move, axis=1)
        ends.append((pieces.edge + at, point + np.where(bare[:, None], -SUNK * out, move)))
    between = fans.rank > 0
    corner = fans.corner[between] + 1
    place = np.concatenate([ends[0][0], ends[1][0], corner])
    turn = np.concatenate(
        [np.full(len(pieces.edge), 2), np.zeros(len(pieces.edge), int), np.ones(len(corner), int)]
    )
    rank = np.concatenate([np.zeros(2 * len(pieces.edge), int), fans.rank[between]])
    points = np.vstack([ends[0][1], ends[1][1], line[corner] + fans.first[between]])
    points = points[np.lexsort((rank, turn, place))]
    again = np.concatenate([[True], np.any(points[1:] != points[:-1], axis=1)])
    return np.asarray(points[again])


def _unlooped(line: Floats) -> Floats | None:
    """A line without the small loops that it makes where it was bent inward; none when it runs into itself elsewhere."""
    for _ in range(LOOPS):
        if shapely.is_simple(shapely.linestrings(line)):
            return line
        pairs = np.stack([line[:-1], line[1:]], axis=1)
        first, second = shapely.STRtree(shapely.linestrings(pairs)).query(
            shapely.linestrings(pairs), predicate="intersects"
        )
        met = second > first + 1
        kept: list[Floats] = []
        done = 0
        for i, j in sorted(zip(first[met].tolist(), (-second[met]).tolist(), strict=True)):
            if i < done or _area(line[i + 1 : 1 - j]) > LEAST_VOID:
                continue
            kept += [line[done : i + 1], _crossing(pairs[i], pairs[-j])]
            done = 1 - j
        line = np.vstack([*kept, line[done:]])
    return None


def _area(ring: Floats) -> float:
    """Area of a closed ring, whichever way it runs."""
    x, y = (ring - ring[0]).T
    return float(abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))) / 2


def _crossing(one: Floats, two: Floats) -> Floats:
    """Where two segments meet, array (1, 2)."""
    along, across, apart = one[1] - one[0], two[1] - two[0], two[0] - one[0]
    turn = along[0] * across[1] - along[1] * across[0]
    share = (apart[0] * across[1] - apart[1] * across[0]) / turn if turn else 0.5
    return np.asarray(one[:1] + min(max(share, 0.0), 1.0) * along)


def _film(surface: Surface, pieces: _Pieces, fans: _Fans) -> Any:
    """The film where fronts run into each other: all its pieces, each begun a little below the surface, as one."""
    down = -SUNK * _normal(surface.tilt[pieces.edge])
    one, two = pieces.start, pieces.end
    strips = np.stack(
        [one + down, two + down, one, two, two + pieces.move_end, one + pieces.move_start], axis=1
    )
    tip = surface.points[1:-1][fans.corner]
    inside = -SUNK * _normal(surface.tilt[:-1][fans.corner] + _turn(surface)[fans.corner] / 2)
    wedges = np.stack([tip + inside, tip, tip + fans.first, tip + fans.last], axis=1)
    hulls = np.concatenate(
        [
            shapely.convex_hull(shapely.multipoints(shapely.points(each)))
            for each in (strips, wedges)
            if len(each)
        ]
    )
    return shapely.union_all(hulls[shapely.area(hulls) > 0])


def deposited(ambient: Region, sky: Sky, thickness: float, stages: int, tolerance: float) -> Region:
    """The film under a sky; what has grown shades what grows after it, and what is cut off from the sky grows no more.

    Parameters
    ----------
    ambient : Region
        The open outside, up to the top of a window.
    sky : Sky
    thickness : float [nm]
        On open flat ground.
    stages : int
        Steps of time; the error of the shadows falls with their first power.
    tolerance : float [nm]
        By how much the outline may differ from the curve in each.
    """
    free = ambient
    sealed: list[Region] = []
    step = _Step(thickness=thickness / stages, tolerance=tolerance, least=LEAST_FILM / stages)
    top = ambient.bounds[3]
    for _ in range(stages):
        parts = free.intersection(above(Surface.below(free, 20 * thickness), sky, step, top + 1.0)).parts()
        at_top = [part.bounds[3] >= top - GRID_NM for part in parts]
        free = max(
            (part for part, is_top in zip(parts, at_top, strict=True) if is_top), key=lambda each: each.area
        )
        sealed += [
            part for part, is_top in zip(parts, at_top, strict=True) if not is_top and part.area > LEAST_VOID
        ]
    return ambient.difference(Region.gathered([free, *sealed]))
