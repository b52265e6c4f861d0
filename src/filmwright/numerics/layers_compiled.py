"""The compiled kernel of :mod:`filmwright.numerics.layers_many`; imported when it is first needed.

Sine, cosine and exponential are short series, so that the innermost loops, over wavelengths, run in the
processor's vector unit; phases are kept in turns, so that a thick film loses nothing but its own rounding.
"""

from __future__ import annotations

import numba
import numpy as np
from numpy.typing import NDArray

Single = NDArray[np.float32]
Integer = NDArray[np.int32]
F = np.float32
_PI, _HALF, _ONE, _TWO = F(np.pi), F(0.5), F(1.0), F(2.0)
_S3, _S5, _S7, _S9, _S11 = F(-1 / 6), F(1 / 120), F(-1 / 5040), F(1 / 362880), F(-1 / 39916800)
_C2, _C4, _C6, _C8, _C10, _C12 = (
    F(-1 / 2),
    F(1 / 24),
    F(-1 / 720),
    F(1 / 40320),
    F(-1 / 3628800),
    F(1 / 479001600),
)
_E2, _E3, _E4, _E5, _E6 = F(1 / 2), F(1 / 6), F(1 / 24), F(1 / 120), F(1 / 720)
_SHARE, _DEEPEST = F(1 / 32), F(40.0)
"""An exponential is taken of a 32nd and squared five times; nothing comes back from below exp(−40)."""

_fast = numba.njit(cache=True, fastmath=True, nogil=True, error_model="numpy")


@_fast
def _sine(x: F) -> F:  # pragma: no cover - compiled
    """Sin x from −π/2 to π/2 within 4e-6 at the ends."""
    y = x * x
    return x * (_ONE + y * (_S3 + y * (_S5 + y * (_S7 + y * (_S9 + y * _S11)))))


@_fast
def _cosine(x: F) -> F:  # pragma: no cover - compiled
    """Cos x from −π/2 to π/2."""
    y = x * x
    return _ONE + y * (_C2 + y * (_C4 + y * (_C6 + y * (_C8 + y * (_C10 + y * _C12)))))


@_fast
def _fade(left: Single, depth: F, decay: Single) -> None:  # pragma: no cover - compiled
    """What is left of the amplitude after the way down and back: exp(−decay·depth)."""
    for k in range(left.size):
        e = -_SHARE * min(decay[k] * depth, _DEEPEST)
        fade = _ONE + e * (_ONE + e * (_E2 + e * (_E3 + e * (_E4 + e * (_E5 + e * _E6)))))
        fade *= fade
        fade *= fade
        fade *= fade
        fade *= fade
        left[k] = fade * fade


@_fast
def _climb(
    rho: Single, left: Single, depth: F, turns: Single, wall: Single
) -> None:  # pragma: no cover - compiled
    """ρ ← (r + z)/(1 + r·z) with z = ρ·left·exp(−2iδ), for all wavelengths; complex numbers as two rows."""
    for k in range(left.size):
        turn = turns[k] * depth
        half = (turn - np.floor(turn + _HALF)) * _PI
        sine = _sine(half)
        along = left[k] * (_ONE - _TWO * sine * sine)
        across = left[k] * (_TWO * sine * _cosine(half))
        z, iz = rho[0, k] * along + rho[1, k] * across, rho[1, k] * along - rho[0, k] * across
        r, ir = wall[0, k], wall[1, k]
        below, ibelow = _ONE + r * z - ir * iz, r * iz + ir * z
        above, iabove = r + z, ir + iz
        inverse = _ONE / (below * below + ibelow * ibelow)
        rho[0, k] = (above * below + iabove * ibelow) * inverse
        rho[1, k] = (iabove * below - above * ibelow) * inverse


@_fast
def fill_reflectances(
    films: Integer, depth: Single, below: Integer, turns: Single, decay: Single, wall: Single, out: Single
) -> None:  # pragma: no cover - compiled
    """Fill ``out`` with |ρ|², from the bottom of every column up.

    Parameters
    ----------
    films : integer array (columns, f)
        Row of the material of every film, from the top.
    depth : array (columns, f)
        Thickness; zero is no film.
    below : integer array (columns,)
        Row of the medium below.
    turns, decay : arrays (m, w)
        Per thickness on the way down and back: turns of phase, and exponent of the lost amplitude.
    wall : array (m + 1, m, 2, w)
        Real and imaginary part of the reflection from one medium into another; the last row is the medium above.
    out : array (columns, w)
    """
    columns, count = films.shape
    materials, waves = turns.shape
    rho, left, whole = np.empty((2, waves), F), np.empty(waves, F), np.ones(waves, F)
    clear, least = np.empty(materials, np.bool_), np.empty(materials, F)
    for m in range(materials):
        clear[m], least[m] = decay[m].max() <= F(0.0), decay[m].min()
    for c in range(columns):
        first = 0
        while first < count and depth[c, first] == F(0.0):
            first += 1
        under, last = below[c], count - 1
        for j in range(first, count):
            if least[films[c, j]] * depth[c, j] > _DEEPEST:
                under, last = films[c, j], j - 1
                break
        while last >= first and depth[c, last] == F(0.0):
            last -= 1
        here = films[c, last] if last >= first else materials
        rho[:] = wall[here, under]
        while last >= first:
            d = depth[c, last]
            last -= 1
            while last >= first and depth[c, last] == F(0.0):
                last -= 1
            over = films[c, last] if last >= first else materials
            kept = whole
            if not clear[here]:
                _fade(left, d, decay[here])
                kept = left
            _climb(rho, kept, d, turns[here], wall[over, here])
            here = over
        for k in range(waves):
            out[c, k] = rho[0, k] * rho[0, k] + rho[1, k] * rho[1, k]
