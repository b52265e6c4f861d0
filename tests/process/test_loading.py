"""Loading: the law at points known by hand, its integral by hand, and that the two clocks undo each other."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.process import loaded_time, loading_factor, unloaded_time


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("k", "area", "factor"), [(0.0, 1.0, 1.0), (1.0, 1.0, 0.5), (0.25, 0.8, 1 / 1.2), (3.0, 0.0, 1.0)]
)
def test_the_rate_falls_as_one_over_one_plus_k_times_the_open_area(k: float, area: float, factor: float):
    assert loading_factor(k, area) == pytest.approx(factor)


@pytest.mark.analytic
def test_an_etch_speeds_up_when_half_of_the_area_clears():
    """k = 0.5: 10 s of all open take 15 s, then 10 s of half open take 12.5 s, and what follows is unloaded."""
    shares = [(0.0, 1.0), (10.0, 0.5), (20.0, 0.0)]
    assert loaded_time(10.0, shares, 0.5) == pytest.approx(15.0)
    assert loaded_time(20.0, shares, 0.5) == pytest.approx(27.5)
    assert loaded_time(25.0, shares, 0.5) == pytest.approx(32.5)
    assert unloaded_time(27.5, shares, 0.5) == pytest.approx(20.0)
    assert unloaded_time(32.5, shares, 0.5) == pytest.approx(25.0)


@pytest.mark.property
@given(
    st.lists(st.tuples(st.floats(0.1, 100.0), st.floats(0.0, 1.0)), min_size=1, max_size=5),
    st.floats(0.0, 5.0),
    st.floats(0.0, 1000.0),
)
def test_the_clocks_undo_each_other_and_loading_never_hastens(steps, coefficient: float, time: float):
    begun, shares = 0.0, []
    for length, share in steps:
        shares.append((begun, share))
        begun += length
    shares.append((begun, 0.0))
    unloaded = unloaded_time(time, shares, coefficient)
    assert unloaded <= time * (1 + 1e-12)
    assert loaded_time(unloaded, shares, coefficient) == pytest.approx(time, rel=1e-9, abs=1e-9)


@pytest.mark.property
@pytest.mark.parametrize("bad", [(-0.1, 0.5), (0.1, -0.5), (0.1, 1.5), (float("nan"), 0.5)])
def test_nonsense_is_refused(bad: tuple[float, float]):
    with pytest.raises(ValueError, match="must be"):
        loading_factor(*bad)
