"""Roots against a general-purpose library, and against roots that are known."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from filmwright.numerics import root_between


@pytest.mark.reference
@pytest.mark.parametrize(
    ("miss", "low", "high"),
    [
        (lambda x: math.cos(x) - x, 0.0, 1.0),
        (lambda x: math.exp(x) - 1e6, 0.0, 40.0),
        (lambda x: math.log(x) + 20, 1e-12, 1.0),
        (lambda x: math.tanh(50 * (x - 0.999)), 0.0, 1.0),
        (lambda x: 5.832 - 18024 / x + 6, 150.0, 6000.0),
    ],
)
def test_the_same_root_as_the_library(miss, low: float, high: float):
    ours = root_between(miss, low, high)
    theirs = brentq(miss, low, high, xtol=1e-14)
    assert ours == pytest.approx(theirs, rel=1e-10, abs=1e-10)


@pytest.mark.property
@given(st.floats(-1e3, 1e3), st.floats(1e-3, 1e3), st.integers(0, 3))
def test_a_root_of_an_odd_power_is_found_from_any_side(root: float, away: float, power: int):
    def miss(x: float) -> float:
        return math.copysign(abs(x - root) ** (power + 1), x - root)

    for low, high in ((root - away, root + 3 * away), (root + 3 * away, root - away)):
        assert root_between(miss, low, high) == pytest.approx(root, abs=1e-4 * max(1.0, away))


@pytest.mark.analytic
def test_ends_of_one_sign_are_refused_and_an_end_may_be_the_root():
    with pytest.raises(ValueError, match="must lie between"):
        root_between(lambda x: x * x + 1, -1.0, 1.0)
    assert root_between(lambda x: x, 0.0, 1.0) == 0.0
    assert root_between(lambda x: x - 1, 0.0, 1.0) == 1.0
