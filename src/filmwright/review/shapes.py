"""How narrow the lines and windows of a printed level are."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from filmwright.numerics import Region, least_gap

_BUSY = 400
"""Outlines with more corners are backgrounds, not lines; the windows in them are looked at."""

_FEW, _STEP = 4, 8
"""Outlines of up to so many edges go together; longer ones in steps of so many."""

_FACING = -0.98
"""Product of the directions of two edges from which on they face each other (within some ten degrees)."""

_ROUNDING = 1e-6

Points = NDArray[np.float64]
Counts = NDArray[np.int64]


def narrowest(region: Region) -> float | None:
    """Width [nm] of the narrowest line or window of a level; None when there is none.

    Each outline is looked at from its own inside: a piece is a line, a hole a window. The width is the least distance of
    two edges that face each other along at least that distance. What lies between pieces, and between windows, is a space:
    see :func:`narrowest_space`.
    """
    return _some(outline_widths(region)[0])


def narrowest_space(region: Region, reach: float, slot: float = np.inf) -> float | None:
    """Width [nm] of the narrowest space that is below ``reach`` [nm]; None where none is.

    A space lies between two pieces, between two arms of one piece (``slot``, where it was read already), or is the wall between
    two windows.
    """
    between = least_gap(region, reach)
    least = min(np.inf if between is None else between, slot)
    return float(least) if least < reach else None


def outline_widths(region: Region) -> tuple[float, float]:
    """Least width [nm] inside the outlines of a region, and least width of a slot in one of them; infinite without one."""
    found = [_narrowest(each) for each in region.rings_by_size(_alike)]
    return min((each[0] for each in found), default=np.inf), min((each[1] for each in found), default=np.inf)


def _alike(points: Counts) -> Counts:
    """To how many points outlines of so many are rounded up, so that they go together in few arrays; 0 for backgrounds."""
    edges = np.where(points <= _FEW + 1, _FEW, -(-(points - 1) // _STEP) * _STEP)
    return np.where((points > 0) & (points <= _BUSY), edges + 1, 0)


def _some(width: float) -> float | None:
    return width if np.isfinite(width) else None


def _narrowest(rings: Points) -> tuple[float, float]:
    """Least inner and outer width of outlines with equally many corners, array (k, n, 2); what is drawn many times is looked at
    once."""
    moved = np.ascontiguousarray(np.rint(rings - rings.min(axis=1, keepdims=True)).astype(np.int64))
    whole = moved.reshape(len(moved), -1).view(f"V{moved[0].nbytes}")
    first = np.unique(whole, return_index=True)[1]
    chunk = max(1, _BUSY**2 // rings.shape[1] ** 2)
    found = np.array([_least(rings[first[k : k + chunk]]) for k in range(0, len(first), chunk)])
    inner, outer = found.min(axis=0)
    return float(inner), float(outer)


def _least(rings: Points) -> tuple[float, float]:
    x, y = rings[..., 0], rings[..., 1]
    dx, dy = np.diff(x, axis=1), np.diff(y, axis=1)
    length = np.hypot(dx, dy)
    safe = np.where(length > 0, length, 1.0)
    ux, uy = dx / safe, dy / safe
    turn = np.sign(np.sum(x[:, :-1] * y[:, 1:] - x[:, 1:] * y[:, :-1], axis=1))[:, None]
    # Of edge i (rows) and edge j (columns): do they face each other, how deep inside i lies j, how long is both's overlap.
    faces = ux[:, :, None] * ux[:, None] + uy[:, :, None] * uy[:, None] < _FACING
    ring, i, j = np.nonzero(faces)
    ax, ay = x[ring, j] - x[ring, i], y[ring, j] - y[ring, i]
    ix, iy, way = ux[ring, i], uy[ring, i], turn[ring, 0]
    depth = way * ((ay + dy[ring, j] / 2) * ix - (ax + dx[ring, j] / 2) * iy)
    near = ax * ix + ay * iy
    far = near + dx[ring, j] * ix + dy[ring, j] * iy
    overlap = np.minimum(np.maximum(near, far), length[ring, i]) - np.maximum(np.minimum(near, far), 0.0)
    long = overlap >= np.abs(depth) * (1 - _ROUNDING)
    inner, outer = depth[(depth > 0) & long], -depth[(depth < 0) & long]
    return float(inner.min(initial=np.inf)), float(outer.min(initial=np.inf))
