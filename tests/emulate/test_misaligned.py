"""Ways in which levels lie off: every two of them are once apart by √2 of what one is off."""

import math
from itertools import combinations

import pytest

from filmwright.emulate.misaligned import patterns


@pytest.mark.analytic
@pytest.mark.parametrize("count", [1, 2, 3, 4, 7])
def test_every_two_levels_are_once_apart_by_the_error_of_their_difference(count: int):
    later = [f"level {k}" for k in range(count)]
    found = patterns(later)
    for one, other in combinations(later, 2):
        apart = max(abs(moves[one] - moves[other]) for _, moves in found)
        assert apart == pytest.approx(math.sqrt(2))
    for level in later:
        assert {moves[level] for _, moves in found} >= {1.0, -1.0}


@pytest.mark.analytic
@pytest.mark.parametrize(("count", "walks"), [(1, 2), (2, 3), (3, 4), (4, 4), (7, 5)])
def test_the_number_of_walks_grows_with_the_logarithm_of_the_levels(count: int, walks: int):
    assert len(patterns([f"level {k}" for k in range(count)])) == walks
