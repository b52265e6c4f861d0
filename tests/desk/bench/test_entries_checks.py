"""Numbers are looked at before they are saved: slips of unit and point, bands, what cannot be."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.desk.bench.checks import UNITS, Plan, check_value, read_value, units_of
from filmwright.errors import BadInput
from filmwright.flow import LOGGED
from filmwright.units import to_si

TIME = Plan(name="time", value=41.0, unit="s", spread=1.0)


def looked(name: str, typed: str, unit: str, plan: Plan) -> tuple[str, str]:
    value, written = read_value(name, typed, unit)
    check = check_value(name, value, written, plan)
    return check.verdict, check.said


# Each slip as it is made at a bench: the plan, what was typed, what it is asked back as. The factors are those of the units'
# definitions: 60 s = 1 min, 10 Å = 1 nm, 1 mTorr = 0.1333 Pa (133.322 Pa/Torr, by the definition of the torr).
SLIPS = [
    (TIME, "41", "min", "41 s"),
    (TIME, "410", "s", "41 s"),
    (TIME, "4.1", "s", "41 s"),
    (TIME, "4,1", "s", "41 s"),
    (Plan(name="time", value=600.0, unit="min"), "10", "s", "10 min"),
    (Plan(name="thickness", value=to_si(85, "nm"), unit="nm"), "85", "Å", "85 nm"),
    (Plan(name="thickness", value=to_si(850, "Å"), unit="Å"), "850", "nm", "850 Å"),
    (Plan(name="pressure", value=to_si(6, "mTorr"), unit="mTorr"), "6", "Pa", "6 mTorr"),
    (Plan(name="pressure", value=to_si(6, "mTorr"), unit="mTorr"), "6", "Torr", "6 mTorr"),
    (Plan(name="pressure", value=0.8, unit="Pa"), "8", "Pa", "0.8 Pa"),
    (Plan(name="power", value=150.0, unit="W"), "150", "kW", "150 W"),
    (Plan(name="spin speed", value=to_si(4000, "rpm"), unit="rpm"), "400", "rpm", "4000 rpm"),
    (Plan(name="temperature", value=to_si(110, "°C"), unit="°C"), "11", "°C", "110 °C"),
]


@pytest.mark.analytic
@pytest.mark.parametrize(("plan", "typed", "unit", "meant"), SLIPS)
def test_a_slip_is_asked_back_as_what_was_meant(plan: Plan, typed: str, unit: str, meant: str) -> None:
    verdict, said = looked(plan.name, typed, unit, plan)
    assert verdict == "slip"
    assert said.endswith(f"did you mean {meant}?")


@pytest.mark.analytic
def test_a_value_out_of_its_band_names_value_limit_and_unit() -> None:
    # 41 s with a standard deviation of 1 s: 95 % lie within 2 s.
    assert looked("time", "43", "s", TIME)[0] == "in band"
    verdict, said = looked("time", "50", "s", TIME)
    assert verdict == "out of band"
    assert "time 50 s is above 43 s" in said
    assert "below 39 s" in looked("time", "35", "s", TIME)[1]


@pytest.mark.analytic
def test_a_temperature_is_held_against_degrees_not_kelvin() -> None:
    """A tenth of 383 K would let 145 °C pass for 110 °C."""
    plan = Plan(name="temperature", value=to_si(110, "°C"), unit="°C")
    assert looked("temperature", "120", "°C", plan)[0] == "in band"
    assert looked("temperature", "125", "°C", plan)[0] == "out of band"


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("name", "typed", "unit"),
    [("time", "0", "s"), ("time", "-3", "s"), ("thickness", "abc", "nm"), ("temperature", "-300", "°C"),
     ("humidity", "140", "%"), ("time", "4", "nm"), ("colour", "4", ""), ("time", "1e999", "s"), ("time", "", "s")],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_a_reason(name: str, typed: str, unit: str) -> None:
    with pytest.raises(BadInput) as caught:
        read_value(name, typed, unit)
    assert all(each.why and each.remedy for each in caught.value.problems)


@pytest.mark.analytic
def test_below_zero_is_a_temperature() -> None:
    assert read_value("temperature", "-20", "°C")[0] == pytest.approx(253.15)


@pytest.mark.property
@given(name=st.sampled_from(sorted(LOGGED)), number=st.floats(1e-3, 1e5), share=st.floats(0.905, 1.095))
def test_what_lies_within_a_tenth_is_never_asked_about(name: str, number: float, share: float) -> None:
    unit = units_of(name)[0]
    plan = Plan(name=name, value=to_si(number, unit), unit=unit)
    assert not check_value(name, to_si(number * share, unit), unit, plan).asks


@pytest.mark.property
@given(
    name=st.sampled_from(sorted(LOGGED)), number=st.floats(1e-2, 1e4), factor=st.sampled_from([10, 0.1, 100])
)
def test_a_point_that_slipped_is_always_noticed(name: str, number: float, factor: float) -> None:
    unit = units_of(name)[0]
    plan = Plan(name=name, value=to_si(number, unit), unit=unit)
    assert check_value(name, to_si(number * factor, unit), unit, plan).verdict == "slip"


@pytest.mark.analytic
def test_every_number_that_is_logged_has_units_to_choose() -> None:
    assert set(LOGGED.values()) == set(UNITS)
