"""What repeats itself in a drawing: places, windows and fields known by hand."""

import numpy as np
import pytest
import shapely

from filmwright.numerics import (
    Region,
    along_sides,
    boxes_holding,
    boxes_meeting,
    holding,
    linked,
    region_repeats,
    repeats,
)

UM = 1000.0
DIE = Region.box(0, 0, 1000 * UM, 1000 * UM)
MARGIN = 10 * UM


def boxes(*corners: tuple[float, float, float, float]) -> Region:
    return Region.joined([Region.box(*(UM * c for c in each)) for each in corners])


def shifted(box: tuple[float, float, float, float], places) -> list[tuple[float, float, float, float]]:
    return [(box[0] + x, box[1] + y, box[2] + x, box[3] + y) for x, y in places]


GRID = [(100 * i, 100 * j) for j in range(6) for i in range(8)]


@pytest.mark.analytic
def test_equal_cells_are_one_window_at_many_places() -> None:
    lower, upper = (shifted(box, GRID) for box in ((100, 100, 130, 120), (110, 90, 115, 130)))
    found = repeats([boxes(*lower), boxes(*upper)], DIE, MARGIN)
    (cell,) = found.found
    assert cell.count == len(GRID)
    assert cell.windows.tolist() == [[90 * UM, 80 * UM, 140 * UM, 140 * UM]]
    assert {tuple(place) for place in (cell.offsets / UM).tolist()} == set(GRID)
    (field,) = found.field
    assert field.area == pytest.approx(DIE.area - len(GRID) * 50 * 60 * UM**2, rel=1e-12)


@pytest.mark.analytic
def test_the_layer_counts_and_a_nanometre_counts() -> None:
    places = GRID[:12]
    plain = shifted((100, 100, 130, 120), places)
    wider = [(x0, y0, x1 + (0.001 if k == 3 else 0), y1) for k, (x0, y0, x1, y1) in enumerate(plain)]
    (cell, odd) = repeats([boxes(*wider)], DIE, MARGIN).found
    assert (cell.count, odd.count) == (11, 1)
    swapped = repeats([boxes(*plain[:6]), boxes(*plain[6:])], DIE, MARGIN)
    assert [each.count for each in swapped.found] == [6, 6]


@pytest.mark.analytic
def test_a_cell_at_the_border_of_the_die_is_another_cell() -> None:
    places = [(100 * i, 0) for i in range(9)]
    found = repeats([boxes(*shifted((5, 500, 35, 520), places))], DIE, MARGIN)
    assert sorted(each.count for each in found.found) == [1, 8]


@pytest.mark.analytic
def test_a_line_across_the_die_parts_the_field() -> None:
    cells = shifted((100, 100, 130, 120), [(100 * i, 0) for i in range(8)])
    found = repeats([boxes(*cells, (0, 500, 1000, 510))], DIE, MARGIN)
    assert len(found.field) == 2
    windows = sum(each.count * each.core.area for each in found.found)
    assert sum(field.area for field in found.field) + windows == pytest.approx(DIE.area, rel=1e-12)


@pytest.mark.analytic
def test_little_that_repeats_is_not_worth_dividing() -> None:
    places = [(0, 0), (100, 0), (200, 0)]
    different = [
        (x0, y0, x1 + 5 * k, y1) for k, (x0, y0, x1, y1) in enumerate(shifted((100, 100, 130, 120), places))
    ]
    (whole,) = repeats([boxes(*different)], DIE, MARGIN).found
    assert whole.windows.tolist() == [list(DIE.bounds)]
    assert repeats([boxes(*different)], DIE, MARGIN).field == ()


@pytest.mark.analytic
def test_cells_on_common_lines_are_tiles_with_a_halo(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(region_repeats, "LARGE", 10)
    places = [(40 * i, 25 * j) for j in range(10) for i in range(20)]
    islands = shifted((60, 60, 80, 70), places)
    lines = [(50, 62 + 25 * j, 850, 66 + 25 * j) for j in range(10)]
    found = repeats([boxes(*islands), boxes(*lines)], DIE, MARGIN)
    assert all(each.haloed for each in found.found)
    most = max(found.found, key=lambda each: each.count)
    # Between the tiles at the rims and their neighbours, whose halos see a rim, all tiles are alike.
    assert most.count >= (20 - 4) * (10 - 4)
    assert len(found.found) <= 25
    assert (most.windows[0, 2:] - most.windows[0, :2]).tolist() == [40 * UM, 25 * UM]
    # The lines of cut run between the islands: from 80 to 100 µm, and so on.
    assert 0 < most.windows[0, 0] % (40 * UM) < 20 * UM
    windows = sum(each.count * each.core.area for each in found.found)
    assert windows + sum(field.area for field in found.field) == pytest.approx(DIE.area, rel=1e-12)


@pytest.mark.property
def test_a_shape_at_another_of_its_places_is_the_same_shape() -> None:
    (cell,) = repeats([boxes(*shifted((100, 100, 130, 120), GRID))], DIE, MARGIN).found
    other = cell.at(np.array([5, 7]))
    assert other.count == 2
    assert (other.windows[0] - np.tile(cell.offsets[5], 2)).tolist() == cell.windows[0].tolist()
    assert other.offsets[1].tolist() == (cell.offsets[7] - cell.offsets[5]).tolist()


@pytest.mark.reference
def test_holes_cut_at_once_are_those_of_an_overlay() -> None:
    cells = boxes(*shifted((100, 100, 130, 120), GRID))
    whole = shapely.difference(DIE.shape, cells.shape)
    assert DIE.difference(cells).shape.equals(whole)
    assert DIE.difference(boxes((-5, 10, 20, 30))).shape.equals(
        shapely.difference(DIE.shape, boxes((-5, 10, 20, 30)).shape)
    )


@pytest.mark.reference
def test_a_window_of_a_region_is_its_intersection_with_the_window() -> None:
    holes = DIE.difference(boxes(*shifted((100, 100, 130, 120), GRID)))
    for window in ((95, 95, 320, 250), (110, 105, 112, 107), (0, 0, 50, 50), (900, 900, 1200, 1200)):
        box = [UM * c for c in window]
        assert holes.clipped(*box).shape.equals(shapely.intersection(holes.shape, shapely.box(*box)))
    assert holes.clipped(2000 * UM, 0, 2100 * UM, 10).empty
    assert holes.moved(7.0, -3.0).bounds == (7.0, -3.0, 1000 * UM + 7, 1000 * UM - 3)


@pytest.mark.analytic
def test_look_ups_by_boxes_and_links() -> None:
    some = np.array([[0, 0, 10, 10], [10, 0, 20, 10], [30, 30, 40, 40]], dtype=float)
    points = np.array([[10, 5], [35, 35], [25, 25]], dtype=float)
    assert [each.tolist() for each in boxes_holding(some, points)] == [[0, 0, 1], [0, 1, 2]]
    one, other = boxes_meeting(some, some[1:])
    assert sorted(zip(one.tolist(), other.tolist(), strict=True)) == [(0, 0), (1, 0), (2, 1)]
    assert linked(5, np.array([3, 1]), np.array([1, 4])).tolist() == [0, 1, 2, 1, 1]
    regions = [Region.box(*box) for box in some.tolist()]
    assert [each.tolist() for each in holding(regions, points)] == [[0, 0, 1], [0, 1, 2]]


@pytest.mark.analytic
def test_what_runs_along_the_sides_of_a_rectangle() -> None:
    regions = [Region.box(0, 0, 4, 10), Region.box(4, 2, 10, 10), Region.box(20, 0, 30, 10)]
    rows = along_sides(regions, np.array([[0, 0, 10, 10], [20, 0, 30, 10]], dtype=float))
    first = [(0, 0, 0, 0, 10), (0, 0, 1, 0, 4), (0, 0, 3, 0, 4), (1, 0, 2, 2, 10), (1, 0, 3, 4, 10)]
    second = [(2, 1, 0, 0, 10), (2, 1, 1, 20, 30), (2, 1, 2, 0, 10), (2, 1, 3, 20, 30)]
    assert sorted(map(tuple, rows.tolist())) == first + second
