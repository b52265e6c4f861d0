"""A front that crosses borders between places of different speed, against Snell's law and straight lines (nm, s)."""

from math import asin, cos, hypot, pi, sqrt, tan

import numpy as np
import pytest

from filmwright.numerics import Edges, Region, Timed, crossings_of, taken
from filmwright.numerics.arrival import arrival


def source(start, end, first=0.0, last=0.0):
    return Timed(np.array([start]), np.array([end]), np.array([0]), np.array([first]), np.array([last]))


@pytest.mark.analytic
def test_from_an_edge_left_at_once_the_front_arrives_along_the_perpendicular():
    points, through = np.array([[50.0, 30.0], [-40.0, 30.0], [50.0, 30.0]]), np.array([0, 0, 1])
    at = arrival(points, through, source((0.0, 0.0), (100.0, 0.0)), np.array([2.0, 1.0]))
    # Nothing comes through a cell that nothing was left into.
    assert at == pytest.approx([15.0, 25.0, np.inf])


@pytest.mark.analytic
def test_from_an_edge_left_in_turn_the_front_leans():
    # The edge is left at 5 nm/s along it, the front then goes at 2: it leans by sin a = 2 / 5.
    lean = asin(2 / 5)
    edge = source((0.0, 0.0), (1000.0, 0.0), 0.0, 200.0)
    at = arrival(np.array([[80.0, 30.0]]), np.array([0]), edge, np.array([2.0]))
    assert at[0] == pytest.approx((80.0 - 30.0 * tan(lean)) / 5 + 30.0 / cos(lean) / 2)


def pile():
    """Border at z = 0 of a lower cell 1 to an upper cell 0 that a front enters through a point 10 above."""
    sources = source((0.0, 10.0), (1e-6, 10.0))
    borders = Edges(np.array([[500.0, 0.0]]), np.array([[-500.0, 0.0]]), np.array([1]), np.array([0]))
    return sources, borders


@pytest.mark.analytic
def test_a_border_is_reached_within_its_circle_and_in_time():
    sources, borders = pile()
    reached = crossings_of(sources, borders, np.array([1.0, 3.0]), 30.0)
    x = np.concatenate([reached.start[:, 0], reached.end[:, 0]])
    assert (x.min(), x.max()) == (pytest.approx(-sqrt(800), abs=0.1), pytest.approx(sqrt(800), abs=0.1))
    assert reached.first == pytest.approx(np.hypot(reached.start[:, 0], 10.0), abs=0.03)


@pytest.mark.reference
def test_what_is_taken_beyond_agrees_with_the_fastest_of_many_two_legged_ways():
    sources, borders = pile()
    speeds = np.array([1.0, 3.0])
    gone = taken(crossings_of(sources, borders, speeds, 30.0), speeds, 30.0, 96)[1]
    through = np.linspace(-100.0, 100.0, 20_001)
    for x, z in ((0.0, -58.0), (0.0, -62.0), (45.0, -20.0), (60.0, -4.0), (75.0, -20.0)):
        fastest = (np.hypot(through, 10.0) + np.hypot(x - through, z) / 3.0).min()
        assert gone.holds(x, z) == (fastest < 30.0)


@pytest.mark.analytic
def test_what_cannot_get_anywhere_is_left_alone():
    sources, borders = pile()
    assert len(crossings_of(sources, borders, np.array([1.0, 3.0]), 9.9).cell) == 0
    assert len(crossings_of(sources, borders, np.array([1.0, 1e-3]), 30.0).cell) == 0


@pytest.mark.analytic
def test_a_border_that_is_reached_at_both_ends_and_in_its_middle_is_not_taken_for_reached_all_along():
    places = [-500.0, 0.0, 500.0]
    start = np.array([(x - 1.0, 10.0) for x in places])
    end = np.array([(x + 1.0, 10.0) for x in places])
    zero = np.zeros(3)
    borders = Edges(np.array([[500.0, 0.0]]), np.array([[-500.0, 0.0]]), np.array([1]), np.array([0]))
    reached = crossings_of(
        Timed(start, end, np.zeros(3, int), zero, zero), borders, np.array([1.0, 3.0]), 30.0
    )
    # Each opening reaches sqrt(30² - 10²) to both sides; the outer two end with the border.
    long = np.hypot(*(reached.end - reached.start).T).sum()
    assert long == pytest.approx(4 * (1.0 + sqrt(800)), abs=0.5)


@pytest.mark.analytic
def test_disc_of_tangents_holds_the_circle():
    once = source((0.0, 0.0), (1e-6, 0.0))
    gone = taken(once, np.array([2.0]), 10.0, 48)[0]
    assert gone.area == pytest.approx(pi * 400, rel=0.003)
    assert gone.area > pi * 400
    # Along the axes the tangents touch it.
    assert gone.bounds == pytest.approx((-20.0, -20.0, 20.0, 20.0), abs=1e-3)
    assert hypot(*gone.point_inside()) < 20.0


@pytest.mark.analytic
def test_something_taken_from_nothing_leaves_nothing():
    assert Region.nothing().difference(Region.box(0, 0, 1, 1)).empty
    nowhere = Region.box(0, 0, 1, 1).intersection(Region.box(5, 5, 6, 6))
    assert nowhere.difference(Region.box(0, 0, 1, 1)).empty
