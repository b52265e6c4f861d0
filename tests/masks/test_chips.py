"""The project's own chips: what is on them, and that it has the size that its name says."""

import itertools
from collections import Counter
from pathlib import Path

import pytest

from filmwright.masks import CHIPS, Drawing, chip, device_table, drawing_of, read_drawing, write_drawing
from filmwright.masks.chips.font import text_width, written
from filmwright.numerics import Polyline

DRAWN = {name: drawing_of(chip(name)) for name in CHIPS}
UM = 1000.0


def part_at(drawing: Drawing, layer: tuple[int, int], x_um: float, y_um: float):
    return next(part for part in drawing.region(layer).parts() if part.holds(x_um * UM, y_um * UM))


@pytest.mark.property
@pytest.mark.parametrize("name", CHIPS)
def test_a_chip_comes_back_from_its_file(name: str, tmp_path: Path) -> None:
    read = read_drawing(write_drawing(chip(name), tmp_path / f"{name}.oas"))
    assert read.notes == ()
    assert {n: r.area for n, r in read.layers.items()} == pytest.approx(
        {n: r.area for n, r in DRAWN[name].layers.items()}
    )
    assert {label.text for label in read.labels} == {label.text for label in DRAWN[name].labels}


@pytest.mark.property
@pytest.mark.parametrize("name", CHIPS)
def test_every_terminal_of_the_table_has_one_label_on_the_die(name: str) -> None:
    drawing = DRAWN[name]
    texts = Counter(label.text for label in drawing.labels)
    assert max(texts.values()) == 1
    assert set(texts) == {f"{device.name}:{end}" for device in device_table(name) for end in device.terminals}
    assert all(
        label.layer == (60, 0) and drawing.die.holds(label.x_nm, label.y_nm) for label in drawing.labels
    )


@pytest.mark.property
@pytest.mark.parametrize("name", CHIPS)
def test_everything_lies_within_the_die(name: str) -> None:
    drawing = DRAWN[name]
    x0, y0, x1, y1 = drawing.die.bounds
    for number, region in drawing.layers.items():
        if number != (0, 0):
            a, b, c, d = region.bounds
            assert a > x0 + 100 * UM
            assert b > y0 + 100 * UM
            assert c < x1 - 100 * UM
            assert d < y1 - 100 * UM


@pytest.mark.property
@pytest.mark.parametrize("name", CHIPS)
def test_every_label_stands_on_the_uppermost_metal(name: str) -> None:
    drawing = DRAWN[name]
    metal = drawing.region(max(number for number in drawing.layers if number[0] < 60))
    assert all(metal.holds(label.x_nm, label.y_nm) for label in drawing.labels)


@pytest.mark.property
@pytest.mark.parametrize("name", CHIPS)
def test_device_names_have_no_signs_that_look_alike(name: str) -> None:
    for device in device_table(name):
        assert device.name[0] in "CDHLRTX"
        assert device.name[1:].isdigit()


@pytest.mark.analytic
def test_the_humidity_switch_has_its_devices() -> None:
    kinds = Counter(device.kind for device in device_table("humidity-switch"))
    assert kinds == {"transistor": 48, "transfer length": 3, "capacitor": 3, "cross": 2, "comb": 1}
    sizes = Counter(
        (d.width_um, d.length_um) for d in device_table("humidity-switch") if d.kind == "transistor"
    )
    assert len(sizes) == 24
    assert set(sizes.values()) == {2}
    assert DRAWN["humidity-switch"].die.bounds == (0.0, 0.0, 6000 * UM, 6000 * UM)


@pytest.mark.analytic
def test_transistors_have_the_width_and_length_of_their_names() -> None:
    drawing = DRAWN["humidity-switch"]
    for device in device_table("humidity-switch"):
        if device.kind != "transistor":
            continue
        _x0, y0, _x1, y1 = part_at(drawing, (2, 0), device.x_um, device.y_um).bounds
        assert y1 - y0 == device.width_um * UM
        left = part_at(drawing, (4, 0), device.x_um - 170, device.y_um)
        right = part_at(drawing, (4, 0), device.x_um + 170, device.y_um)
        assert left.distance(right) == device.length_um * UM
        gate = part_at(drawing, (1, 0), device.x_um, device.y_um)
        assert gate.bounds[3] >= y1 + 15 * UM - 1
        # No part of the island within the gap lies outside both contacts' width: the contacts are wider than the island.
        assert left.bounds[1] <= y0 - 5 * UM
        assert left.bounds[3] >= y1 + 5 * UM


@pytest.mark.analytic
def test_pads_are_large_enough_to_probe() -> None:
    drawing = DRAWN["humidity-switch"]
    openings = [part for part in drawing.region((3, 0)).parts() if part.area >= (80 * UM) ** 2]
    assert len(openings) == 48 + 3 + 3
    gates = drawing.region((1, 0))
    assert all(part.difference(gates).empty for part in openings)


@pytest.mark.analytic
def test_a_transfer_length_set_has_the_gaps_of_the_table() -> None:
    drawing = DRAWN["humidity-switch"]
    for device in (d for d in device_table("humidity-switch") if d.kind == "transfer length"):
        pads = [label for end in "123456" for label in drawing.labels if label.text == f"{device.name}:{end}"]
        island = part_at(drawing, (2, 0), device.x_um, device.y_um)
        contacts = [part_at(drawing, (4, 0), p.x_nm / UM, p.y_nm / UM).intersection(island) for p in pads]
        gaps = tuple(a.distance(b) / UM for a, b in itertools.pairwise(contacts))
        assert gaps == device.lengths_um == (5.0, 10.0, 20.0, 40.0, 80.0)


@pytest.mark.analytic
def test_plates_have_the_area_of_the_table() -> None:
    for name, layer in (
        ("humidity-switch", (4, 0)),
        ("delay-line", (4, 0)),
        ("platinum-thermometer", (3, 0)),
    ):
        for device in (d for d in device_table(name) if d.kind == "capacitor"):
            assert part_at(DRAWN[name], layer, device.x_um, device.y_um).area == (device.width_um * UM) ** 2


@pytest.mark.analytic
def test_the_fingers_of_a_delay_line_follow_the_wavelength() -> None:
    drawing = DRAWN["delay-line"]
    device = next(d for d in device_table("delay-line") if d.name == "D1")
    y = device.y_um * UM
    x = (device.x_um - device.length_um / 2) * UM
    along = drawing.region((4, 0)).along(Polyline(((x - 520 * UM, y), (x + 520 * UM, y))))
    assert len(along) == 4 * 25
    assert {round(b - a, 3) for a, b in along} == {5 * UM}
    assert {round(q[0] - p[0], 3) for p, q in itertools.pairwise(along)} == {10 * UM}


@pytest.mark.analytic
def test_meanders_are_as_long_as_the_table_says() -> None:
    drawing = DRAWN["platinum-thermometer"]
    for device in (d for d in device_table("platinum-thermometer") if d.kind == "track"):
        part = part_at(drawing, (1, 0), device.x_um - device.width_um * 30, device.y_um)
        # All that is not line: two bars of 30 × 620 µm, and four pads of 120 µm which they overlap by 120 or 60 µm.
        bars = 2 * 30 * 620 + 4 * 120**2 - 2 * 30 * (120 + 60)
        line = (part.area / UM**2 - bars) / device.width_um
        assert line == pytest.approx(device.length_um, rel=0.02)


@pytest.mark.property
def test_every_letter_is_drawn_within_its_height() -> None:
    signs = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789/-.+"
    for sign in signs:
        box = [polygon.bounding_box() for polygon in written(sign, (0.0, 0.0), 60.0, (1, 0))]
        assert min(b[0][1] for b in box) >= -7.0
        assert max(b[1][1] for b in box) <= 67.0
        assert max(b[1][0] for b in box) <= text_width(sign, 60.0) + 7.0
    shapes = {
        tuple(sorted(tuple(map(tuple, p.points.round(3))) for p in written(s, (0.0, 0.0), 6.0, (1, 0))))
        for s in signs
    }
    assert len(shapes) == len(signs) - 1, (
        "only zero and the letter O share a shape, and names never use the letter"
    )
