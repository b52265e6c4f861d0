"""What a picture needs to know of a section: columns, flat thickness, the window where things are."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from filmwright.numerics import Region

FloatArray = NDArray[np.float64]
SAMPLES = 321


class Body(Protocol):
    """One material polygon of a section: x along the cut and z up [nm]."""

    @property
    def material(self) -> str: ...

    @property
    def film(self) -> str: ...

    @property
    def shape(self) -> Region: ...


class Bodies(Protocol):
    """A section, as far as pictures see it: ordered bodies, lowest first."""

    @property
    def bodies(self) -> Sequence[Any]: ...


@dataclass(frozen=True, kw_only=True, eq=False)
class Film:
    """All bodies of one film.

    Attributes
    ----------
    material, film : str
    shape : Region
        x along the cut and z up [nm].
    """

    material: str
    film: str
    shape: Region

    @cached_property
    def rings(self) -> tuple[FloatArray, ...]:
        """Outlines (n, 2) [nm]; holes by the even-odd rule."""
        return self.shape.rings()


def films(section: Bodies) -> tuple[Film, ...]:
    """Bodies gathered by film, lowest first."""
    gathered: dict[tuple[str, str], Region] = {}
    for body in section.bodies:
        key = (body.film, body.material)
        gathered[key] = gathered[key].union(body.shape) if key in gathered else body.shape
    return tuple(
        Film(material=material, film=film, shape=shape)
        for (film, material), shape in gathered.items()
        if not shape.empty
    )


def extent(parts: Iterable[Film]) -> tuple[float, float, float, float]:
    """x0, z0, x1, z1 of all films [nm]."""
    points = np.concatenate([ring for part in parts for ring in part.rings])
    low, high = points.min(axis=0), points.max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def crossings(rings: Sequence[FloatArray], xs: FloatArray) -> FloatArray:
    """Heights at which vertical lines cross the outlines.

    Parameters
    ----------
    rings : sequence of arrays (n, 2) [nm]
    xs : array (k,) [nm]

    Returns
    -------
    array (m, k) [nm]
        Sorted upward in each column, filled up with not-a-number; pairs (bottom, top) by the even-odd rule.
    """
    closed = [ring if np.array_equal(ring[0], ring[-1]) else np.vstack([ring, ring[:1]]) for ring in rings]
    a = np.concatenate([ring[:-1] for ring in closed])
    b = np.concatenate([ring[1:] for ring in closed])
    upright = a[:, 0] == b[:, 0]
    a, b = a[~upright], b[~upright]
    swap = a[:, 0] > b[:, 0]
    a[swap], b[swap] = b[swap].copy(), a[swap].copy()
    inside = (a[:, :1] <= xs) & (xs < b[:, :1])
    slope = (b[:, 1] - a[:, 1]) / (b[:, 0] - a[:, 0])
    heights = np.where(inside, a[:, 1:] + slope[:, None] * (xs - a[:, :1]), np.nan)
    most = int(inside.sum(axis=0).max(initial=0))
    return np.asarray(np.sort(heights, axis=0)[:most])


def spans(rings: Sequence[FloatArray], xs: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Thickness, lowest and highest point of a film at each x [nm]; not a number where the film is absent."""
    found = crossings(rings, xs)
    if not len(found):
        return np.zeros(len(xs)), np.full(len(xs), np.nan), np.full(len(xs), np.nan)
    sign = np.where(np.arange(len(found)) % 2, 1.0, -1.0)[:, None]
    there = np.isfinite(found)
    thickness = np.sum(np.where(there, sign * found, 0.0), axis=0)
    last = np.maximum(there.sum(axis=0) - 1, 0)
    return thickness, found[0], found[last, np.arange(len(xs))]


def sample_places(x0: float, x1: float, count: int = SAMPLES) -> FloatArray:
    """Places spread evenly over a window, a little off the symmetric ones so that they miss vertices."""
    return x0 + (x1 - x0) * (np.arange(count) + 0.4867) / count


def flat_thickness(part: Film, x0: float, x1: float) -> tuple[float, ...]:
    """Thickness over flat ground [nm]: the commonest value, then a second one that covers at least a tenth.

    A film that was thinned where it lay open has two; a film that is nowhere flat gives its median.
    """
    xs = sample_places(x0, x1, 2 * SAMPLES)
    thickness, low, _ = spans(part.rings, xs)
    there = thickness > 0
    level = np.zeros(len(xs), dtype=bool)
    step = np.abs(np.diff(thickness)) < 0.02 + 0.002 * thickness[:-1]
    step &= np.abs(np.diff(np.nan_to_num(low))) < 0.05
    level[:-1] |= step
    level[1:] |= step
    level &= there
    pool = thickness[level] if level.any() else thickness[there]
    if not len(pool):
        return ()
    if not level.any():
        return (float(np.median(pool)),)
    grid = np.round(pool / max(0.05, 0.002 * float(pool.max())))
    values, counts = np.unique(grid, return_counts=True)
    order = np.argsort(-counts, kind="stable")
    found = [float(np.median(pool[grid == values[order[0]]]))]
    for k in order[1:]:
        other = float(np.median(pool[grid == values[k]]))
        if counts[k] >= 0.1 * len(pool) and abs(other - found[0]) > max(0.2, 0.004 * found[0]):
            found.append(other)
            break
    return tuple(found)


def busy_window(parts: Iterable[Film], margin: float = 0.14) -> tuple[float, float]:
    """The stretch of the cut in which something changes [nm], with a margin; else the whole cut."""
    parts = tuple(parts)
    x0, _, x1, _ = extent(parts)
    inner = [
        ring[(ring[:, 0] > x0 + 1.0) & (ring[:, 0] < x1 - 1.0), 0] for part in parts for ring in part.rings
    ]
    found = np.concatenate(inner) if inner else np.array([])
    if not len(found):
        return x0, x1
    low, high = float(found.min()), float(found.max())
    room = max(margin * (high - low), 0.01 * (x1 - x0), 200.0)
    return max(x0, low - room), min(x1, high + room)


def removed(before: Iterable[Film], after: Iterable[Film], smallest: float = 50.0) -> tuple[Film, ...]:
    """What a step took away, by film; pieces below ``smallest`` [nm²] are dropped."""
    now = {(part.film, part.material): part.shape for part in after}
    found = []
    for part in before:
        left = now.get((part.film, part.material))
        if left is part.shape:
            continue
        gone = part.shape if left is None else part.shape.difference(left)
        pieces = [piece for piece in gone.parts() if piece.area > smallest]
        if pieces:
            shape = pieces[0] if len(pieces) == 1 else gone
            found.append(Film(material=part.material, film=part.film, shape=shape))
    return tuple(found)


def same_shape(before: Bodies, after: Bodies, thinnest: float = 0.4) -> bool:
    """Whether no film gained or lost more than a skin of ``thinnest`` [nm]."""
    was = {(part.film, part.material): part.shape for part in films(before)}
    now = {(part.film, part.material): part.shape for part in films(after)}
    return was.keys() == now.keys() and all(
        was[key] is now[key] or _alike(was[key], now[key], thinnest) for key in now
    )


def _alike(one: Region, other: Region, thinnest: float) -> bool:
    return all(
        gone.empty or gone.grown(-thinnest / 2).empty
        for gone in (one.difference(other), other.difference(one))
    )
