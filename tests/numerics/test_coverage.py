"""Coverages, sweeps, columns and profiles against answers known by hand."""

from math import pi

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from filmwright.numerics import (
    OPEN,
    Coverage,
    Kernel,
    Profile,
    Region,
    closest,
    columns,
    crossings,
    descent,
    floor_of,
    lifted,
    swept,
    swept_into,
    tent_smoothed,
    time_to_border,
)

WINDOW = (0.0, -10.0, 100.0, 1000.0)


def matched(*regions):
    return Coverage.matched(regions, WINDOW)[0]


@pytest.mark.analytic
def test_borders_contacts_and_outside():
    cover = matched(Region.box(0, -10, 100, 0), Region.box(20, 0, 60, 30), Region.box(60, 0, 70, 50))
    assert cover.contacts() == {(0, 1): 40.0, (0, 2): 10.0, (1, 2): 30.0}
    exposed = cover.exposed
    lengths = np.bincount(exposed.cell, weights=exposed.length)
    assert lengths.tolist() == [50.0, 70.0, 80.0]
    assert set(exposed.other.tolist()) == {OPEN}
    assert cover.open.area == 100 * 1000 - 40 * 30 - 10 * 50
    assert cover.pockets == ()


@pytest.mark.analytic
def test_gaps_of_rounding_are_closed_and_slivers_dropped():
    cover = matched(Region.box(0, -10, 100, 0), Region.box(20, 0.0005, 60, 30), Region.box(70, 0, 70.001, 30))
    assert len(cover.shapes) == 2
    assert shapely.coverage_is_valid(list(cover.shapes))
    assert cover.contacts()[0, 1] == pytest.approx(40.0)


@pytest.mark.analytic
def test_pockets_and_what_hangs_together():
    ring = Region.box(20, 0, 60, 40).difference(Region.box(30, 10, 50, 30))
    cover = matched(Region.box(0, -10, 100, 0), ring, Region.box(35, 100, 45, 110))
    assert [pocket.area for pocket in cover.pockets] == [400.0]
    assert cover.linked([0]) == {0, 1}
    # The inner wall does not border the open outside.
    exposed = cover.exposed
    assert exposed.length[exposed.cell == 1].sum() == 120.0


@pytest.mark.analytic
def test_a_crack_narrower_than_the_probe_is_not_open():
    cover = matched(Region.box(0, -10, 100, 0), Region.box(0, 0, 50, 30), Region.box(50.05, 0, 100, 30))
    exposed = cover.exposed
    # Its two walls of 30 face each other at 0.05 and do not count; its floor looks up.
    assert exposed.length.sum() == pytest.approx(100.0, abs=0.01)


@pytest.mark.analytic
def test_swept_square_is_a_rounded_square():
    found = swept(Region.box(0, 0, 100, 60), Kernel(side=20, up=20, down=20, tolerance=0.01))
    # Facets along the axes are exact, tangents exceed the arcs by at most 0.01.
    assert found.bounds == (-20.0, -20.0, 120.0, 80.0)
    exact = 100 * 60 + 2 * 20 * 160 + pi * 20**2
    assert 0 <= found.area - exact < 0.01 * 2 * pi * 20


@pytest.mark.analytic
def test_kernel_reaches_differently_to_the_side_up_and_down():
    found = swept(Region.box(0, 0, 100, 60), Kernel(side=10, up=30, down=5, tolerance=0.01))
    assert found.bounds == (-10.0, -5.0, 110.0, 90.0)
    exact = 100 * 60 + 100 * 35 + 60 * 20 + pi / 2 * 10 * (30 + 5)
    assert found.area == pytest.approx(exact, abs=0.5)


@pytest.mark.analytic
def test_a_small_step_under_a_wide_sweep_is_kept():
    step = Region.of([[(-9e3, -9e3), (9e3, -9e3), (9e3, 0), (3e3, 0), (3e3, 8), (0, 8), (0, 0), (-9e3, 0)]])
    grown = swept(step, Kernel(side=1000, up=1000, down=1000))
    line = floor_of(Region.box(-9e3, 0, 9e3, 5e3).difference(grown))
    heights = {round(float(z), 3) for x, z in line.points if -8e3 < x < -1100 or 1100 < x < 2e3}
    assert heights <= {1000.0, 1008.0}
    assert line.z1.max() == 1008.0


@pytest.mark.reference
@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    heights=st.lists(st.integers(0, 300), min_size=3, max_size=12),
    reach=st.integers(5, 200),
    slant=st.integers(-40, 40),
)
def test_sweeps_are_those_of_a_general_geometry_library(heights, reach, slant):
    line = [(100.0 * k, float(a)) for k, a in enumerate(heights)]
    outline = shapely.Polygon([(-300.0, -500.0), *line, (line[-1][0] + 300.0, -500.0 + slant)])
    if not outline.is_valid:
        return
    ours = swept(Region(outline), Kernel(side=reach, up=reach, down=reach, tolerance=0.05)).shape
    theirs = shapely.buffer(shapely.segmentize(outline, reach / 50), reach, quad_segs=64)
    # The library drops concave detail under 1 % of the reach unless points are close; arcs differ by 0.1.
    assert ours.symmetric_difference(theirs).area < 0.12 * theirs.length


@pytest.mark.analytic
def test_a_sweep_does_not_pass_a_gap():
    cover = matched(Region.box(0, -10, 100, 0), Region.box(0, 0, 100, 0.5), Region.box(0, 0.5, 100, 5))
    top = cover.exposed
    region = Region.box(0, 0.5, 100, 5).union(Region.box(0, -10, 100, 0))
    found = swept_into(region, top, Kernel(side=8, up=8, down=8))
    assert found.area == pytest.approx(450.0)


@pytest.mark.analytic
def test_time_to_a_border_is_that_of_the_nearest_parallel_edge():
    cover = matched(Region.box(0, -10, 100, 0), Region.box(0, 0, 100, 30))
    border = cover.edges.where((cover.edges.cell == 1) & (cover.edges.other == 0))
    exposed = cover.exposed
    assert time_to_border(exposed, border, np.full(len(exposed.cell), 2.0)) == 15.0
    assert time_to_border(exposed, border, np.zeros(len(exposed.cell))) == float("inf")
    assert closest(exposed, border)[0] == 30.0


@pytest.mark.analytic
def test_columns_of_a_triangle_on_a_box():
    triangle = Region.of([[(20, 0), (60, 0), (40, 40)]])
    found = columns([Region.box(0, -10, 100, 0), triangle], [(10.0, 90.0)])
    width = np.diff(found.x)[found.slab]
    area = width * (found.top - found.bottom).mean(axis=1)
    assert area[found.cell == 1].sum() == pytest.approx(800.0)
    assert area[found.cell == 0].sum() == pytest.approx(800.0)
    assert crossings([Region.box(0, -10, 100, 0), triangle], 30.0) == [(0, -10.0, 0.0), (1, 0.0, 20.0)]


@pytest.mark.analytic
def test_descent_through_a_wedge_is_exact():
    wedge = Region.of([[(0, 0), (100, 0), (0, 50)]])
    found = columns([Region.box(0, -10, 100, 0), wedge], [(0.0, 100.0)])
    # One unit of budget per length in the wedge, a tenth below it: a budget of 25 ends in the wedge left of x
    # = 50 and would go 10 × 25 below where there is no wedge.
    front, start, stopped = descent(found, np.array([10.0, 1.0]), 25.0)
    assert front.area == pytest.approx(50 * 12.5 - 50 * 2.5 / 2)
    assert start.area == pytest.approx(2500.0)
    assert not stopped.any()
    front, _, stopped = descent(found, np.array([np.inf, 1.0]), 25.0)
    assert front.area == pytest.approx(50 * 12.5)
    assert stopped.sum() == 1


@pytest.mark.analytic
def test_floor_seen_from_above_and_lifted():
    overhang = Region.of([[(20, 0), (30, 0), (50, 40), (0, 40)]])
    seen = floor_of(Region.box(-50, 0, 100, 500).difference(overhang))
    assert seen.area == pytest.approx(50 * 40)
    assert [len(seen[run].x0) for run in seen.runs()] == [1, 3, 1]
    assert lifted(seen, 7.0).area == pytest.approx(150 * 7)


@pytest.mark.analytic
def test_tent_average_of_a_step():
    heights = np.array([0.0, 80.0])
    step = Profile(np.array([0.0, 500.0]), np.array([500.0, 1000.0]), heights, heights)
    line = tent_smoothed(step, 100.0, tolerance=1e-3)
    # The integral of a tent of half-width w is 1/2 at its middle and 1/8 half-way down.
    places = [400.0, 450.0, 500.0, 550.0, 600.0]
    assert np.interp(places, *line.T) == pytest.approx([0, 10, 40, 70, 80], abs=0.01)
    x, z = line.T
    assert np.sum(np.diff(x) * (z[1:] + z[:-1]) / 2) == pytest.approx(step.area, abs=1.0)


@pytest.mark.analytic
def test_kernels_that_reach_nowhere_are_refused():
    with pytest.raises(ValueError, match="must reach somewhere"):
        Kernel(side=0.0, up=0.0, down=0.0)
