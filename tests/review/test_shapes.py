"""Narrowest line or window of a level, against shapes whose width is known."""

import math

import numpy as np
import pytest

from filmwright.numerics import Region
from filmwright.review.shapes import narrowest, narrowest_space, outline_widths


@pytest.mark.analytic
def test_lines_windows_and_arms():
    line = Region.box(0, 0, 3_000, 90_000)
    assert narrowest(line) == 3_000
    window = Region.box(0, 0, 50_000, 50_000).difference(Region.box(10_000, 10_000, 12_000, 30_000))
    assert narrowest(window) == 2_000
    t_shape = Region.box(0, 0, 20_000, 5_000).union(Region.box(8_000, 5_000, 9_500, 30_000))
    assert narrowest(t_shape) == 1_500


@pytest.mark.analytic
def test_a_gap_in_a_piece_is_no_line():
    comb = Region.box(0, 0, 30_000, 5_000).union(Region.box(0, 5_000, 8_000, 40_000))
    comb = comb.union(Region.box(9_000, 5_000, 30_000, 40_000))
    # The slot is 1 µm wide, the lines are 8 µm and more; beneath the slot the bar is a neck of no length.
    assert narrowest(comb) == 8_000


@pytest.mark.analytic
def test_a_line_at_an_angle_and_a_disc():
    turn, width, length = math.radians(37), 2_500.0, 60_000.0
    across = np.array([[0, 0], [length, 0], [length, width], [0, width]])
    turned = across @ np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    assert narrowest(Region.of([turned])) == pytest.approx(width, rel=1e-3)
    angles = np.linspace(0, 2 * math.pi, 64, endpoint=False)
    disc = 10_000 * np.column_stack((np.cos(angles), np.sin(angles)))
    found = narrowest(Region.of([disc]))
    assert found is None or found == pytest.approx(20_000, rel=0.01)


@pytest.mark.property
def test_many_of_one_kind_are_as_narrow_as_one():
    many = Region.joined([Region.box(k * 10_000, 0, k * 10_000 + 4_000, 20_000) for k in range(50)])
    assert narrowest(many) == 4_000
    assert narrowest(Region.nothing()) is None


@pytest.mark.analytic
def test_spaces_between_pieces_arms_and_windows():
    apart = Region.joined([Region.box(0, 0, 5_000, 50_000), Region.box(6_200, 0, 9_000, 50_000)])
    assert narrowest_space(apart, 2_000) == 1_200
    assert narrowest_space(apart, 1_000) is None
    comb = Region.box(0, 0, 30_000, 5_000).union(Region.box(0, 5_000, 8_000, 40_000))
    comb = comb.union(Region.box(9_000, 5_000, 30_000, 40_000))
    assert outline_widths(comb) == (8_000, 1_000)
    assert narrowest_space(comb, 2_000, slot=1_000) == 1_000
    holes = Region.joined(
        [Region.box(10_000, 10_000, 20_000, 20_000), Region.box(21_500, 10_000, 30_000, 20_000)]
    )
    assert narrowest_space(Region.box(0, 0, 50_000, 50_000).difference(holes), 2_000) == 1_500
    ring = Region.box(0, 0, 50_000, 50_000).difference(Region.box(10_000, 10_000, 30_000, 30_000))
    island = ring.union(Region.box(11_100, 12_000, 20_000, 20_000))
    assert narrowest_space(island, 2_000) == 1_100


@pytest.mark.property
def test_a_line_has_no_space_and_corners_that_touch_have_nothing_between_them():
    assert narrowest_space(Region.box(0, 0, 500, 50_000), 2_000) is None
    assert narrowest_space(Region.nothing(), 2_000) is None
    corners = Region.joined([Region.box(0, 0, 5_000, 5_000), Region.box(5_000, 5_000, 9_000, 9_000)])
    assert narrowest_space(corners, 2_000) is None
