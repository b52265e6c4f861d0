"""Planar regions: areas and borders known by hand, and laws that hold for any regions."""

import math
import random

import numpy as np
import pytest
import shapely

from filmwright.numerics import Polyline, Region, borders, facing, gap_between, holders, length_of


def random_region(seed: int, count: int = 8) -> Region:
    """The union of slanted quadrilaterals within 1000 nm."""
    chance = random.Random(seed)
    polygons = []
    for _ in range(count):
        x, y, r, turn = (
            chance.uniform(0, 1000),
            chance.uniform(0, 1000),
            chance.uniform(20, 300),
            chance.uniform(0, 2),
        )
        polygons.append(
            [
                (x + r * math.cos(turn + k * math.pi / 2), y + r * math.sin(turn + k * math.pi / 2))
                for k in range(4)
            ]
        )
    return Region.of(polygons)


@pytest.mark.property
@pytest.mark.parametrize("seed", range(20))
def test_areas_add_up(seed: int) -> None:
    a, b = random_region(seed), random_region(seed + 1000)
    # Snapping moves a vertex by at most 0.0007 nm; borders are about 10 µm long.
    tolerance = 1e-3 * (a.perimeter + b.perimeter)
    assert a.union(b).area == pytest.approx(a.area + b.area - a.intersection(b).area, abs=tolerance)
    assert a.difference(b).area == pytest.approx(a.area - a.intersection(b).area, abs=tolerance)
    inside, outside = a.split(b)
    assert inside.area + outside.area == pytest.approx(a.area, abs=tolerance)
    assert inside.intersection(outside).area == pytest.approx(0.0, abs=tolerance)


@pytest.mark.reference
@pytest.mark.parametrize("seed", range(10))
def test_the_union_of_clusters_is_the_plain_union(seed: int) -> None:
    corners = np.random.default_rng(seed).integers(0, 1000, (60, 2))
    sizes = np.random.default_rng(seed + 1).integers(1, 90, (60, 2))
    boxes = np.hstack([corners, corners + sizes]).astype(float).tolist()
    plain = shapely.union_all([shapely.box(*box) for box in boxes])
    assert Region.joined([Region.box(*box) for box in boxes]).area == plain.area


def sieve(seed: int, count: int = 12) -> Region:
    """A field with square holes, some of them cut by its rim, and islands in the holes."""
    chance = random.Random(seed)
    field = Region.box(0, 0, 1000, 1000)
    holes = [
        (chance.uniform(-50, 950), chance.uniform(-50, 950), chance.uniform(10, 200)) for _ in range(count)
    ]
    pierced = field.difference(Region.joined([Region.box(x, y, x + r, y + r) for x, y, r in holes]))
    islands = [Region.box(x + 0.3 * r, y + 0.3 * r, x + 0.6 * r, y + 0.6 * r) for x, y, r in holes[::2]]
    return Region.joined([pierced, *islands])


@pytest.mark.reference
@pytest.mark.parametrize("seed", range(20))
def test_a_split_is_the_plain_overlay(seed: int) -> None:
    for one, other in (
        (sieve(seed), sieve(seed + 100)),
        (random_region(seed), sieve(seed)),
        (sieve(seed), random_region(seed)),
    ):
        inside, outside = one.split(other)
        apart = [
            shapely.symmetric_difference(inside.shape, shapely.intersection(one.shape, other.shape)),
            shapely.symmetric_difference(outside.shape, shapely.difference(one.shape, other.shape)),
        ]
        # Snapping moves a vertex by at most 0.0007 nm.
        assert all(rest.area <= 1e-3 * (one.perimeter + other.perimeter) for rest in apart)
        assert inside.shape.is_valid
        assert outside.shape.is_valid


@pytest.mark.analytic
def test_a_split_by_touching_halves_leaves_nothing_outside() -> None:
    halves = Region.gathered([Region.box(0, 0, 50, 100), Region.box(50, 0, 100, 100)])
    inside, outside = Region.box(20, 20, 80, 80).split(halves)
    assert inside.area == 3600.0
    assert outside.empty


@pytest.mark.analytic
def test_a_split_passes_on_what_is_not_cut() -> None:
    pieces = Region.joined([Region.box(0, 0, 10, 10), Region.box(40, 0, 50, 10), Region.box(90, 0, 110, 10)])
    ring = Region.box(30, -10, 100, 20).difference(Region.box(35, -5, 55, 15))
    inside, outside = pieces.split(ring)
    assert inside.bounds == (90.0, 0.0, 100.0, 10.0)
    assert outside.area == 100 + 100 + 100


@pytest.mark.analytic
def test_shapes_that_only_touch_share_a_border_and_no_area() -> None:
    one = Region.joined([Region.box(0, 0, 10, 10), Region.box(30, 0, 40, 10)])
    # One box touches along an edge, the other is crossed: the overlay leaves a line and a box.
    other = Region.joined([Region.box(10, 0, 20, 10), Region.box(35, 0, 50, 10)])
    assert one.intersection(other).bounds == (35.0, 0.0, 40.0, 10.0)
    assert one.shared_border(Region.box(10, 0, 20, 10)) == 10.0


@pytest.mark.property
@pytest.mark.parametrize("seed", range(10))
def test_growing_there_and_back_loses_only_what_is_narrow(seed: int) -> None:
    # Square corners only: a tip sharper than 29° is cut off where it grows, as the mitre limit says.
    region = sieve(seed)
    opened = region.grown(-7.5).grown(7.5)
    assert opened.difference(region).area <= 1e-3 * opened.perimeter
    closed = region.grown(7.5).grown(-7.5)
    assert region.difference(closed).area <= 1e-3 * closed.perimeter
    assert region.grown(-7.5).area < region.area < region.grown(7.5).area


@pytest.mark.analytic
def test_pieces_that_shrink_are_the_shrunk_pieces() -> None:
    pieces = [Region.box(0, 0, 100, 100), Region.box(100.5, 0, 200, 100), Region.box(300, 0, 310, 100)]
    assert Region.joined(pieces).grown(-10).area == pytest.approx(80 * 80 + 79.5 * 80)


@pytest.mark.property
@pytest.mark.parametrize("seed", range(10))
def test_coordinates_lie_on_the_grid_and_shapes_stay_valid(seed: int) -> None:
    for region in (
        random_region(seed).union(random_region(seed + 50)),
        random_region(seed).grown(13.7),
        random_region(seed).grown(-13.7),
        *random_region(seed).split(sieve(seed)),
    ):
        for ring in region.rings():
            assert (ring * 1024 == np.rint(ring * 1024)).all()
        assert region.shape.is_valid


@pytest.mark.analytic
def test_a_square_grows_with_sharp_corners() -> None:
    assert Region.box(0, 0, 100, 100).grown(10).area == 120**2
    assert Region.box(0, 0, 100, 100).grown(-10).area == 80**2
    assert Region.box(0, 0, 100, 100).grown(-60).empty


@pytest.mark.analytic
def test_an_outline_may_touch_itself_but_not_cross() -> None:
    ring = [(0, 0), (9, 0), (9, 9), (0, 9), (0, 3), (3, 3), (3, 6), (6, 6), (6, 3), (3, 3), (0, 3)]
    assert Region.of([ring]).area == 81 - 9
    with pytest.raises(ValueError, match="cross"):
        Region.of([[(0, 0), (2, 2), (2, 0), (0, 2)]])


@pytest.mark.property
def test_equal_regions_have_one_key() -> None:
    assert Region.box(0, 0, 5, 5).key == Region.box(0, 0, 5, 5).key
    assert Region.box(0, 0, 5, 5).key != Region.box(0, 0, 5, 6).key


@pytest.mark.analytic
def test_borders_of_a_chequered_field() -> None:
    fields = [Region.box(10 * i, 10 * j, 10 * i + 10, 10 * j + 10) for i in range(4) for j in range(3)]
    found = borders(fields)
    assert len(found) == 3 * 3 + 4 * 2
    assert all(border.length == pytest.approx(10.0) for border in found)
    assert all(border.first < border.second for border in found)


@pytest.mark.analytic
def test_a_vertex_on_one_side_only_does_not_hide_a_border() -> None:
    wide = Region.box(0, 0, 90, 10)
    teeth = [Region.box(10 * k, 10, 10 * k + 10, 20) for k in range(9)]
    assert sum(b.length for b in borders([wide, *teeth]) if b.first == 0) == pytest.approx(90.0)


@pytest.mark.analytic
def test_touching_corners_are_no_border() -> None:
    assert borders([Region.box(0, 0, 1, 1), Region.box(1, 1, 2, 2)]) == ()
    assert borders([]) == ()


@pytest.mark.property
@pytest.mark.parametrize("seed", range(10))
def test_what_a_split_cuts_is_a_border_of_the_whole_length(seed: int) -> None:
    die = Region.box(0, 0, 1000, 1000)
    inside, outside = die.split(random_region(seed))
    shared = sum(b.length for b in borders([inside, outside]))
    assert shared == pytest.approx((inside.perimeter + outside.perimeter - die.perimeter) / 2, rel=1e-4)


@pytest.mark.analytic
def test_facing_edges() -> None:
    one = np.array([[0.0, 0.0, 0.0, 100.0]])
    other = np.array([[30.0, 20.0, 30.0, 200.0]])
    assert gap_between(one, other) == 30.0
    assert length_of(other) == 180.0
    assert facing(one, other, 30.0 * (1 + 1e-6)) == pytest.approx(80.0, abs=0.1)


@pytest.mark.analytic
def test_holders_of_points() -> None:
    regions = [Region.box(0, 0, 10, 10), Region.box(10, 0, 20, 10)]
    assert holders(regions, [(5, 5), (10, 5), (30, 5)]) == ((0,), (0, 1), ())


@pytest.mark.analytic
def test_a_line_through_a_region_with_a_hole() -> None:
    ring = Region.box(0, 0, 90, 90).difference(Region.box(30, 30, 60, 60))
    assert ring.along(Polyline(((-10, 45), (100, 45)))) == ((10.0, 40.0), (70.0, 100.0))
    with pytest.raises(ValueError, match="two different points"):
        Polyline(((1.0, 1.0), (1.0, 1.0)))


@pytest.mark.analytic
def test_gathered_parts_keep_their_area() -> None:
    parts = [Region.box(0, 0, 1, 1), Region.box(5, 0, 6, 1)]
    assert Region.gathered(parts).area == 2.0
    assert Region.nothing().empty
    assert Region.joined([]).empty


@pytest.mark.analytic
def test_near_and_distance() -> None:
    a, b = Region.box(0, 0, 100, 10), Region.box(100, 0, 200, 10)
    assert b.near(a, 7.0).area == 70.0
    assert a.distance(Region.box(140, 0, 150, 10)) == 40.0
    assert Region.box(2, 2, 4, 4).holds(*Region.box(2, 2, 4, 4).point_inside())
