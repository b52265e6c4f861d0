"""Places along a broken line, how far they lie from others, and places that gather where something changes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Path:
    """A broken line, walked from its first point to its last.

    Attributes
    ----------
    points : array (n, 2)
        At least two, no two neighbours alike.
    """

    points: Floats

    @cached_property
    def marks(self) -> Floats:
        """Length up to each point, array (n,)."""
        gaps = np.hypot(*np.diff(self.points, axis=0).T)
        return np.concatenate(([0.0], np.cumsum(gaps)))

    @property
    def length(self) -> float:
        """From the first point to the last."""
        return float(self.marks[-1])

    def places(self, along: ArrayLike) -> Floats:
        """Points at lengths from the first, array (m, 2); held at the ends."""
        s = np.asarray(along, dtype=float)
        return np.column_stack([np.interp(s, self.marks, self.points[:, k]) for k in (0, 1)])

    def bends(self, least: float) -> Floats:
        """Lengths at which the line turns by more than an angle [rad]."""
        dx, dy = np.diff(self.points, axis=0).T
        turn = np.diff(np.arctan2(dy, dx))
        turn = np.abs((turn + np.pi) % (2 * np.pi) - np.pi)
        found: Floats = self.marks[1:-1][turn > least]
        return found


def distances_to(points: Floats, lines: Sequence[Floats]) -> Floats:
    """Shortest distance from each point to the nearest of some broken lines.

    Parameters
    ----------
    points : array (n, 2)
    lines : sequence of array (m, 2)
        At least one, each of at least two points.

    Returns
    -------
    array (n,)
    """
    every = shapely.multilinestrings([shapely.linestrings(line) for line in lines])
    shapely.prepare(every)
    return np.asarray(shapely.distance(every, shapely.points(points)))


def gathered_places(
    start: float, stop: float, features: Sequence[float], finest: float, count: int
) -> Floats:
    """Places between two ends whose gaps grow in proportion to the distance from the nearest feature.

    The gap at a distance d from the nearest feature is ``finest + g·d``; the growth g is chosen so that the count comes out.
    Each feature and both ends are places.

    Parameters
    ----------
    start, stop : float
        ``start < stop``.
    features : sequence of float
        Those outside the ends are left out, those closer than ``finest`` to another are one.
    finest : float
        Above 0.
    count : int
        Of places; met but for the rounding between features.

    Returns
    -------
    array (m,)
        Rising; m is about ``count``.

    Raises
    ------
    ValueError
        For ends or a gap that cannot be.
    """
    if not (start < stop and finest > 0 and count >= 2):
        raise ValueError(
            f"places need start < stop, finest > 0 and a count of 2, got {start}, {stop}, {finest}, {count}"
        )
    marks = _apart([start, *sorted(each for each in features if start < each < stop), stop], finest)
    low, high = 0.0, 1e3
    if _gaps_wanted(marks, finest, low) <= count - 1:
        high = low
    for _ in range(80):
        growth = (low + high) / 2
        low, high = (growth, high) if _gaps_wanted(marks, finest, growth) > count - 1 else (low, growth)
    return np.concatenate([*(_between(a, b, finest, high) for a, b in pairwise(marks)), marks[-1:]])


def _apart(marks: list[float], least: float) -> Floats:
    """The marks without those closer than so much to the one before; the last end stays."""
    kept = [marks[0]]
    for mark in marks[1:-1]:
        if mark - kept[-1] > least and marks[-1] - mark > least:
            kept.append(mark)
    return np.array([*kept, marks[-1]])


def _half(width: float, finest: float, growth: float) -> float:
    """Gaps wanted from a feature to the middle between two: the integral of 1/(finest + growth·d)."""
    if growth * width / 2 < 1e-9 * finest:
        return width / 2 / finest
    return float(np.log1p(growth * width / 2 / finest) / growth)


def _gaps_wanted(marks: Floats, finest: float, growth: float) -> float:
    return sum(2 * _half(float(width), finest, growth) for width in np.diff(marks))


def _between(a: float, b: float, finest: float, growth: float) -> Floats:
    """Places from a to before b, equal shares of the integral of 1/gap."""
    half = _half(b - a, finest, growth)
    number = max(int(np.ceil(2 * half)), 1)
    share = np.arange(number) / number * 2 * half
    near = np.minimum(share, 2 * half - share)
    slow = growth * (b - a) / 2 < 1e-9 * finest
    far = near * finest if slow else finest * np.expm1(growth * near) / growth
    return np.where(share <= half, a + far, b - far)
