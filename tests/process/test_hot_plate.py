"""The offset of a hot plate between its readings, by hand."""

import math

import pytest

from filmwright.process import plate_offset

PLATES, OFFSETS, STDS = (373.15, 423.15), (-2.0, -6.0), (0.3, 0.4)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("plate", "offset"), [(373.15, -2.0), (398.15, -4.0), (410.65, -5.0), (423.15, -6.0)]
)
def test_between_its_readings_the_offset_is_linear_in_what_the_plate_is_set_to(plate: float, offset: float):
    found, _, notes = plate_offset(plate + offset, PLATES, OFFSETS, STDS)
    assert found == pytest.approx(offset)
    assert notes == ()


@pytest.mark.analytic
def test_the_spread_in_the_middle_is_that_of_a_mean_of_two():
    assert plate_offset(394.15, PLATES, OFFSETS, STDS)[1] == pytest.approx(math.hypot(0.15, 0.2))
    assert plate_offset(371.15, PLATES, OFFSETS, STDS)[1] == pytest.approx(0.3)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("wafer", "offset", "far"), [(366.3, -2.0, False), (360.0, -2.0, True), (450.0, -6.0, True)]
)
def test_beyond_its_readings_the_nearest_is_kept_and_flagged(wafer: float, offset: float, far: bool):
    found, _, notes = plate_offset(wafer, PLATES, OFFSETS, STDS)
    assert found == offset
    assert bool(notes) is far


@pytest.mark.analytic
@pytest.mark.parametrize(
    "table",
    [((), (), ()), ((373.15,), (-1.0, -2.0), (0.1,)), ((373.15, 373.15), (-1.0, -2.0), (0.1, 0.1)), ((373.15, 383.15), (0.0, -10.0), (0.1, 0.1)), ((383.15, 373.15), (0.0, -1.0), (0.1, 0.1))],
    ids=["empty", "of unequal length", "equal temperatures", "colder on a hotter plate", "falling"],
)  # fmt: skip
def test_a_table_that_is_none_is_refused(table):
    with pytest.raises(ValueError, match="must"):
        plate_offset(380.0, *table)
