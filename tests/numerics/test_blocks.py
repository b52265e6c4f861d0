"""Elimination from block to block against a general solver."""

import numpy as np
import pytest

from filmwright.numerics import BlockTridiagonal


@pytest.mark.reference
@pytest.mark.parametrize(("blocks", "size"), [(1, 3), (2, 1), (7, 5)])
def test_blocks_are_solved_like_the_whole_matrix(blocks, size):
    random = np.random.default_rng(7)
    before, behind = random.normal(size=(2, max(blocks - 1, 0), size, size))
    diagonal = random.normal(size=(blocks, size, size)) + 6 * size * np.eye(size)
    right = random.normal(size=(blocks, size))
    whole = np.zeros((blocks * size, blocks * size))
    for k in range(blocks):
        own = slice(k * size, (k + 1) * size)
        whole[own, own] = diagonal[k]
        if k + 1 < blocks:
            other = slice((k + 1) * size, (k + 2) * size)
            whole[own, other], whole[other, own] = behind[k], before[k]
    system = BlockTridiagonal(lambda k, vectors: vectors @ before[k - 1].T, diagonal, behind)
    for wanted in (right, random.normal(size=right.shape)):
        found = system.solve(wanted)
        np.testing.assert_allclose(found.ravel(), np.linalg.solve(whole, wanted.ravel()), rtol=1e-10)


@pytest.mark.property
def test_a_singular_block_is_refused():
    diagonal = np.zeros((2, 2, 2))
    with pytest.raises(np.linalg.LinAlgError, match="singular"):
        BlockTridiagonal(lambda k, vectors: 0 * vectors, diagonal, np.zeros((1, 2, 2)))
