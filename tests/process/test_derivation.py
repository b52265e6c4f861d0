"""A derivation: the result of its law, the spread that the inputs bring, and the numbers in their places."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.process import STEADY_RATE, Derivation, Input, Law, Noted, Setting
from filmwright.sources import Source, Value
from filmwright.units import to_si

NM, NM_S = to_si(1, "nm"), to_si(1, "nm/s")
SOURCE = Source(citation="a test", kind="lab", date="2026-10-19")


def number(symbol: str, value: float, unit: str = "", std: float = 0.0) -> Input:
    return Input(symbol=symbol, name=symbol, value=value, unit=unit, std=std, source=SOURCE)


def law(equation: str) -> Law:
    return Law(name="a law", equation=equation, source=SOURCE)


@pytest.mark.analytic
def test_time_of_a_film_with_the_spread_of_its_rate():
    found = STEADY_RATE.derive(
        lambda d, rate: d / rate, {"d": number("d", 60 * NM, "nm"), "rate": number("R", 0.1 * NM_S, "nm/s", 0.004 * NM_S)},
        unit="s",
    )  # fmt: skip
    assert found.result == pytest.approx(600.0)
    assert found.std == pytest.approx(24.0, rel=1e-6)
    assert found.band == pytest.approx((600 - 1.96 * 24, 600 + 1.96 * 24))
    assert found.with_numbers == "(60 nm) / (0.1 nm/s)"
    assert found.shares == pytest.approx({"d": 0.0, "R": 1.0})


@pytest.mark.analytic
def test_a_power_multiplies_the_relative_spread_and_independent_inputs_add_in_squares():
    # GUM 5.1.6: y = c·x₁^p₁·x₂^p₂ gives (u/y)² = Σ (pᵢ·uᵢ/xᵢ)²
    found = law("y = a^2 / b").derive(
        lambda a, b: a**2 / b, {"a": number("a", 3.0, std=0.03), "b": number("b", 2.0, std=0.04)}, unit=""
    )
    assert found.std / found.result == pytest.approx(math.hypot(2 * 0.01, 0.02), rel=1e-6)
    assert found.shares == pytest.approx({"a": 0.5, "b": 0.5}, rel=1e-6)


@pytest.mark.analytic
def test_a_wide_spread_keeps_the_band_of_what_is_above_zero_above_zero():
    wide = law("y = a").derive(lambda a: a, {"a": number("a", 2.0, std=1.6)}, unit="")
    low, high = wide.band or (0.0, 0.0)
    assert (low, high) == pytest.approx((2 * math.exp(-1.96 * 0.8), 2 * math.exp(1.96 * 0.8)))
    assert law("y = a").derive(lambda a: a, {"a": number("a", 2.0)}, unit="").band is None


@pytest.mark.property
@given(value=st.floats(0.1, 100), spread=st.floats(0, 0.05), factor=st.floats(0.1, 10))
def test_a_linear_law_passes_the_relative_spread_on(value: float, spread: float, factor: float):
    found = law("y = f*x").derive(
        lambda x: factor * x, {"x": number("x", value, std=value * spread)}, unit=""
    )
    assert found.std == pytest.approx(factor * value * spread, rel=1e-6, abs=1e-12)


@pytest.mark.analytic
def test_symbols_are_replaced_whole_and_nothing_else_is():
    found = law("m = π·ρ·h²·d / exp(d)").derive(
        lambda **given: given["h"],
        {"h": number("h", 0.45, "m"), "d": number("d", 90 * NM, "nm"), "rho": number("ρ", 19300.0, "g/cm³")},
        unit="kg",
    )
    assert found.with_numbers == "π·(19.3 g/cm³)·(0.45 m)²·(90 nm) / exp((90 nm))"


@pytest.mark.analytic
def test_what_a_law_notes_stands_beside_its_result():
    noted = law("y = a").derive(
        lambda a: Noted(value=a, notes=("outside",)), {"a": number("a", 1.0)}, unit="", notes=("also",)
    )
    assert noted.notes == ("outside", "also")


@pytest.mark.analytic
def test_a_setting_without_a_law_still_says_what_it_knows():
    plan = Source(citation="the plan", where="line 7", kind="plan")
    bare = Setting(
        name="power",
        unit="W",
        value=80.0,
        source=plan,
        because="as the plan says",
        evidence="the plan, line 7: thin",
    )
    assert bare.derivation.law.name == "fixed by the plan"
    assert bare.derivation.band is None
    assert bare.derivation.notes == ("the plan, line 7: thin",)
    words = Setting(name="time", unit="s", source=plan, text="to the end point seen")
    assert words.derivation.shown == "to the end point seen"


@pytest.mark.analytic
def test_a_usual_range_is_no_confidence_band():
    value = Value(value=380.0, low=370.0, high=390.0, unit="°C", source=SOURCE)
    found = Derivation(law=law(""), result=value.value, unit="°C", low=value.low, high=value.high)
    assert (found.band, found.band_is) == ((370.0, 390.0), "usual range")
    assert Input.known("T", "temperature", value).std == pytest.approx(5.0)
