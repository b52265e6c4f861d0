"""Quantities as people write them."""

import contextlib

import pytest
import scipy.constants as nature
from hypothesis import given
from hypothesis import strategies as st

from filmwright.units import (
    BOLTZMANN,
    DIMENSIONS,
    ELEMENTARY_CHARGE,
    VACUUM_PERMITTIVITY,
    ZERO_CELSIUS,
    UnitProblem,
    convert,
    plain,
    read,
    show,
    to_si,
    write,
)


@pytest.mark.reference
def test_constants_are_those_of_nature():
    assert nature.e == ELEMENTARY_CHARGE
    assert nature.k == BOLTZMANN
    assert nature.zero_Celsius == ZERO_CELSIUS
    # CODATA moves the last digits of the permittivity between its editions.
    assert pytest.approx(nature.epsilon_0, rel=1e-8) == VACUUM_PERMITTIVITY


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("850 Å", "length", 8.5e-8), ("850 ang", "length", 8.5e-8), ("1.3 um", "length", 1.3e-6), ("1.3 µm", "length", 1.3e-6),
        ("6 mTorr", "pressure", 6e-3 * 101325 / 760), ("110 °C", "temperature", 383.15), ("110 degC", "temperature", 383.15),
        ("120 mJ/cm²", "dose", 1200.0), ("120 mJ/cm^2", "dose", 1200.0), ("4000 rpm", "speed", 4000 / 60), ("5 %", "fraction", 0.05),
        ("62 nF/cm^2", "areal capacitance", 6.2e-4), ("10 cm²/(V·s)", "mobility", 1e-3), ("2 MV/cm", "field", 2e8),
        ("42 µΩ·cm", "resistivity", 4.2e-7), ("20 sccm", "gas flow", 20e-6 / 60), ("2.65 g/cm^3", "density", 2650.0),
    ],
)  # fmt: skip
def test_what_people_write(text: str, dimension: str, value: float):
    assert read(text, dimension).value == pytest.approx(value, rel=1e-12)


@pytest.mark.analytic
@pytest.mark.parametrize(
    "text", ["60 nm ± 5 %", "60 nm +- 5 %", "60 nm +/- 3 nm", "60 ± 3 nm", "(60 ± 3) nm"]
)
def test_a_spread_in_every_way_of_writing_it(text: str):
    found = read(text, "length")
    assert found.value == pytest.approx(60e-9)
    assert found.spread == pytest.approx(3e-9)
    assert str(found) == "60 nm ± 3 nm"


@pytest.mark.analytic
def test_a_spread_of_a_temperature_is_a_difference():
    assert read("110 °C ± 2 °C", "temperature").spread == pytest.approx(2.0)


@pytest.mark.analytic
def test_a_bare_a_in_a_length_is_read_as_angstrom_and_says_so():
    found = read("850 A", "length")
    assert found.value == pytest.approx(8.5e-8)
    assert found.reading == "A read as ångström"


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("text", "dimension", "word"),
    [
        ("6 mTor", "pressure", 'did you mean "mTorr"? 6 mTorr = 0.8 Pa'), ("60", "length", "add the unit"), ("60 s", "length", "60 nm"),
        ("6,5 nm", "length", "decimal point"), ("thick", "length", "a number and a unit"), ("", "length", "a number and a unit"),
    ],
)  # fmt: skip
def test_a_wrong_quantity_teaches(text: str, dimension: str, word: str):
    with pytest.raises(UnitProblem) as trouble:
        read(text, dimension, "the thickness")
    assert word in trouble.value.problem.remedy
    assert trouble.value.problem.what == "the thickness"


@pytest.mark.property
@given(st.text(max_size=30), st.sampled_from(sorted(DIMENSIONS)))
def test_junk_is_refused_and_nothing_else_happens(text: str, dimension: str):
    with contextlib.suppress(UnitProblem):
        assert read(text, dimension).dimension == dimension


@pytest.mark.property
@given(st.floats(1e-3, 1e6), st.sampled_from([unit for d in DIMENSIONS.values() for unit in d.shown]))
def test_conversion_there_and_back(number: float, unit: str):
    assert convert(to_si(number, unit), unit) == pytest.approx(number, rel=1e-9)


@pytest.mark.property
@pytest.mark.parametrize("dimension", sorted(DIMENSIONS))
def test_every_example_can_be_read_and_shown_again(dimension: str):
    value = read(DIMENSIONS[dimension].example, dimension).value
    assert read(show(value, dimension), dimension).value == pytest.approx(value, rel=5e-3)


@pytest.mark.analytic
def test_numbers_are_written_as_people_write_them():
    assert write(6e-8, "nm") == "60 nm"
    assert write(383.15, "degC") == "110 °C"
    assert show(1.3e-6, "length") == "1.3 µm"
    assert show(3e-10, "length") == "3 Å"
    assert plain(2.0, "degC") == pytest.approx(2.0)
