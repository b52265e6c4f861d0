"""Narrowest line or window of a level, against shapes whose width is known."""

import math

import numpy as np
import pytest

from filmwright.numerics import Region
from filmwright.review.shapes import narrowest


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
