"""What the shape of a film tells: its neck over a step, how an edge leans, ears at its ends, what an etch took."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from filmwright.numerics import Region
from filmwright.outputs.geometry import Film, FloatArray, flat_thickness, sample_places, spans

_FINEST = 0.002
"""A neck is found to this part of the film's thickness."""
_CRUMB = 0.02
"""After shrinking, a part smaller than this times the square of the thickness is no part; judgement."""


@dataclass(frozen=True, kw_only=True)
class Neck:
    """Where a film is thinnest between two thicker parts of it: thickness, x and z [nm]."""

    thickness: float
    x: float
    z: float


def _halves(shape: Region, cut: float, smallest: float) -> list[Region]:
    """The parts that are left after ``cut`` [nm] is taken off every border, from the left."""
    parts = [part for part in shape.grown(-cut, sharp=False).parts() if part.area > smallest]
    return sorted(parts, key=lambda part: part.bounds[0])


def neck(piece: Region, meant: float) -> Neck | None:
    """The narrowest neck of a connected piece of a film that is ``meant`` thick [nm]; None without one.

    A border that moves inward by half the width of the neck parts the piece in two; the width is found by bisection.
    Ends that run out thin are no necks: nothing is parted there.
    """
    smallest = _CRUMB * meant**2
    low, high = 0.0, 0.485 * meant
    if len(_halves(piece, high, smallest)) < 2:
        return None
    while high - low > _FINEST * meant / 2:
        middle = (low + high) / 2
        if len(_halves(piece, middle, smallest)) >= 2:
            high = middle
        else:
            low = middle
    parts = _halves(piece, high, smallest)
    pairs = [_nearest(one, other, 4 * meant) for one, other in pairwise(parts)]
    _, x, z = min(pairs)
    return Neck(thickness=low + high, x=x, z=z)


def _nearest(one: Region, other: Region, reach: float) -> tuple[float, float, float]:
    """Distance of two parts and the middle between their nearest corners [nm]."""
    edge = (one.bounds[2] + other.bounds[0]) / 2
    first, second = (_near_points(part, edge, reach) for part in (one, other))
    apart = np.hypot(*(first[:, None, :] - second[None, :, :]).transpose(2, 0, 1))
    i, k = np.unravel_index(int(np.argmin(apart)), apart.shape)
    x, z = (first[i] + second[k]) / 2
    return float(apart[i, k]), float(x), float(z)


def _near_points(part: Region, x: float, reach: float) -> FloatArray:
    points = np.concatenate(part.rings())
    near = points[np.abs(points[:, 0] - x) < reach]
    return near if len(near) else points[[int(np.argmin(np.abs(points[:, 0] - x)))]]


@dataclass(frozen=True, kw_only=True)
class Flank:
    """The edge of a film.

    Attributes
    ----------
    x, z : float [nm]
        Half way up.
    height : float [nm]
    outside : float [nm]
        How far the foot lies outside the top; negative when the top hangs over.
    ear : float [nm]
        How far the edge stands up over the film's top further in.
    """

    x: float
    z: float
    height: float
    outside: float
    ear: float

    @property
    def angle(self) -> float:
        """Between the flank and the ground [degree]; 90 is upright, more hangs over."""
        return float(np.degrees(np.arctan2(self.height, self.outside)))


_OUTERMOST = 100
"""So many outermost points are looked at for the end of a film."""


def _end(piece: Region, points: FloatArray, side: float, meant: float) -> float:
    """The outermost point with more than a hundredth of the film a tenth of its thickness further in [nm]."""
    places = np.sort(points[:, 0])[:: -1 if side > 0 else 1][:_OUTERMOST]
    there, _, _ = spans(piece.rings(), places - side * 0.1 * meant)
    full = np.flatnonzero(there > 0.01 * meant)
    return float(places[full[0] if len(full) else 0])


def flank(piece: Region, side: float, meant: float) -> Flank:
    """The left (−1) or right (+1) edge of a connected piece of a film ``meant`` thick [nm]."""
    points = np.concatenate(piece.rings())
    out, end = side * points[:, 0], side * _end(piece, points, side, meant)
    reach = max(3 * meant, 0.25 * float(np.ptp(points[:, 0])) / 100)
    near = points[(out > end - reach) & (out <= end)]
    if len(near) < 2:
        near = points[np.argsort(out)[-2:]]
    low, high = float(near[:, 1].min()), float(near[:, 1].max())
    foot = near[near[:, 1] < low + 0.02 * (high - low) + 0.5]
    top = near[near[:, 1] > high - 0.02 * (high - low) - 0.5]
    x_foot = float(foot[np.argmax(side * foot[:, 0]), 0])
    x_top = float(top[np.argmax(side * top[:, 0]), 0])
    inner = float(near[np.argmin(side * near[:, 0]), 0])
    _, _, tops = spans(piece.rings(), np.array([inner - side * (2 * meant + 1)]))
    flat = float(tops[0]) if len(tops) and np.isfinite(tops[0]) else high
    return Flank(
        x=(x_foot + x_top) / 2,
        z=(low + high) / 2,
        height=high - low,
        outside=side * (x_foot - x_top),
        ear=max(0.0, high - flat),
    )


@dataclass(frozen=True, kw_only=True)
class Bite:
    """What a step took off the top of a film that stays.

    Attributes
    ----------
    film : Film
        After the step.
    depth : float [nm]
        The most that went, straight down.
    left : float [nm]
        What is left there.
    x, z : float [nm]
    """

    film: Film
    depth: float
    left: float
    x: float
    z: float


def bites(before: Iterable[Film], after: Sequence[Film], x0: float, x1: float) -> tuple[Bite, ...]:
    """Films that became thinner over flat ground between x0 and x1, the deepest bite of each [nm]."""
    was = {(part.film, part.material): part for part in before}
    xs = sample_places(x0, x1)
    found = []
    for part in after:
        old = was.get((part.film, part.material))
        if old is None or old.shape is part.shape:
            continue
        thick, _, top = spans(part.rings, xs)
        lost = np.where(thick > 0, spans(old.rings, xs)[0] - thick, 0.0)
        # Near an edge the vertical measure tells of the flank, not of the depth: level places only.
        level = np.zeros(len(xs), dtype=bool)
        even = (np.abs(np.diff(lost)) < 0.02) & (np.abs(np.diff(thick)) < 0.01 * thick[1:] + 0.02)
        level[1:-1] = even[:-1] & even[1:]
        lost = np.where(level, lost, 0.0)
        if lost.max() > 0.05:
            deep = np.flatnonzero(lost > 0.98 * lost.max())
            k = int(deep[len(deep) // 2])
            found.append(
                Bite(film=part, depth=float(lost[k]), left=float(thick[k]), x=float(xs[k]), z=float(top[k]))
            )
    return tuple(found)


def level_thickness(part: Film, x0: float, x1: float, otherwise: float) -> float:
    """The smaller of a film's thicknesses over flat ground between x0 and x1 [nm]."""
    return min(flat_thickness(part, x0, x1), default=otherwise)
