"""Broken lines, distances and gathered places."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.numerics import Path, distances_to, gathered_places

CORNER = Path(np.array([[0.0, 0.0], [3.0, 0.0], [3.0, 4.0]]))


@pytest.mark.analytic
def test_a_path_is_walked_by_its_length():
    assert CORNER.length == 7.0
    np.testing.assert_allclose(CORNER.places([1.0, 5.0, 9.0]), [[1, 0], [3, 2], [3, 4]])
    np.testing.assert_allclose(CORNER.bends(0.1), [3.0])
    assert len(CORNER.bends(2.0)) == 0


@pytest.mark.analytic
def test_distances_are_the_shortest_to_any_line():
    lines = [np.array([[0.0, 0.0], [10.0, 0.0]]), np.array([[0.0, 5.0], [10.0, 5.0]])]
    np.testing.assert_allclose(
        distances_to(np.array([[2.0, 1.0], [2.0, 4.5], [13.0, 4.0]]), lines), [1.0, 0.5, np.hypot(3, 1)]
    )


@pytest.mark.analytic
def test_without_growth_the_places_are_even():
    np.testing.assert_allclose(gathered_places(0.0, 10.0, (), 2.5, 5), [0, 2.5, 5, 7.5, 10])


@pytest.mark.property
@given(
    st.floats(1.0, 1e4),
    st.lists(st.floats(0.01, 0.99), max_size=5),
    st.floats(1e-4, 1e-2),
    st.integers(30, 400),
)
def test_places_rise_hold_the_features_and_their_gaps_grow_away_from_them(length, parts, finest, count):
    features = sorted(length * part for part in parts)
    places = gathered_places(0.0, length, features, finest * length, count)
    assert places[0] == 0.0
    assert places[-1] == length
    assert np.all(np.diff(places) > 0)
    for feature in features:
        assert np.min(np.abs(places - feature)) <= 1.01 * finest * length
    needed = min(count, 2 * length / (finest * length))
    assert len(places) <= needed + 2 * len(features) + 3


@pytest.mark.property
def test_the_count_is_met_by_the_growth():
    places = gathered_places(0.0, 1000.0, (300.0,), 0.1, 200)
    assert abs(len(places) - 200) <= 3
    assert np.diff(places)[0] == pytest.approx(0.1, rel=0.1)


@pytest.mark.property
@pytest.mark.parametrize(
    ("start", "stop", "finest", "count"), [(1.0, 1.0, 0.1, 10), (0.0, 1.0, 0.0, 10), (0.0, 1.0, 0.1, 1)]
)
def test_ends_that_cannot_be_are_refused(start, stop, finest, count):
    with pytest.raises(ValueError, match="start < stop"):
        gathered_places(start, stop, (), finest, count)
