"""Width, length and squares of a line between two wide ends."""

import math

import pytest

from filmwright.masks import chip, drawing_of
from filmwright.masks.chips.platinum_thermometer import LINES, meander_length
from filmwright.numerics import Region
from filmwright.wafer.devices_lines import line_size, strip_size

PADS = ((-100, -50, 0, 50), (400, -50, 500, 50))


def region(*boxes: tuple[float, float, float, float]) -> Region:
    return Region.joined([Region.box(*(1000.0 * side for side in box)) for box in boxes])


@pytest.mark.analytic
def test_a_rectangle_gives_its_own_sides_back() -> None:
    assert strip_size(7.0 * 90.0, 2 * (7.0 + 90.0)) == pytest.approx((7.0, 90.0), rel=1e-12)


@pytest.mark.analytic
def test_a_short_strip_and_a_disc_are_no_line() -> None:
    assert strip_size(4.0 * 10.0, 2 * (4.0 + 10.0)) is None
    assert strip_size(math.pi, 2 * math.pi) is None


@pytest.mark.analytic
def test_a_straight_line_between_two_pads_has_its_drawn_sizes() -> None:
    assert line_size(region(*PADS, (0, -4, 400, 4))) == pytest.approx((8e3, 400e3), rel=1e-6)


@pytest.mark.analytic
def test_a_line_with_bends_is_as_long_as_its_middle() -> None:
    up_and_down = (
        (0, -4, 104, 4),
        (96, -4, 104, 200),
        (96, 192, 304, 200),
        (296, -4, 304, 200),
        (296, -4, 400, 4),
    )
    assert line_size(region(*PADS, *up_and_down)) == pytest.approx((8e3, (400 + 2 * 196) * 1e3), rel=1e-6)


@pytest.mark.analytic
@pytest.mark.parametrize(("width", "name"), [*zip(LINES, ("R1", "R2", "R3"), strict=True)])
def test_the_drawn_meanders_have_the_length_of_their_middle(width: float, name: str) -> None:
    drawing = drawing_of(chip("platinum-thermometer"))
    at = next((label.x_nm, label.y_nm) for label in drawing.labels if label.text == f"{name}:I1")
    (line,) = (part for part in drawing.region((1, 0)).parts() if part.holds(*at))
    assert line_size(line) == pytest.approx((width * 1e3, meander_length(width) * 1e3), rel=1e-6)


@pytest.mark.analytic
@pytest.mark.parametrize(
    "boxes",
    [
        pytest.param([(0, -4, 400, 4)], id="no wide ends"),
        pytest.param([PADS[0], (0, -4, 400, 4)], id="one end"),
        pytest.param([*PADS, (0, -4, 200, 4), (200, -6, 400, 6)], id="two widths"),
        pytest.param([*PADS, (0, -4, 190, 4), (190, -3, 210, 3), (210, -4, 400, 4)], id="a neck"),
        pytest.param([*PADS, (0, -24, 400, -16), (0, 16, 400, 24)], id="two lines side by side"),
        pytest.param(
            [*PADS, (0, -4, 400, 4), (196, 0, 204, 100), (150, 100, 250, 200)], id="a tap in the middle"
        ),
        pytest.param([*PADS, (0, -50, 400, 50)], id="a plate"),
    ],
)
def test_where_no_one_line_joins_two_ends_nothing_is_said(boxes) -> None:
    assert line_size(region(*boxes)) is None
