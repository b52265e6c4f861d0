"""Reflectance of very many piles in single precision: the fast side of the optics."""

from __future__ import annotations

import itertools
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

Single = NDArray[np.float32]


def reflectances_of_many(
    columns: tuple[NDArray[np.integer], NDArray[np.floating], NDArray[np.integer]],
    forward: NDArray[np.complex128],
    walls: NDArray[np.complex128],
    above: NDArray[np.complex128],
    wavelength: NDArray[np.float64],
    threads: int = 1,
) -> Single:
    """Reflectance of every column of coherent films, |r|² of :func:`filmwright.numerics.pile` in single precision.

    Parameters
    ----------
    columns : three arrays
        Row of the material and thickness of every film, from the top, both (columns, f), a film of zero being
        none; and the row of the medium below, (columns,).
    forward : complex array (m, w)
        N·cos θ of every material.
    walls, above : complex arrays (m, w), (w,)
        Admittance of every material and of the medium above.
    wavelength : array (w,)
        In the unit of the thickness.
    threads : int, 1 or more
        The columns are shared out.
    """
    from filmwright.numerics.layers_compiled import fill_reflectances

    tangent = np.concatenate([walls, above[None]])
    step = (tangent[:, None] - walls[None]) / (tangent[:, None] + walls[None])
    wall = np.stack([step.real, step.imag], axis=2).astype(np.float32)
    turns = (2 * forward.real / wavelength).astype(np.float32)
    decay = (-4 * np.pi * forward.imag / wavelength).astype(np.float32)
    films, depth, below = columns
    rows, deep = films.astype(np.int32), depth.astype(np.float32)
    under = below.astype(np.int32)
    out = np.empty((under.size, wavelength.size), np.float32)

    def share(part: slice) -> None:
        fill_reflectances(rows[part], deep[part], under[part], turns, decay, wall, out[part])

    if threads <= 1:
        share(slice(None))
    else:
        edges = np.linspace(0, under.size, threads + 1).astype(int)
        with ThreadPoolExecutor(threads) as pool:
            list(pool.map(share, [slice(a, b) for a, b in itertools.pairwise(edges)]))
    return out
