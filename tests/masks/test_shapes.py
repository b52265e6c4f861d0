"""What a drawing holds: repetitions, turned texts, lines of a width, corners off a grid, marks."""

import math
from pathlib import Path

import gdstk
import pytest

from filmwright.errors import BadInput
from filmwright.masks import CHIPS, chip, drawing_of, read_drawing

SUFFIXES = (".oas", ".gds")


def written(library: gdstk.Library, path: Path) -> Path:
    library.write_gds(path) if path.suffix == ".gds" else library.write_oas(path)
    return path


def one_cell(*shapes: object) -> gdstk.Library:
    return gdstk.Library("drawn").add(gdstk.Cell("top").add(*shapes))


@pytest.mark.analytic
@pytest.mark.parametrize("suffix", SUFFIXES)
def test_repetitions_of_shapes_texts_and_cells_multiply(tmp_path: Path, suffix: str) -> None:
    square = gdstk.rectangle((0, 0), (1, 1), layer=1)
    square.repetition = gdstk.Repetition(offsets=[(3, 0), (7, 2)])  # three squares in all
    text = gdstk.Label("P:1", (0.5, 0.5), layer=60)
    text.repetition = gdstk.Repetition(2, 1, spacing=(3, 0))
    unit = gdstk.Cell("unit").add(square, text)
    skewed = gdstk.Reference(unit, (100, 0))
    skewed.repetition = gdstk.Repetition(3, 2, v1=(20, 4), v2=(0, 30))
    library = gdstk.Library("many").add(unit, gdstk.Cell("top").add(skewed))
    drawing = read_drawing(written(library, tmp_path / f"a{suffix}"))
    region = drawing.region((1, 0))
    assert len(region.parts()) == 3 * 3 * 2
    assert region.area == 18e6
    # The last: 100 + 2 · 20 + 7 and 2 · 4 + 30 + 2, one wide.
    assert region.bounds[2:] == (148_000.0, 41_000.0)
    assert len(drawing.labels) == 2 * 6
    assert max((label.x_nm, label.y_nm) for label in drawing.labels) == (143_500.0, 38_500.0)


@pytest.mark.analytic
@pytest.mark.parametrize("suffix", SUFFIXES)
def test_a_text_goes_with_its_cell_turned_mirrored_and_scaled(tmp_path: Path, suffix: str) -> None:
    unit = gdstk.Cell("unit").add(gdstk.rectangle((0, 0), (4, 1)), gdstk.Label("T1:S", (3, 1)))
    top = gdstk.Cell("top").add(
        gdstk.Reference(unit, (0, 0)),
        gdstk.Reference(unit, (50, 10), rotation=math.pi / 2, magnification=2, x_reflection=True),
    )
    drawing = read_drawing(written(gdstk.Library("t").add(unit, top), tmp_path / f"a{suffix}"))
    # (3, 1) mirrored at x: (3, −1); scaled: (6, −2); turned by a quarter: (2, 6); moved: (52, 16).
    assert sorted((label.x_nm, label.y_nm) for label in drawing.labels) == [(3e3, 1e3), (52e3, 16e3)]
    assert {label.text for label in drawing.labels} == {"T1:S"}


@pytest.mark.analytic
@pytest.mark.parametrize("suffix", SUFFIXES)
@pytest.mark.parametrize(("ends", "length"), [("flush", 10.0), ("extended", 12.0)])
def test_a_line_has_its_width_and_its_ends(tmp_path: Path, suffix: str, ends: str, length: float) -> None:
    line = gdstk.FlexPath([(0, 0), (10, 0)], 2, ends=ends, layer=3, simple_path=True)
    region = read_drawing(written(one_cell(line), tmp_path / f"a{suffix}")).region((3, 0))
    assert region.area == 2e3 * length * 1e3


@pytest.mark.analytic
def test_a_round_end_is_half_a_disc_each() -> None:
    line = gdstk.FlexPath([(0, 0), (10, 0)], 2, ends="round", layer=3, tolerance=1e-4)
    assert drawing_of(one_cell(line)).region((3, 0)).area == pytest.approx((20 + math.pi) * 1e6, rel=2e-4)


@pytest.mark.analytic
@pytest.mark.parametrize("suffix", SUFFIXES)
@pytest.mark.parametrize("unit", [1e-3, 1e-6, 2.54e-5, 1e-9])
def test_the_unit_of_a_file_changes_no_size(tmp_path: Path, suffix: str, unit: float) -> None:
    library = gdstk.Library("u", unit=unit, precision=1e-9)
    library.add(gdstk.Cell("top").add(gdstk.rectangle((0, 0), (254e-6 / unit, 1e-6 / unit), layer=1)))
    assert read_drawing(written(library, tmp_path / f"a{suffix}")).region((1, 0)).bounds == (0, 0, 254e3, 1e3)


@pytest.mark.analytic
@pytest.mark.parametrize("suffix", SUFFIXES)
def test_corners_off_the_file_s_grid_are_counted_and_moved_to_it(tmp_path: Path, suffix: str) -> None:
    unit = gdstk.Cell("unit").add(gdstk.rectangle((0, 0), (1, 1), layer=2))
    top = gdstk.Cell("top").add(
        gdstk.rectangle((0, 0), (1, 1), layer=1), gdstk.Reference(unit, (10, 20), rotation=math.pi / 4)
    )
    drawing = read_drawing(written(gdstk.Library("g").add(unit, top), tmp_path / f"a{suffix}"))
    # A unit square turned by 45° has three corners with a coordinate of √½ or √2.
    (note,) = drawing.notes
    assert "layer 2/0: 3 of 4 corners lie off it, the first at (10.7071068, 20.7071068) µm" in note
    assert "1 nm" in note
    assert {float(x) % 1 for ring in drawing.region((2, 0)).rings() for x in ring.ravel()} == {0.0}


@pytest.mark.analytic
def test_corners_off_a_grid_that_was_asked_for_are_refused_layer_by_layer() -> None:
    library = one_cell(
        gdstk.rectangle((0, 0), (1, 1), layer=1),
        gdstk.rectangle((0, 0), (1.005, 1), layer=2),
        gdstk.rectangle((0, 0), (0.003, 5), layer=3),
        gdstk.rectangle((0, 0), (0.003, 5), layer=4),
    )
    assert drawing_of(library, {(1, 0): 10.0}).notes == ()
    with pytest.raises(BadInput) as caught:
        drawing_of(library, dict.fromkeys([(1, 0), (2, 0), (3, 0)], 10.0))
    problems = caught.value.problems
    assert [problem.what for problem in problems] == ["the mask layer 2/0", "the mask layer 3/0"]
    assert problems[0].expected == "corners on the grid of 10 nm"
    assert problems[0].got == "2 of 4 corners lie off it, the first at (1.005, 0) µm"


@pytest.mark.analytic
@pytest.mark.parametrize("suffix", SUFFIXES)
def test_a_line_of_no_width_and_a_flat_shape_are_counted(tmp_path: Path, suffix: str) -> None:
    library = one_cell(
        gdstk.rectangle((0, 0), (1, 1), layer=3),
        gdstk.FlexPath([(5, 6), (9, 6)], 0, layer=3, simple_path=True),
        gdstk.Polygon([(0, 0), (2, 2), (4, 4)], layer=3),
    )
    drawing = read_drawing(written(library, tmp_path / f"a{suffix}"))
    assert drawing.region((3, 0)).area == 1e6
    assert any("2 shapes without area" in note and "left out" in note for note in drawing.notes)


@pytest.mark.analytic
def test_a_crossing_is_placed() -> None:
    bow = gdstk.Polygon([(40, 0), (42, 2), (42, 0), (40, 2)], layer=4)
    (note,) = drawing_of(one_cell(bow, gdstk.rectangle((0, 0), (1, 1), layer=4))).notes
    assert "1 shape crosses itself, the first at (40, 0) µm" in note


@pytest.mark.analytic
def test_a_cell_without_anything_is_named() -> None:
    library = one_cell(gdstk.rectangle((0, 0), (1, 1)))
    hollow = gdstk.Cell("hollow")
    library.cells[0].add(gdstk.Reference(hollow))
    library.add(hollow)
    assert drawing_of(library).notes == ('cells without anything in them: "hollow"',)


@pytest.mark.analytic
def test_marks_are_the_places_of_the_cells_that_are_called_so() -> None:
    mark = gdstk.Cell("align_cross").add(gdstk.rectangle((0, 0), (4, 2)))
    remark = gdstk.Cell("trademark").add(gdstk.rectangle((0, 0), (4, 2)))
    side = gdstk.Cell("side").add(gdstk.Reference(mark, (10, 0), rotation=math.pi / 2))
    top = gdstk.Cell("top").add(
        gdstk.Reference(side, (100, 0), x_reflection=True),
        gdstk.Reference(mark, (0, 0), columns=2, rows=1, spacing=(50, 9)),
        gdstk.Reference(remark, (300, 0)),
    )
    drawing = drawing_of(gdstk.Library("m").add(mark, remark, side, top))
    # Turned by a quarter: x 8 to 10, y 0 to 4; mirrored at x: y −4 to 0.
    assert drawing.marks == ((0, 0, 4e3, 2e3), (50e3, 0, 54e3, 2e3), (108e3, -4e3, 110e3, 0))


@pytest.mark.property
@pytest.mark.parametrize("name", CHIPS)
def test_the_bundled_chips_are_on_their_grid_with_marks_and_nothing_to_say(name: str) -> None:
    drawing = drawing_of(chip(name))
    assert drawing.notes == ()
    assert len(drawing.marks) >= 4
