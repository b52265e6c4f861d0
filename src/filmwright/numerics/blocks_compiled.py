"""The compiled kernels of :mod:`filmwright.numerics.blocks`; imported when they are first needed.

A block is inverted in place by Gauss and Jordan with row pivots: at some fifty unknowns its rows stay in the nearest cache,
and every one of its innermost loops runs along a row in the processor's vector unit. Inverses are kept transposed, so that
their products with a vector do so too.
"""

from __future__ import annotations

import numba
import numpy as np
from numpy.typing import NDArray

Real = NDArray[np.float64]
Whole = NDArray[np.int64]

_fast = numba.njit(cache=True, fastmath={"contract", "reassoc"}, nogil=True, error_model="numpy")


@_fast
def _inverted(a: Real, n: int, swapped: Whole, pivot: Real) -> bool:  # pragma: no cover - compiled
    """The first n rows and columns of a matrix inverted in place; False where no pivot is left."""
    width = a.shape[1]
    for c in range(n):
        best, most = c, abs(a[c, c])
        for r in range(c + 1, n):
            if abs(a[r, c]) > most:
                best, most = r, abs(a[r, c])
        if not 0.0 < most < np.inf:
            return False
        swapped[c] = best
        over = 1.0 / a[best, c]
        for j in range(width):
            element = a[best, j]
            a[best, j] = a[c, j]
            pivot[j] = element * over
        pivot[c] = over
        for r in range(0, n - n % 4, 4):
            _four_rows(a, r, c, width, pivot)
        for r in range(n - n % 4, n):
            part = a[r, c]
            a[r, c] = 0.0
            for j in range(width):
                a[r, j] -= part * pivot[j]
        for j in range(width):
            a[c, j] = pivot[j]
    _swapped_back(a, n, swapped)
    return True


@_fast
def _swapped_back(a: Real, n: int, swapped: Whole) -> None:  # pragma: no cover - compiled
    """Columns of the inverse in the order in which the rows were before their pivots were sought."""
    for c in range(n - 1, -1, -1):
        other = swapped[c]
        if other != c:
            for r in range(n):
                a[r, c], a[r, other] = a[r, other], a[r, c]


@_fast
def _four_rows(a: Real, r: int, c: int, width: int, pivot: Real) -> None:  # pragma: no cover - compiled
    """The pivot's row taken off four others so that their column c vanishes: it is read once for all of them."""
    p, q, s, t = a[r, c], a[r + 1, c], a[r + 2, c], a[r + 3, c]
    a[r, c] = a[r + 1, c] = a[r + 2, c] = a[r + 3, c] = 0.0
    one, two, three, four = a[r], a[r + 1], a[r + 2], a[r + 3]
    for j in range(width):
        element = pivot[j]
        one[j] -= p * element
        two[j] -= q * element
        three[j] -= s * element
        four[j] -= t * element


@_fast
def eliminated(  # pragma: no cover - compiled
    diagonal: Real, before: Real, behind: Real, places: Whole, kept: Real, scale: Real
) -> int:
    """Inverses of the blocks on the way, transposed, of rows that were divided by their largest element; the first block
    that is singular, or their number."""
    blocks, n = diagonal.shape[:2]
    width = kept.shape[2]
    passed = np.zeros((n, width))
    swapped, pivot = np.zeros(n, np.int64), np.zeros(width)
    for k in range(blocks):
        own = kept[k]
        for i in range(n):
            largest = 0.0
            for j in range(n):
                largest = max(largest, abs(diagonal[k, i, j]))
            scale[k, i] = 1.0 / largest if largest > 0.0 else 1.0
            for j in range(n):
                own[j, i] = diagonal[k, i, j] * scale[k, i]
        if k:
            passed[:] = 0.0
            for m in range(len(places)):
                i, j = places[m]
                part = behind[k - 1, m] * scale[k - 1, i]
                if part != 0.0:
                    for c in range(width):
                        passed[j, c] += part * kept[k - 1, i, c]
            for r in range(n):
                for m in range(len(places)):
                    own[r, places[m, 0]] -= (
                        before[k - 1, m] * scale[k, places[m, 0]] * passed[r, places[m, 1]]
                    )
        if not _inverted(own, n, swapped, pivot):
            return k
    return int(blocks)


@_fast
def solved(  # pragma: no cover - compiled
    kept: Real, scale: Real, before: Real, behind: Real, places: Whole, right: Real
) -> Real:
    """The solution for a right side."""
    blocks, n, width = kept.shape
    found = np.zeros((blocks, n))
    waiting = np.zeros((blocks, n))
    row = np.zeros(width)
    for k in range(blocks):
        for i in range(n):
            waiting[k, i] = right[k, i] * scale[k, i]
        if k:
            for m in range(len(places)):
                i = places[m, 0]
                waiting[k, i] -= before[k - 1, m] * scale[k, i] * found[k - 1, places[m, 1]]
        _applied(kept[k], waiting[k], row, found[k])
    for k in range(blocks - 2, -1, -1):
        for m in range(len(places)):
            i = places[m, 0]
            waiting[k, i] -= behind[k, m] * scale[k, i] * found[k + 1, places[m, 1]]
        _applied(kept[k], waiting[k], row, found[k])
    return found


@_fast
def _applied(transposed: Real, vector: Real, row: Real, result: Real) -> None:  # pragma: no cover - compiled
    """A matrix that is kept transposed, times a vector."""
    row[:] = 0.0
    for j in range(len(vector)):
        part = vector[j]
        for c in range(len(row)):
            row[c] += part * transposed[j, c]
    for c in range(len(result)):
        result[c] = row[c]
