"""Elimination from block to block against a general solver."""

import numpy as np
import pytest

from filmwright.numerics import BlockTridiagonal


def elements(random, gaps, size):
    """Places of a few elements, not all of them on the diagonal, and their values in every gap."""
    places = np.array([(i, j) for i in range(size) for j in range(size) if (i + 2 * j) % 3 != 1])
    return places, *random.normal(size=(2, gaps, len(places)))


def whole(diagonal, places, before, behind):
    blocks, size = diagonal.shape[:2]
    result = np.zeros((blocks * size, blocks * size))
    for k in range(blocks):
        result[k * size : (k + 1) * size, k * size : (k + 1) * size] = diagonal[k]
    for k in range(blocks - 1):
        for m, (i, j) in enumerate(places):
            result[(k + 1) * size + i, k * size + j] = before[k, m]
            result[k * size + i, (k + 1) * size + j] = behind[k, m]
    return result


@pytest.mark.reference
@pytest.mark.parametrize(("blocks", "size"), [(1, 3), (2, 1), (7, 5), (5, 19)])
def test_blocks_are_solved_like_the_whole_matrix(blocks, size):
    random = np.random.default_rng(7)
    places, before, behind = elements(random, blocks - 1, size)
    diagonal = random.normal(size=(blocks, size, size)) + 2 * size * np.eye(size)
    # Elimination seeks its pivots within a block: their order must not matter, nor the size of a row.
    diagonal = diagonal[:, random.permutation(size)]
    sizes = 10.0 ** random.uniform(-80, 80, size=(blocks, size))
    matrix = whole(diagonal, places, before, behind)
    system = BlockTridiagonal(
        diagonal * sizes[..., None],
        before * sizes[1:, places[:, 0]],
        behind * sizes[:-1, places[:, 0]],
        places,
    )
    for right in random.normal(size=(2, blocks, size)):
        found = system.solve(right * sizes)
        np.testing.assert_allclose(found.ravel(), np.linalg.solve(matrix, right.ravel()), rtol=1e-9)


@pytest.mark.property
@pytest.mark.parametrize("element", [0.0, np.nan])
def test_a_block_that_cannot_be_inverted_is_refused(element):
    diagonal = np.stack((np.eye(2), np.diag([1.0, element])))
    nothing = np.zeros((1, 1))
    with pytest.raises(np.linalg.LinAlgError, match="block 1 of 2 is singular"):
        BlockTridiagonal(diagonal, nothing, nothing, np.array([[0, 0]]))
