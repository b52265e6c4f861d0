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
    before : function (int k, array (n, columns)) → array (n, columns)
        Product of the block that couples row k to row k − 1 with a matrix: such blocks are mostly empty.
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
    kept = np.empty((blocks, n, n + 1), order="C")
    for k in range(blocks):
        matrix, vector = diagonal[k], right[k]
        if k:
            taken = before(k, kept[k - 1])
            matrix, vector = matrix - taken[:, :n], vector - taken[:, n]
        factors, pivots, failed = dgetrf(matrix)
        if failed:
            raise np.linalg.LinAlgError(f"block {k} of {blocks} is singular")
        wanted = np.empty((n, n + 1), order="F")
        wanted[:, n] = vector
        if k + 1 < blocks:
            wanted[:, :n] = behind[k]
        else:
            wanted[:, :n] = 0.0
        kept[k] = dgetrs(factors, pivots, wanted, overwrite_b=1)[0]
    solved = np.empty((blocks, n))
    solved[-1] = kept[-1, :, n]
    for k in range(blocks - 2, -1, -1):
        solved[k] = kept[k, :, n] - kept[k, :, :n] @ solved[k + 1]
    return solved
