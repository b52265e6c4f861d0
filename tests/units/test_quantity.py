"""Quantities as people write them."""

import contextlib

import pytest
import scipy.constants as nature
from hypothesis import given
from hypothesis import strategies as st

from filmwright.units import (
    AVOGADRO,
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
    assert nature.N_A == AVOGADRO
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
        ("6,5 nm", "length", "decimal point"), ("60 nm ± -5 %", "length", "± 5 %"), ("60 nm ± -3 nm", "length", "± 3 nm"),
        ("thick", "length", "a number and a unit"), ("", "length", "a number and a unit"),
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
    assert show(3e-10, "length") == "0.3 nm"
    assert plain(2.0, "degC") == pytest.approx(2.0)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("text", "dimension", "value", "unit"),
    [
        ("2 kA", "length", 2e-7, "kÅ"),
        ("5 A/s", "rate", 5e-10, "Å/s"),
        ("60 A/min", "rate", 1e-10, "Å/min"),
    ],
)
def test_a_written_for_angstrom_in_rates_and_thousands(text: str, dimension: str, value: float, unit: str):
    found = read(text, dimension)
    assert found.value == pytest.approx(value, rel=1e-12)
    assert (found.unit, found.reading) == (unit, "A read as ångström")
    assert read("2 kA", "current").value == 2000.0


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("plain_text", "fancy", "dimension"),
    [
        ("850 ang", "850 Å", "length"), ("1.3 um", "1.3 µm", "length"), ("1.3 um", "1.3 μm", "length"),
        ("42 uohm*cm", "42 µΩ·cm", "resistivity"), ("120 mJ/cm^2", "120 mJ/cm²", "dose"), ("4.5 g/cm^3", "4.5 g/cm³", "density"),
        ("110 degC", "110 °C", "temperature"), ("80 deg", "80 °", "angle"), ("1e17 1/cm^3", "1e17 cm⁻³", "volume density"),
        ("10 cm^2/(V*s)", "10 cm² V⁻¹ s⁻¹", "mobility"), ("120 mJ/cm^2", "120 mJ cm⁻²", "dose"), ("-3 V", "−3 V", "voltage"),
    ],
)  # fmt: skip
def test_each_sign_has_an_ascii_twin(plain_text: str, fancy: str, dimension: str):
    assert read(plain_text, dimension).value == pytest.approx(read(fancy, dimension).value, rel=1e-12)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("text", "dimension", "remedy"),
    [
        # A range, a clock, capitals, a decimal comma behind ±: what was meant is written out.
        ("60-70 nm", "length", '"65 nm ± 5 nm"'), ("60 to 70", "number", '"65 ± 5"'), ("-3 - -1 V", "voltage", '"-2 V ± 1 V"'),
        ("5 min 30 s", "time", '"330 s"'), ("1 h 20 min", "time", '"4800 s"'), ("60 NM", "length", "60 nm = 6e-08 m"),
        ("60 nm ± 5,5 %", "length", "decimal point"), ("5", "fraction", '"5 %" or "0.05"'), ("-400 °C", "temperature", "-273 °C"),
        ("1 nm ± 1e400 nm", "length", "finite"), ("1e400 nm", "length", "finite"),
    ],
)  # fmt: skip
def test_what_people_write_in_other_ways_is_taught(text: str, dimension: str, remedy: str):
    with pytest.raises(UnitProblem) as trouble:
        read(text, dimension)
    assert remedy in trouble.value.problem.remedy


@pytest.mark.analytic
@pytest.mark.parametrize(
    "text", ["60 % nm", "60 nm %", "(60 ± 5 %) nm", "60 nm**9**9**9", "60 nm^99", "60 2nm"]
)
def test_a_unit_that_only_looks_like_one_is_refused(text: str):
    with pytest.raises(UnitProblem):
        read(text, "length")


@pytest.mark.analytic
def test_an_offset_counts_for_a_temperature_and_not_for_a_difference():
    assert to_si(110.0, "°C") == pytest.approx(383.15, abs=1e-9)
    assert convert(383.15, "°C") == pytest.approx(110.0, abs=1e-9)
    assert plain(10.0, "°C") == 10.0
    assert read("110 °C ± 2 K", "temperature").spread == pytest.approx(2.0)
    # 2 % of a temperature in °C is meant of the number that was written.
    assert read("110 °C ± 2 %", "temperature").spread == pytest.approx(2.2)
    assert read("383.15 K ± 2 %", "temperature").spread == pytest.approx(7.663)
    assert plain(1e-9, "nm") == pytest.approx(1.0)


@pytest.mark.analytic
def test_a_spread_of_a_fraction_is_absolute():
    assert read("5 % ± 2 %", "fraction").spread == pytest.approx(0.02)
    assert read("5 % ± 2", "fraction").spread == pytest.approx(0.02)


@pytest.mark.property
@given(
    st.floats(-1e5, 1e5)
    .map(lambda number: float(f"{number:.3g}"))
    .filter(lambda n: n == 0 or abs(n) >= 1e-2),
    st.sampled_from(
        [
            (d.name, unit)
            for d in DIMENSIONS.values()
            for unit in d.shown
            if d.name not in {"temperature", "fraction"}
        ]
    ),
)
def test_what_is_written_is_read_again(number: float, written: tuple[str, str]):
    dimension, unit = written
    again = read(write(to_si(number, unit), unit), dimension)
    assert convert(again.value, unit) == pytest.approx(number, rel=1e-12, abs=1e-300)


@pytest.mark.property
@given(st.floats(1.0, 900.0), st.floats(0.1, 50.0))
def test_a_quantity_prints_what_it_was(number: float, half: float):
    found = read(f"{number:.3g} nm ± {half:.3g} nm", "length")
    again = read(str(found), "length")
    assert (again.value, again.spread) == pytest.approx((found.value, found.spread), rel=1e-9)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("value", "dimension", "text"),
    [
        (1e-10, "length", "0.1 nm"), (1e-9, "length", "1 nm"), (9.9999e-7, "length", "1 µm"), (5e-3, "length", "5 mm"),
        (-5e-8, "length", "-50 nm"), (0.0, "length", "0 nm"), (90.0, "time", "1.5 min"), (86400.0, "time", "1 day"),
        (0.8, "pressure", "800 mPa"), (2e-8, "current", "20 nA"), (0.05, "fraction", "5 %"), (273.15, "temperature", "0 °C"),
        (1.15e9, "stress", "1.15 GPa"), (1200.0, "dose", "120 mJ/cm²"), (66.6667, "speed", "4000 rpm"),
        (4.39346e-7, "area", "0.439 mm²"), (1e-8, "area", "0.01 mm²"), (2.5e-9, "area", "2500 µm²"), (5e-6, "area", "5 mm²"),
    ],
)  # fmt: skip
def test_a_value_is_shown_in_the_unit_that_reads_best(value: float, dimension: str, text: str):
    assert show(value, dimension) == text


@pytest.mark.property
@given(st.text(alphabet="0123456789.+-±%() nmuÅA^*/²°Ce,", max_size=24), st.sampled_from(sorted(DIMENSIONS)))
def test_almost_quantities_are_read_or_refused(text: str, dimension: str):
    with contextlib.suppress(UnitProblem):
        read(text, dimension)


@pytest.mark.property
@pytest.mark.parametrize("dimension", sorted(DIMENSIONS))
def test_a_problem_names_the_dimension_and_an_example_that_reads(dimension: str):
    with pytest.raises(UnitProblem) as trouble:
        read("3 parsec", dimension)
    assert dimension in trouble.value.problem.expected
    assert DIMENSIONS[dimension].example in trouble.value.problem.expected
