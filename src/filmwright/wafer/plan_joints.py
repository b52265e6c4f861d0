"""How the parts of a plan hang together: with the field around them, and tiles with their neighbours.

Two kinds of question are asked. *What lies side by side* along the borders of windows decides what touches what. *What is one and
the same place*, seen from two tiles whose halos overlap, decides how far a solvent gets.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from filmwright.numerics import Region, along_sides, boxes_meeting, holders
from filmwright.wafer.plan_parts import Part

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_BESIDE_NM = 2.0**-11
"""How far outside a window it is looked for the field."""

_LEAST_NM = 0.02
"""Common borders shorter than this are corners."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Joint:
    """Pieces of two parts that hang together, at all the places where the parts lie so.

    Attributes
    ----------
    one, other : int
        The parts; numbers after the last part are pieces of the field.
    ones, others : array of int
        At which of their places, pair by pair.
    pairs : tuple of (piece, piece, lines)
        A piece of each, and their common border at the first place of ``one``, array (n, 4) [nm].
    """

    one: int
    other: int
    ones: Ints
    others: Ints
    pairs: tuple[tuple[int, int, Floats], ...]


def side_by_side(
    parts: Sequence[Part], field: Sequence[Region], pieces: Sequence[Sequence[Region]]
) -> tuple[Joint, ...]:
    """Pieces of the windows proper that share a border with the field or with a piece of another window.

    Parameters
    ----------
    parts : sequence of Part
    field : sequence of Region
    pieces : sequence of sequence of Region
        Of each part, within its windows.
    """
    sides = [_sides(part, each) for part, each in zip(parts, pieces, strict=True)]
    return (*_with_field(parts, field, sides), *_neighbours(parts, sides))


def same_places(
    parts: Sequence[Part], field: Sequence[Region], pieces: Sequence[Sequence[Region]]
) -> tuple[Joint, ...]:
    """Pieces that border on the field, and pieces that are one because the halo of their window reaches into the other window.

    Parameters
    ----------
    parts : sequence of Part
    field : sequence of Region
    pieces : sequence of sequence of Region
        Of each part, within its windows and their halo.
    """
    sides = [_sides(part, each) for part, each in zip(parts, pieces, strict=True)]
    return (*_with_field(parts, field, sides), *_overlaps(parts, pieces))


@dataclass(frozen=True)
class _Run:
    """A piece along a side of a window. ``open``: what lies beyond that side is no halo of the window."""

    piece: int
    side: int
    low: float
    high: float
    at: float
    open: bool

    @property
    def line(self) -> Floats:
        """As one straight piece [nm]."""
        a, b = (self.at, self.low), (self.at, self.high)
        return np.array([[*a, *b] if self.side % 2 == 0 else [*a[::-1], *b[::-1]]])

    @property
    def beyond(self) -> tuple[float, float]:
        """A point just outside the window."""
        across = self.at + (_BESIDE_NM if self.side > 1 else -_BESIDE_NM)
        along = (self.low + self.high) / 2
        return (across, along) if self.side % 2 == 0 else (along, across)


def _sides(part: Part, pieces: Sequence[Region]) -> tuple[_Run, ...]:
    """Pieces along the sides of the windows, those along the outer sides of a halo left out."""
    found = []
    windows, reach = part.place.windows.tolist(), part.place.reach.tolist()
    for piece, number, side, low, high in along_sides(pieces, part.place.windows).tolist():
        at, end = windows[int(number)][int(side)], reach[int(number)][int(side)]
        found.append(_Run(int(piece), int(side), low, high, at, at == end))
    return tuple(found)


def _with_field(
    parts: Sequence[Part], field: Sequence[Region], sides: Sequence[Sequence[_Run]]
) -> list[Joint]:
    found = []
    for number, part in enumerate(parts) if field else ():
        runs = [run for run in sides[number] if run.open]
        for piece in sorted({run.piece for run in runs}):
            mine = [run for run in runs if run.piece == piece]
            homes = _homes(field, mine, part.place.offsets)
            for home in np.unique(homes[homes >= 0]).tolist():
                # The runs of one piece that border on one piece of the field are the same at most places.
                for pattern in np.unique(homes == home, axis=0):
                    places = np.flatnonzero(((homes == home) == pattern).all(axis=1))
                    if pattern.any():
                        lines = np.vstack([run.line for run, hit in zip(mine, pattern, strict=True) if hit])
                        found.append(
                            Joint(
                                one=number,
                                other=len(parts) + home,
                                ones=places,
                                others=np.zeros(len(places), dtype=np.int64),
                                pairs=((piece, 0, lines),),
                            )
                        )
    return found


def _homes(field: Sequence[Region], runs: Sequence[_Run], offsets: Floats) -> Ints:
    """Array (places, runs): which piece of the field lies beyond each run at each place; -1: none."""
    points = np.array([run.beyond for run in runs])[None, :, :] + offsets[:, None, :]
    flat = points.reshape(-1, 2)
    homes = np.full(len(flat), -1)
    if len(field) == 1:
        x0, y0, x1, y1 = field[0].bounds
        inside = (flat[:, 0] > x0) & (flat[:, 0] < x1) & (flat[:, 1] > y0) & (flat[:, 1] < y1)
        homes[inside] = 0
    else:
        for number, held in enumerate(holders(field, flat)):
            homes[number] = held[0] if held else -1
    return homes.reshape(points.shape[:2])


def _neighbours(parts: Sequence[Part], sides: Sequence[Sequence[_Run]]) -> list[Joint]:
    """Tiles that share a border."""
    found = []
    for (one, other, dx, dy), (ones, others) in _pairs(parts, halo=False).items():
        pairs: dict[tuple[int, int], list[Floats]] = {}
        for run in sides[one]:
            for beside in sides[other]:
                if run.side < 2 or beside.side != run.side - 2:
                    continue
                across, along = (dx, dy) if run.side % 2 == 0 else (dy, dx)
                if abs(run.at - beside.at - across) > _LEAST_NM:
                    continue
                low, high = max(run.low, beside.low + along), min(run.high, beside.high + along)
                if high - low > _LEAST_NM:
                    line = _Run(0, run.side, low, high, run.at, False).line
                    pairs.setdefault((run.piece, beside.piece), []).append(line)
        if pairs:
            joined = tuple((a, b, np.vstack(lines)) for (a, b), lines in pairs.items())
            found.append(Joint(one=one, other=other, ones=ones, others=others, pairs=joined))
    return found


def _overlaps(parts: Sequence[Part], pieces: Sequence[Sequence[Region]]) -> list[Joint]:
    """Pieces that reach into another window, with the piece that they are there."""
    found = []
    for (one, other, dx, dy), (ones, others) in _pairs(parts, halo=True).items():
        x0, y0, x1, y1 = parts[other].place.windows[0].tolist()
        points, owners = [], []
        for number, piece in enumerate(pieces[one]):
            for bit in piece.moved(-dx, -dy).clipped(x0, y0, x1, y1).parts():
                if bit.empty:
                    continue
                points.append(bit.point_inside())
                owners.append(number)
        if points:
            held = holders(pieces[other], points)
            pairs = sorted({(owner, where[0]) for owner, where in zip(owners, held, strict=True) if where})
            nothing = np.zeros((0, 4))
            found.append(
                Joint(
                    one=one,
                    other=other,
                    ones=ones,
                    others=others,
                    pairs=tuple((a, b, nothing) for a, b in pairs),
                )
            )
    return found


def _pairs(parts: Sequence[Part], halo: bool) -> dict[tuple[int, int, float, float], tuple[Ints, Ints]]:
    """Places of tiles whose windows touch, by parts and by how far the other lies from where it would lie at its first place."""
    tiles = [number for number, part in enumerate(parts) if part.place.haloed]
    if not tiles:
        return {}
    part = np.concatenate([np.full(parts[n].place.count, n) for n in tiles])
    place = np.concatenate([np.arange(parts[n].place.count) for n in tiles])
    offsets = np.vstack([parts[n].place.offsets for n in tiles])
    move = np.tile(offsets, 2)
    boxes = np.vstack([np.tile(parts[n].place.windows, (parts[n].place.count, 1)) for n in tiles]) + move
    reach = np.vstack([np.tile(parts[n].place.reach, (parts[n].place.count, 1)) for n in tiles]) + move
    one, other = boxes_meeting(reach if halo else boxes, boxes)
    one, other = one[one != other], other[one != other]
    keys = np.column_stack([part[one], part[other], offsets[other] - offsets[one]])
    kinds, which = np.unique(keys, axis=0, return_inverse=True)
    order = np.argsort(which.ravel(), kind="stable")
    groups = np.split(order, np.cumsum(np.bincount(which.ravel()))[:-1])
    return {
        (int(kind[0]), int(kind[1]), float(kind[2]), float(kind[3])): (place[one[group]], place[other[group]])
        for kind, group in zip(kinds, groups, strict=True)
    }
