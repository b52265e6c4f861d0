"""Systems whose blocks couple only to their neighbours in a row."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Real = NDArray[np.float64]


class BlockTridiagonal:
    """A block tridiagonal system, eliminated once from block to block (Thomas' algorithm with matrices), solved often.

    Parameters
    ----------
    before : function (int k, array (vectors, n)) → array (vectors, n)
        The block that couples row k to row k − 1, times each of some vectors of row k − 1: such blocks are mostly empty.
    diagonal : array (blocks, n, n)
    behind : array (blocks − 1, n, n)
        Blocks that couple row k to row k + 1.

    Raises
    ------
    numpy.linalg.LinAlgError
        When a block on the way is singular; pivots are sought within a block only.

    Notes
    -----
    Source: G. H. Golub, C. F. Van Loan, Matrix Computations, 4th ed., Johns Hopkins 2013, section 4.5 (from memory).
    """

    def __init__(self, before: Callable[[int, Real], Real], diagonal: Real, behind: Real) -> None:
        from scipy.linalg.lapack import dgetrf, dgetrs

        self._before = before
        blocks = len(diagonal)
        # Everything is kept transposed, so that LAPACK finds its own order of elements and copies nothing.
        self._kept = np.ascontiguousarray(np.swapaxes(behind, 1, 2))
        self._factors: list[tuple[Real, NDArray[np.int32]]] = []
        for k in range(blocks):
            matrix = diagonal[k].T - before(k, self._kept[k - 1]) if k else diagonal[k].T.copy()
            factors, pivots, failed = dgetrf(np.ascontiguousarray(matrix).T, overwrite_a=1)
            if failed:
                raise np.linalg.LinAlgError(f"block {k} of {blocks} is singular")
            self._factors.append((factors, pivots))
            if k + 1 < blocks:
                dgetrs(factors, pivots, self._kept[k].T, overwrite_b=1)

    def solve(self, right: Real) -> Real:
        """The solution for a right side.

        Parameters
        ----------
        right : array (blocks, n)

        Returns
        -------
        array (blocks, n)
        """
        from scipy.linalg.lapack import dgetrs

        solved = np.array(right, dtype=float)
        for k, (factors, pivots) in enumerate(self._factors):
            if k:
                solved[k] -= self._before(k, solved[k - 1][None])[0]
            solved[k] = dgetrs(factors, pivots, solved[k])[0]
        for k in range(len(solved) - 2, -1, -1):
            solved[k] -= solved[k + 1] @ self._kept[k]
        return solved
