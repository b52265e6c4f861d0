"""The peer of an isotropic etch along a cut: a level set in a narrow band on a grid, compiled.

Upwind differences of second order after Godunov, half a cell per step, an exact signed distance at the start, cells that are
not etched seen as mirrors. The bench takes the coarsest grid whose
front is within 1 nm of the known answer.
"""

from __future__ import annotations

import math

import numba
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

BAND = 4.0
"""Half width of the band, in cells."""
FILM, DEPTH, MASK_EDGE, WIDTH = 100.0, 150.0, 400.0, 800.0
"""A film of 100 nm under a mask that begins at 400 of 800 nm, etched by 150 nm."""


@numba.njit(cache=True)
def _value(phi, blocked, i, j, here):  # type: ignore[no-untyped-def]
    """A cell's value; what is not etched or lies outside is seen as a mirror of the cell that looks there."""
    if i < 0 or j < 0 or i >= phi.shape[0] or j >= phi.shape[1] or blocked[i, j]:
        return here
    return phi[i, j]


@numba.njit(cache=True)
def _slope(phi, blocked, i, j, down, right):  # type: ignore[no-untyped-def]
    """Rise from a neighbour to a cell, of second order with the smaller of the two curvatures."""
    here = phi[i, j]
    near = _value(phi, blocked, i + down, j + right, here)
    far = _value(phi, blocked, i + 2 * down, j + 2 * right, near)
    back = _value(phi, blocked, i - down, j - right, here)
    outer, inner = here - 2 * near + far, back - 2 * here + near
    bend = 0.0 if outer * inner <= 0 else (outer if abs(outer) < abs(inner) else inner)
    return here - near + bend / 2


@numba.njit(cache=True)
def _march(phi: Floats, blocked: NDArray[np.bool_], cell: float, time: float) -> Floats:  # type: ignore[no-untyped-def]
    band = BAND * cell
    rows, columns = phi.shape
    steps = math.ceil(time / (0.5 * cell))
    step = time / steps
    after = phi.copy()
    for _ in range(steps):
        for i in range(rows):
            for j in range(columns):
                here = phi[i, j]
                if blocked[i, j] or here >= band:
                    continue
                if here < -cell:
                    # Behind the front nothing matters but that it is a distance: a frozen value would hold the front back.
                    after[i, j] = here - step
                    continue
                x = max(_slope(phi, blocked, i, j, 0, -1), _slope(phi, blocked, i, j, 0, 1), 0.0) / cell
                y = max(_slope(phi, blocked, i, j, -1, 0), _slope(phi, blocked, i, j, 1, 0), 0.0) / cell
                after[i, j] = here - step * math.sqrt(x * x + y * y)
        for i in range(rows):
            for j in range(columns):
                if blocked[i, j] or phi[i, j] < band:
                    continue
                nearest = band
                for a, b in ((i, j - 1), (i, j + 1), (i - 1, j), (i + 1, j)):
                    if 0 <= a < rows and 0 <= b < columns and not blocked[a, b]:
                        nearest = min(nearest, abs(after[a, b]) + cell)
                after[i, j] = nearest
        phi, after = after, phi
        after[:] = phi
    return phi


def etched(cell: float) -> tuple[float, float]:
    """Undercut [nm] at the film's upper side and at its foot on a grid of cells of a size [nm]."""
    x = np.arange(cell / 2, WIDTH, cell)
    z = np.arange(cell / 2, FILM + 4 * cell, cell)
    across, up = np.meshgrid(x, z)
    blocked = (up > FILM) & (across > MASK_EDGE)
    beside = np.hypot(np.maximum(across - MASK_EDGE, 0.0), FILM - up)
    phi = np.where(up > FILM, FILM - up, np.where(across > MASK_EDGE, beside, FILM - up))
    phi = np.clip(phi, -BAND * cell, BAND * cell)
    found = _march(phi, blocked, cell, DEPTH)
    inside = int(np.searchsorted(z, FILM)) - 1
    return tuple(_crossing(x, found[row]) - MASK_EDGE for row in (inside, 0))  # type: ignore[return-value]


def _crossing(x: Floats, row: Floats) -> float:
    k = int(np.flatnonzero((row[:-1] <= 0) & (row[1:] > 0))[-1])
    return float(x[k] - row[k] * (x[k + 1] - x[k]) / (row[k + 1] - row[k]))


def known(cell: float) -> tuple[float, float]:
    """Undercut [nm] in the middle of the cells next to the film's upper side and to its foot: a circle about the mask's edge."""
    depths = (cell / 2 if FILM % cell == 0 else FILM % cell / 2, FILM - cell / 2)
    top, foot = (math.sqrt(DEPTH**2 - depth**2) for depth in depths)
    return top, foot


def coarsest(accuracy: float) -> float:
    """The largest cell [nm] of 10, 5, 4, 2.5, 2, 1, 0.5 whose front is within an accuracy [nm] of the known answer."""
    for cell in (10.0, 5.0, 4.0, 2.5, 2.0, 1.0):
        if max(abs(a - b) for a, b in zip(etched(cell), known(cell), strict=True)) <= accuracy:
            return cell
    return 0.5
