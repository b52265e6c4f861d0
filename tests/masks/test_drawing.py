"""Drawings in and out: units, hierarchy, tones, cuts, and everything that can be wrong with a file."""

import math
from pathlib import Path

import gdstk
import pytest

from filmwright.errors import BadInput
from filmwright.masks import (
    Drawing,
    check_cut,
    cut_through,
    drawing_of,
    plate_note,
    read_drawing,
    resist_left,
    write_drawing,
)
from filmwright.numerics import Polyline, Region

SUFFIXES = (".oas", ".gds")


def library(unit: float = 1e-6, precision: float = 1e-9) -> gdstk.Library:
    made = gdstk.Library("drawn", unit=unit, precision=precision)
    unit_cell = gdstk.Cell("unit")
    unit_cell.add(gdstk.rectangle((0, 0), (2, 1), layer=1), gdstk.Label("A:G", (0.5, 0.5), layer=60))
    row = gdstk.Cell("row")
    row.add(gdstk.Reference(unit_cell, (10, 0), columns=4, rows=3, spacing=(5, 4)))
    top = gdstk.Cell("top")
    top.add(gdstk.Reference(row), gdstk.rectangle((-1, -1), (31, 21), layer=2, datatype=5))
    return made.add(unit_cell, row, top)


@pytest.mark.analytic
@pytest.mark.parametrize("suffix", SUFFIXES)
def test_arrays_in_a_hierarchy_come_out_as_shapes_in_nanometres(tmp_path: Path, suffix: str) -> None:
    drawing = read_drawing(write_drawing(library(), tmp_path / f"a{suffix}"))
    region = drawing.region((1, 0))
    assert len(region.parts()) == 12
    assert region.area == 12 * 2000.0 * 1000.0
    assert region.bounds == (10_000.0, 0.0, 27_000.0, 9_000.0)
    assert drawing.region((2, 5)).bounds == (-1000.0, -1000.0, 31_000.0, 21_000.0)
    assert len([label for label in drawing.labels if label.text == "A:G"]) == 12
    assert min((label.x_nm, label.y_nm) for label in drawing.labels) == pytest.approx((10_500.0, 500.0))


@pytest.mark.analytic
@pytest.mark.parametrize("suffix", SUFFIXES)
def test_a_drawing_in_other_units_has_the_same_size(tmp_path: Path, suffix: str) -> None:
    made = gdstk.Library("mm", unit=1e-3, precision=1e-9)
    made.add(gdstk.Cell("top").add(gdstk.rectangle((0, 0), (0.002, 0.001), layer=1)))
    assert read_drawing(write_drawing(made, tmp_path / f"a{suffix}")).region((1, 0)).area == 2000.0 * 1000.0


@pytest.mark.property
def test_both_formats_and_memory_agree(tmp_path: Path) -> None:
    drawings = [
        drawing_of(library()),
        *(read_drawing(write_drawing(library(), tmp_path / f"a{s}")) for s in SUFFIXES),
    ]
    for number in drawings[0].layers:
        assert len({(d.region(number).area, d.region(number).bounds) for d in drawings}) == 1


@pytest.mark.property
@pytest.mark.parametrize("suffix", SUFFIXES)
def test_the_same_library_gives_the_same_bytes(tmp_path: Path, suffix: str) -> None:
    first = write_drawing(library(), tmp_path / f"a{suffix}").read_bytes()
    assert write_drawing(library(), tmp_path / f"a{suffix}").read_bytes() == first
    assert [path.name for path in tmp_path.iterdir()] == [f"a{suffix}"]


@pytest.mark.analytic
def test_a_hole_drawn_with_a_double_line_is_a_hole() -> None:
    keyhole = [
        (0, 0),
        (10, 0),
        (10, 10),
        (0, 10),
        (0, 5),
        (3, 5),
        (3, 7),
        (7, 7),
        (7, 3),
        (3, 3),
        (3, 5),
        (0, 5),
    ]
    made = gdstk.Library("keyhole")
    made.add(gdstk.Cell("top").add(gdstk.Polygon(keyhole, layer=1)))
    drawing = drawing_of(made)
    assert drawing.region((1, 0)).area == pytest.approx((100 - 16) * 1e6)
    assert drawing.notes == ()


@pytest.mark.analytic
def test_a_shape_that_crosses_itself_is_filled_and_said() -> None:
    made = gdstk.Library("bow")
    made.add(
        gdstk.Cell("top").add(
            gdstk.Polygon([(0, 0), (2, 2), (2, 0), (0, 2)], layer=4), gdstk.rectangle((5, 5), (6, 6), layer=4)
        )
    )
    drawing = drawing_of(made)
    assert drawing.region((4, 0)).area == pytest.approx(3e6)
    assert any("4/0" in note and "cross" in note for note in drawing.notes)


@pytest.mark.analytic
def test_of_several_top_cells_the_largest_is_taken_and_said() -> None:
    made = gdstk.Library("two")
    made.add(
        gdstk.Cell("small").add(gdstk.rectangle((0, 0), (1, 1))),
        gdstk.Cell("large").add(gdstk.rectangle((0, 0), (9, 9))),
    )
    drawing = drawing_of(made)
    assert drawing.name == "large"
    assert '"small"' in drawing.notes[0]


@pytest.mark.analytic
def test_a_missing_layer_names_those_that_are_there() -> None:
    with pytest.raises(BadInput) as caught:
        drawing_of(library()).region((7, 0))
    problem = caught.value.problems[0]
    assert "7/0" in problem.what
    assert "1/0, 2/5" in problem.expected


def spoiled(tmp_path: Path, case: str) -> Path:
    good = {suffix: write_drawing(library(), tmp_path / f"good{suffix}").read_bytes() for suffix in SUFFIXES}
    path = tmp_path / "bad.oas"
    if case == "missing":
        return path
    if case == "folder":
        path.mkdir()
        return path
    content = {
        "empty": b"",
        "junk": bytes(range(256)) * 40,
        "words": b"flow: something else\n",
        "wrong sum": good[".oas"][:40] + bytes([good[".oas"][40] ^ 1]) + good[".oas"][41:],
        "half oasis": good[".oas"][: len(good[".oas"]) // 2],
        "half gdsii": good[".gds"][: len(good[".gds"]) // 2],
        "oasis head": good[".oas"][:14] + bytes(range(255, 0, -1)) * 8 + b"\x02" + bytes(255),
        "gdsii head": good[".gds"][:30] + b"\xff\xfe\x99" * 300 + good[".gds"][-4:],
    }[case]
    path.write_bytes(content)
    return path


@pytest.mark.property
@pytest.mark.parametrize(
    "case",
    [
        "missing",
        "wrong sum",
        "folder",
        "empty",
        "junk",
        "words",
        "half oasis",
        "half gdsii",
        "oasis head",
        "gdsii head",
    ],
)
def test_a_spoiled_file_is_refused_with_its_name(tmp_path: Path, case: str) -> None:
    path = spoiled(tmp_path, case)
    with pytest.raises(BadInput) as caught:
        read_drawing(path)
    assert caught.value.problems[0].file == str(path)
    assert caught.value.problems[0].remedy


@pytest.mark.property
def test_an_empty_top_cell_is_refused(tmp_path: Path) -> None:
    made = gdstk.Library("nothing")
    made.add(gdstk.Cell("hollow"))
    with pytest.raises(BadInput, match="hollow"):
        read_drawing(write_drawing(made, tmp_path / "a.oas"))


@pytest.mark.property
@pytest.mark.parametrize("suffix", SUFFIXES)
def test_a_file_without_a_cell_on_top_is_refused(tmp_path: Path, suffix: str) -> None:
    with pytest.raises(BadInput, match="without cells"):
        read_drawing(write_drawing(gdstk.Library("none"), tmp_path / f"none{suffix}"))
    one, other = gdstk.Cell("one"), gdstk.Cell("other")
    one.add(gdstk.rectangle((0, 0), (1, 1)), gdstk.Reference(other))
    other.add(gdstk.Reference(one))
    with pytest.raises(BadInput, match="contain each other"):
        read_drawing(write_drawing(gdstk.Library("round").add(one, other), tmp_path / f"round{suffix}"))


@pytest.mark.property
@pytest.mark.parametrize("suffix", SUFFIXES)
def test_a_cell_that_is_referred_to_and_not_there_is_named(tmp_path: Path, suffix: str) -> None:
    torn = gdstk.Cell("torn").add(gdstk.rectangle((0, 0), (1, 1)), gdstk.Reference("lost"))
    with pytest.raises(BadInput, match="lost"):
        read_drawing(write_drawing(gdstk.Library("torn").add(torn), tmp_path / f"torn{suffix}"))


@pytest.mark.analytic
@pytest.mark.parametrize("suffix", SUFFIXES)
def test_shapes_without_area_are_left_out_and_said(tmp_path: Path, suffix: str) -> None:
    flat = gdstk.Cell("flat").add(
        gdstk.rectangle((0, 0), (0, 5), layer=3), gdstk.rectangle((0, 0), (5, 5), layer=4)
    )
    drawing = read_drawing(write_drawing(gdstk.Library("flat").add(flat), tmp_path / f"flat{suffix}"))
    assert set(drawing.layers) == {(4, 0)}
    assert len(drawing.notes) == 1
    assert "layer 3/0: 1 shape without area" in drawing.notes[0]


@pytest.mark.analytic
@pytest.mark.parametrize("suffix", SUFFIXES)
def test_a_turned_mirrored_and_scaled_cell_keeps_its_shape(tmp_path: Path, suffix: str) -> None:
    made = library()
    corner = gdstk.Cell("corner").add(
        gdstk.Polygon([(0, 0), (3, 0), (3, 1), (1, 1), (1, 2), (0, 2)], layer=7)
    )
    turned = gdstk.Reference(corner, (50, 0), rotation=math.pi / 2, magnification=2, x_reflection=True)
    made.add(corner)
    made.top_level()[0].add(turned)
    region = read_drawing(write_drawing(made, tmp_path / f"turned{suffix}")).region((7, 0))
    assert region.area == 4 * 4e6
    # Mirrored at x first, then scaled, then turned: (3, 1) goes to (50 + 2, 0 + 6).
    assert region.bounds == (50_000.0, 0.0, 54_000.0, 6_000.0)
    assert region.holds(51_900, 5_900)
    assert not region.holds(53_900, 5_900)


@pytest.mark.analytic
def test_a_line_of_a_width_is_a_shape(tmp_path: Path) -> None:
    bend = gdstk.FlexPath([(0, 0), (10, 0), (10, 10)], 2, layer=3, simple_path=True)
    path = write_drawing(gdstk.Library("line").add(gdstk.Cell("line").add(bend)), tmp_path / "line.gds")
    assert read_drawing(path).region((3, 0)).area == 2000.0 * 20_000.0


@pytest.mark.analytic
def test_the_die_is_the_frame_or_a_margin_around_everything() -> None:
    made = library()
    assert drawing_of(made).die.bounds == (-51_000.0, -51_000.0, 81_000.0, 71_000.0)
    made.top_level()[0].add(gdstk.rectangle((-100, -100), (100, 100)))
    assert drawing_of(made).die.bounds == (-100_000.0, -100_000.0, 100_000.0, 100_000.0)


DIE = Region.box(0, 0, 100, 100)
SHAPES = Region.box(10, 10, 30, 40)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("drawn", "resist", "area"),
    [
        ("opaque", "positive", 600.0),
        ("clear", "positive", 9400.0),
        ("opaque", "negative", 9400.0),
        ("clear", "negative", 600.0),
        ("opaque", "image reversal", 9400.0),
        ("clear", "image reversal", 600.0),
    ],
)
def test_tone_decides_where_resist_stays(drawn: str, resist: str, area: float) -> None:
    left = resist_left(SHAPES, DIE, drawn, resist)
    assert left.area == area
    assert left.holds(20, 20) == (area == 600.0)
    assert ("where something is drawn" in plate_note(drawn, resist)) == (area == 600.0)


@pytest.mark.property
def test_tones_of_the_two_kinds_share_the_die() -> None:
    one, other = resist_left(SHAPES, DIE, "opaque", "positive"), resist_left(SHAPES, DIE, "clear", "positive")
    assert one.area + other.area == DIE.area
    with pytest.raises(ValueError, match="drawn"):
        resist_left(SHAPES, DIE, "dark", "positive")


@pytest.mark.analytic
def test_a_cut_runs_through_its_middle_in_its_direction() -> None:
    cut = cut_through((100.0, 50.0), (3.0, 4.0), 10.0)
    assert cut.length == pytest.approx(20.0)
    assert cut.points[1] == pytest.approx((106.0, 58.0))
    with pytest.raises(ValueError, match="direction"):
        cut_through((0.0, 0.0), (0.0, 0.0), 10.0)


@pytest.mark.analytic
def test_a_cut_that_leaves_the_drawing_is_refused_with_its_reach() -> None:
    drawing = drawing_of(library())
    inside = Polyline(((0.0, 0.0), (20_000.0, 0.0)))
    assert check_cut(drawing, inside, "a") is inside
    with pytest.raises(BadInput) as caught:
        check_cut(drawing, Polyline(((0.0, 0.0), (2_000_000.0, 0.0))), "long", "plan.yaml", 7)
    problem = caught.value.problems[0]
    assert (problem.file, problem.line) == ("plan.yaml", 7)
    assert "-51 to 81 µm" in problem.expected
    assert "(2000, 0) µm" in problem.got


@pytest.mark.analytic
def test_bounds_enclose_every_layer() -> None:
    drawing = Drawing(name="d", layers={(1, 0): Region.box(0, 0, 5, 5), (2, 0): Region.box(-3, 2, 1, 9)})
    assert drawing.bounds == (-3.0, 0.0, 5.0, 9.0)
    assert math.isclose(drawing.die.area, (8 + 100_000) * (9 + 100_000))
