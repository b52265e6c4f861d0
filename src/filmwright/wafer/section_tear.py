"""Where films tear that hang over what a solvent took away."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from filmwright.numerics import Edges, Region, chains, nearest

Floats = NDArray[np.float64]

SLOT_NM = 1.0
"""Width of a tear [nm]."""
OPEN_NM = 0.5
"""A film whose underside comes nearer to its upper side than this [nm] ends there."""
EVEN = 1.02
"""Places whose film is thicker by less than this factor than the thinnest are as weak: the tear goes through their middle."""
FOOT = 4.0
"""A film that is thin all over tears within this many tear thicknesses of its footing."""
STEPS = 2000
"""Most steps in which an underside is looked at, besides its vertices."""


@dataclass(frozen=True, kw_only=True)
class Tear:
    """A tear through all films at one place.

    Attributes
    ----------
    slot : Region
        What goes with it.
    x, z : float [nm]
        Its middle.
    height : float [nm]
        Above the foot of what stays: of the fence.
    """

    slot: Region
    x: float
    z: float
    height: float


def thinner(under: Edges, skin: Edges, thickness: float) -> NDArray[np.bool_]:
    """Whether the films over the middle of each edge are thinner than ``thickness`` [nm]."""
    if len(under.start) == 0 or len(skin.start) == 0:
        return np.zeros(len(under.start), dtype=bool)
    middle = (under.start + under.end) / 2
    distance, away = nearest(middle, skin)
    ahead = np.sum((away - middle) * under.outward, axis=1)
    return np.asarray((distance < thickness) & (ahead > 0.5 * distance))


def tears(lost: Sequence[Edges], skin: Edges, thickness: float) -> list[Tear]:
    """Tears of films that lost what lay under them.

    Films are as thick as the distance from their bare underside to the nearest upper side. Along each underside, from one
    footing to the next, every stretch that is thinner than the tear thickness tears at its thinnest place, one of even thickness
    in its middle; a stretch from footing to footing tears near both. A rim that thins out to a free end has nothing to tear.

    Parameters
    ----------
    lost : sequence of Edges
        Borders of films to what dissolved.
    skin : Edges
        Open borders of films before.
    thickness : float [nm]
    """
    if len(skin.start) == 0:
        return []
    found = []
    for edges in lost:
        for chain in _joined(chains(edges)):
            found += _along(chain, skin, thickness)
    return found


def _joined(parts: list[Floats]) -> list[Floats]:
    """Lines that go on in each other made one: an outline may begin in the middle of an underside."""
    by_start = {tuple(part[0]): k for k, part in enumerate(parts)}
    follower = [by_start.get(tuple(part[-1])) for part in parts]
    heads = [k for k in range(len(parts)) if k not in set(follower)]
    found = []
    for head in heads:
        whole, at = [parts[head]], follower[head]
        while at is not None:
            whole.append(parts[at][1:])
            at = follower[at]
        found.append(np.vstack(whole))
    return found


def _along(chain: Floats, skin: Edges, thickness: float) -> list[Tear]:
    points = _sampled(chain, thickness / 4)
    distance, away = nearest(points, skin)
    thin = np.concatenate([[False], distance < thickness, [False]])
    free = distance[0] < OPEN_NM, distance[-1] < OPEN_NM
    last = len(points) - 1
    found = []
    for first, end in zip(
        np.flatnonzero(~thin[:-1] & thin[1:]), np.flatnonzero(thin[:-1] & ~thin[1:]) - 1, strict=True
    ):
        for begin, stop in _weak(points, (int(first), int(end)), free, FOOT * thickness):
            at = _thinnest(distance, begin, stop)
            foot = points[0] if free[1] or (not free[0] and at <= last - at) else points[-1]
            found.append(_tear(points[at], away[at], float(abs(points[at][1] - foot[1]))))
    return found


def _weak(
    points: Floats, thin: tuple[int, int], free: tuple[bool, bool], reach: float
) -> list[tuple[int, int]]:
    """The parts of a thin stretch in each of which one tear goes; ``reach`` [nm] is how far from a footing that may be."""
    last = len(points) - 1
    if thin == (0, last):
        way = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
        reach = min(reach, way[-1] / 2)
        near = int(np.searchsorted(way, reach, side="right")) - 1
        far = int(np.searchsorted(way, way[-1] - reach, side="left"))
        return [part for part, is_free in (((0, near), free[0]), ((far, last), free[1])) if not is_free]
    if (thin[0] == 0 and free[0]) or (thin[1] == last and free[1]):
        return []
    return [thin]


def _thinnest(distance: Floats, begin: int, stop: int) -> int:
    some = distance[begin : stop + 1]
    weak = np.flatnonzero(some <= EVEN * some.min())
    return begin + int(weak[len(weak) // 2])


def _sampled(chain: Floats, step: float) -> Floats:
    """Points along a line, its vertices among them."""
    length = np.hypot(*np.diff(chain, axis=0).T)
    step = max(step, float(length.sum()) / STEPS)
    count = np.maximum(np.ceil(length / step), 1).astype(np.int64)
    piece = np.repeat(np.arange(len(length)), count)
    share = (np.arange(len(piece)) - np.repeat(np.cumsum(count) - count, count)) / count[piece]
    inner = chain[piece] + share[:, None] * (chain[piece + 1] - chain[piece])
    return np.vstack([inner, chain[-1:]])


def _tear(start: Floats, end: Floats, height: float) -> Tear:
    along = (end - start) / max(float(np.hypot(*(end - start))), OPEN_NM)
    across = np.array([-along[1], along[0]]) * SLOT_NM / 2
    one, two = start - along * SLOT_NM, end + along * SLOT_NM
    slot = Region.of([np.vstack([one - across, two - across, two + across, one + across])])
    x, z = (start + end) / 2
    return Tear(slot=slot, x=float(x), z=float(z), height=height)
