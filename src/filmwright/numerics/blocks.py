"""Systems whose blocks couple only to their neighbours in a row."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Real = NDArray[np.float64]


def solve_block_tridiagonal(
    before: Callable[[int, Real], Real], diagonal: Real, behind: Real, right: Real
) -> Real:
    """Solve a block tridiagonal system by elimination from block to block (Thomas' algorithm with matrices).

    Parameters
    ----------
    before : function (int k, array (columns, n)) → array (columns, n)
        The block that couples row k to row k − 1, times each of some vectors of row k − 1: such blocks are mostly empty.
    behind : array (blocks − 1, n, n)
        Blocks that couple row k to row k + 1.
    diagonal : array (blocks, n, n)
    right : array (blocks, n)

    Returns
    -------
    array (blocks, n)

    Raises
    ------
    numpy.linalg.LinAlgError
        When a block on the way is singular; pivots are sought within a block only.

    Notes
    -----
    Source: G. H. Golub, C. F. Van Loan, Matrix Computations, 4th ed., Johns Hopkins 2013, section 4.5 (from memory).
    """
    from scipy.linalg.lapack import dgetrf, dgetrs

    blocks, n = right.shape
    # Everything is kept transposed, so that LAPACK finds its own order of elements and copies nothing.
    kept = np.empty((blocks, n + 1, n))
    for k in range(blocks):
        matrix, wanted = diagonal[k].T, kept[k]
        wanted[n] = right[k]
        if k + 1 < blocks:
            wanted[:n] = behind[k].T
        else:
            wanted[:n] = 0.0
        if k:
            taken = before(k, kept[k - 1])
            matrix = matrix - taken[:n]
            wanted[n] -= taken[n]
        factors, pivots, failed = dgetrf(np.ascontiguousarray(matrix).T, overwrite_a=bool(k))
        if failed:
            raise np.linalg.LinAlgError(f"block {k} of {blocks} is singular")
        dgetrs(factors, pivots, wanted.T, overwrite_b=1)
    solved = np.empty((blocks, n))
    solved[-1] = kept[-1, n]
    for k in range(blocks - 2, -1, -1):
        solved[k] = kept[k, n] - solved[k + 1] @ kept[k, :n]
    return solved
