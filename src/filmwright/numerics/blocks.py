"""Systems whose blocks couple only to their neighbours in a row."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Real = NDArray[np.float64]
Whole = NDArray[np.int64]

_LANES = 8
"""Rows of a block are lengthened to a multiple of so many numbers, which a vector unit takes at once."""


class BlockTridiagonal:
    """A block tridiagonal system, eliminated once from block to block (Thomas' algorithm with matrices), solved often.

    Every row is divided by its largest element in its own block first. Blocks are inverted rather than factorised: at some
    fifty unknowns the product with an inverse is faster than two triangular solutions, and the couplings are nearly empty.

    Parameters
    ----------
    diagonal : array (blocks, n, n)
    before, behind : array (blocks − 1, places)
        Elements that couple row k + 1 to row k, and row k to row k + 1; all others are 0.
    places : array (places, 2)
        Row and column of those elements in their block.

    Raises
    ------
    numpy.linalg.LinAlgError
        When a block on the way is singular or not finite; pivots are sought within a block only.

    Notes
    -----
    Source: G. H. Golub, C. F. Van Loan, Matrix Computations, 4th ed., Johns Hopkins 2013, section 4.5; the inverse in place:
    N. J. Higham, Accuracy and Stability of Numerical Algorithms, 2nd ed., SIAM 2002, section 14.4 (both from memory).
    """

    def __init__(self, diagonal: Real, before: Real, behind: Real, places: Whole) -> None:
        from filmwright.numerics import blocks_compiled

        blocks, size = diagonal.shape[:2]
        self._couplings = (before, behind, np.ascontiguousarray(places, dtype=np.int64))
        self._inverses = np.zeros((blocks, size, -(-size // _LANES) * _LANES))
        self._scale = np.empty((blocks, size))
        reached = blocks_compiled.eliminated(diagonal, *self._couplings, self._inverses, self._scale)
        if reached < blocks:
            raise np.linalg.LinAlgError(f"block {reached} of {blocks} is singular")

    def solve(self, right: Real) -> Real:
        """The solution for a right side.

        Parameters
        ----------
        right : array (blocks, n)

        Returns
        -------
        array (blocks, n)
        """
        from filmwright.numerics import blocks_compiled

        return blocks_compiled.solved(
            self._inverses, self._scale, *self._couplings, np.ascontiguousarray(right, dtype=float)
        )
