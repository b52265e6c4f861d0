"""What pictures read off a section, against answers known by hand."""

import numpy as np
import pytest

from filmwright.numerics import Region
from filmwright.outputs.geometry import (
    busy_window,
    crossings,
    films,
    flat_thickness,
    removed,
    same_shape,
    spans,
)


def film(stage, name):
    return next(part for part in films(stage) if part.film == name)


@pytest.mark.analytic
def test_a_vertical_line_crosses_a_ring_with_a_hole_four_times():
    shape = Region.box(0, 0, 10, 10).difference(Region.box(4, 2, 6, 7))
    assert crossings(shape.rings(), np.array([5.0]))[:, 0] == pytest.approx([0, 2, 7, 10])
    thickness, low, high = spans(shape.rings(), np.array([5.0, 1.0, 20.0]))
    assert thickness == pytest.approx([5, 10, 0])
    assert (low[0], high[0]) == (0, 10)
    assert np.isnan(low[2])


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("stage", "name", "thickness"),
    [
        ("gate", "titanium (step 2)", 60.0),
        ("dielectric", "aluminium oxide (step 5)", 40.0),
        ("contacts", "IGZO (step 6)", 25.0),
        ("contacts", "gold (step 9)", 90.0),
        ("contacts", "silicon dioxide (as bought)", 300.0),
    ],
)
def test_thickness_over_flat_ground(stages, stage, name, thickness):
    found = flat_thickness(film(stages[stage], name), 0, 64_000)
    assert found == pytest.approx((thickness,), abs=0.02)


@pytest.mark.analytic
def test_a_film_thinned_where_it_lay_open_has_two_thicknesses():
    shape = Region.box(0, 0, 700, 40).union(Region.box(700, 0, 1000, 34))
    part = films(
        type("S", (), {"bodies": [type("B", (), {"material": "m", "film": "f", "shape": shape})()]})()
    )[0]
    assert flat_thickness(part, 0, 1000) == pytest.approx((40.0, 34.0), abs=0.02)


@pytest.mark.analytic
def test_what_an_etch_took_away_is_the_difference_of_areas(stages):
    gone = removed(films(stages["blanket"]), films(stages["gate"]))
    assert [part.film for part in gone] == ["titanium (step 2)"]
    kept = (20_000 + 20_120) / 2 * 60
    assert gone[0].shape.area == pytest.approx(64_000 * 60 - kept)
    assert removed(films(stages["gate"]), films(stages["dielectric"])) == ()


@pytest.mark.analytic
def test_the_window_shows_every_edge_with_room(stages):
    x0, x1 = busy_window(films(stages["gate"]))
    assert 0 < x0 < 22_000 - 60
    assert 42_000 + 60 < x1 < 64_000
    assert busy_window(films(stages["start"])) == (0, 64_000)


@pytest.mark.analytic
def test_same_shape_knows_a_step_without_change(stages):
    assert same_shape(stages["gate"], stages["gate"])
    assert not same_shape(stages["blanket"], stages["gate"])
