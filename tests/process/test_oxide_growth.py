"""Oxide on oxide, at pressure and on the way up, against worked and printed numbers."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.knowledge import book
from filmwright.process import (
    Arrhenius,
    OxideLaw,
    deal_grove_thickness,
    massoud_time,
    oxide_after,
    oxide_of_ramp,
    pressure_share,
)
from filmwright.units import convert, to_si

NM, HOUR = to_si(1, "nm"), to_si(1, "h")


def law(name: str) -> OxideLaw:
    facts = book().models[name]

    def constant(which: str) -> Arrhenius:
        return Arrhenius(prefactor=facts[f"{which} prefactor"].value, energy=facts[f"{which} energy"].value)

    dry = "thin decay" in facts
    return OxideLaw(
        parabolic=constant("parabolic"),
        linear=constant("linear"),
        extra=constant("thin") if dry else None,
        decay=facts["thin decay"].value if dry else 0.0,
    )


@pytest.mark.literature
def test_three_hundred_more_nanometres_in_steam():
    # R. C. Jaeger, Introduction to Microelectronic Fabrication, worked example of the oxidation chapter, from memory: a (100) wafer
    # with 200 nm gets 300 nm more in wet oxygen at 1000 °C in 1.07 h; 2 % for the rounded constants
    found = oxide_after(1.07 * HOUR, to_si(1000, "°C"), law("wet oxidation (100)"), 200 * NM)
    assert convert(found, "nm") == pytest.approx(500, rel=0.02)


@pytest.mark.literature
@pytest.mark.parametrize(("plane", "over"), [("111", 1.68), ("110", 1.45)])
@pytest.mark.parametrize("way", ["wet", "dry"])
def test_planes_grow_in_the_ratio_of_their_linear_constants(plane: str, over: float, way: str):
    # Plummer, Deal, Griffin (2000): (111) 1.68 and (110) 1.45 times (100), from memory; the ratio of thin oxides without their fast part
    hot = to_si(900, "°C")
    one, other = law(f"{way} oxidation (100)"), law(f"{way} oxidation ({plane})")
    assert other.linear.at(hot) / one.linear.at(hot) == pytest.approx(over, rel=0.005)
    assert other.parabolic == one.parabolic


@pytest.mark.literature
def test_pressure_buys_temperature():
    # L. N. Lie and others (1982), from memory: high-pressure steam at 10 atm gives in about a tenth of the time the same oxide
    assert pressure_share(to_si(10.1325, "bar"), 1.0) == pytest.approx(10)
    assert pressure_share(to_si(10.1325, "bar"), 0.75) == pytest.approx(10**0.75)
    normal = law("wet oxidation (100)")
    pressed = OxideLaw(
        parabolic=Arrhenius(prefactor=10 * normal.parabolic.prefactor, energy=normal.parabolic.energy),
        linear=Arrhenius(prefactor=10 * normal.linear.prefactor, energy=normal.linear.energy),
    )
    hot = to_si(900, "°C")
    assert oxide_after(HOUR, hot, pressed) == pytest.approx(oxide_after(10 * HOUR, hot, normal), rel=1e-9)


@pytest.mark.property
@given(minutes=st.floats(0, 600), start=st.floats(0, 500), celsius=st.floats(800, 1150))
def test_a_dry_oxide_and_its_time_are_inverse(minutes: float, start: float, celsius: float):
    dry, hot = law("dry oxidation (100)"), to_si(celsius, "°C")
    found = oxide_after(minutes * 60, hot, dry, start * NM)
    b = dry.parabolic.at(hot)
    back = massoud_time(found, b / dry.linear.at(hot), b, dry.extra.at(hot), dry.decay, start * NM)
    assert back == pytest.approx(minutes * 60, rel=1e-4, abs=0.1)


@pytest.mark.property
@given(start=st.floats(0, 400), more=st.floats(1, 400))
def test_less_grows_beneath_more(start: float, more: float):
    wet, hot = law("wet oxidation (100)"), to_si(1000, "°C")
    thin = oxide_after(HOUR, hot, wet, start * NM) - start * NM
    thick = oxide_after(HOUR, hot, wet, (start + more) * NM) - (start + more) * NM
    assert 0 < thick < thin


@pytest.mark.analytic
def test_the_way_up_of_a_constant_law_is_its_time():
    # Without activation the ramp is a time: (T₁ − T₀)/r
    flat = OxideLaw(
        parabolic=Arrhenius(prefactor=1e-17, energy=0.0), linear=Arrhenius(prefactor=1e-10, energy=0.0)
    )
    found = oxide_of_ramp(flat, 1000.0, 1300.0, 0.1, 20 * NM)
    assert found == pytest.approx(deal_grove_thickness(3000.0, 1e-7, 1e-17, 20 * NM), rel=1e-5)


@pytest.mark.convergence
def test_the_way_up_has_converged():
    from scipy.integrate import solve_ivp

    dry = law("dry oxidation (100)")
    cold, hot, pace = to_si(800, "°C"), to_si(1000, "°C"), 5 / 60
    exact = solve_ivp(
        lambda t, x: [dry.speed(x[0], cold + pace * t)], (0, (hot - cold) / pace), [NM], rtol=1e-9, atol=1e-15
    ).y[0, -1]
    assert oxide_of_ramp(dry, cold, hot, pace, NM) == pytest.approx(exact, rel=1e-3)
    assert math.isclose(oxide_of_ramp(dry, hot, hot, pace, NM), NM)


@pytest.mark.analytic
def test_a_ramp_that_goes_down_is_refused():
    with pytest.raises(ValueError, match="span must"):
        oxide_of_ramp(law("wet oxidation (100)"), 1200.0, 1100.0, 0.1)
    with pytest.raises(ValueError, match="time must"):
        oxide_after(-1.0, 1200.0, law("wet oxidation (100)"))
