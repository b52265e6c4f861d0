"""Each definition of the threshold in its limit, and what the ratio and integral methods give beside it."""

from __future__ import annotations

import numpy as np
import pytest

from filmwright import units
from filmwright.device import (
    FilmStates,
    FilmTransistor,
    GatedFilm,
    TransistorDesign,
    drain_current,
    film_current,
    integral_function,
    transition_function,
)
from filmwright.measure import Geometry, Sweep, curve_functions, extract

GEOMETRY = Geometry(
    width=units.to_si(100, "um"),
    length=units.to_si(10, "um"),
    areal_capacitance=units.to_si(61.9793, "nF/cm^2"),
)
GATE = np.linspace(-5.0, 20.0, 501)


def design(**changes: object) -> TransistorDesign:
    base: dict[str, object] = {
        "width": GEOMETRY.width,
        "length": GEOMETRY.length,
        "areal_capacitance": GEOMETRY.areal_capacitance,
        "mobility": units.to_si(10, "cm^2/(V*s)"),
        "threshold_voltage": 2.0,
    }
    return TransistorDesign(**(base | changes))  # type: ignore[arg-type]


def parameters(current: np.ndarray, drain: float, gate: np.ndarray = GATE):
    (result,) = extract([Sweep(gate_voltage=gate, drain_current=current, drain_voltage=drain)], GEOMETRY)
    return result.parameters


@pytest.mark.analytic
@pytest.mark.parametrize("attenuation", [0.0, 0.05])
@pytest.mark.parametrize("contact", [0.0, 0.25])
def test_the_ratio_method_recovers_what_the_model_was_given(attenuation: float, contact: float) -> None:
    # I = β·V_D·x/(1 + θ·x), x = V_G − V_T − V_D/2: intercept V_T + V_D/2, whatever θ and contacts are (Ghibaudo 1988, from memory).
    found = parameters(
        drain_current(design(attenuation=attenuation, contact_resistance=contact), GATE, 0.1), 0.1
    )
    assert found["threshold_voltage_ratio"].value == pytest.approx(2.05, abs=0.01)
    mobility = units.convert(found["low_field_mobility"].value, "cm^2/(V*s)")
    assert mobility == pytest.approx(10.0, rel=0.01)
    resistance = 2.0 * contact / GEOMETRY.width
    theta = attenuation + design().beta * resistance
    assert found["mobility_attenuation"].value == pytest.approx(theta, abs=0.002)
    assert found["series_resistance"].bound == "at most"
    if not attenuation and contact:
        assert found["series_resistance"].value == pytest.approx(resistance, rel=0.03)


@pytest.mark.analytic
def test_the_integral_method_recovers_threshold_and_power_in_both_regions() -> None:
    # H = (V_G − V_T)/(m + 1): m = 1 in the linear region (with V_D/2 in the intercept), 2 in saturation.
    linear = parameters(drain_current(design(), GATE, 0.1), 0.1)
    assert linear["threshold_voltage_integral"].value == pytest.approx(2.05, abs=0.01)
    assert linear["current_exponent"].value == pytest.approx(1.0, abs=0.005)
    saturated = parameters(drain_current(design(), GATE, 30.0), 30.0)
    assert saturated["threshold_voltage_integral"].value == pytest.approx(2.0, abs=0.01)
    assert saturated["current_exponent"].value == pytest.approx(2.0, abs=0.01)
    assert saturated["threshold_voltage_saturation"].value == pytest.approx(2.0, abs=0.005)


@pytest.mark.analytic
def test_derivatives_and_transition_point_at_the_threshold_of_a_long_channel() -> None:
    found = parameters(drain_current(design(), GATE, 0.02), 0.02)
    for name, tolerance in (("second_derivative", 0.06), ("transition", 0.06), ("third_derivative", 0.12)):
        parameter = found[f"threshold_voltage_{name}"]
        assert parameter.valid
        assert parameter.value == pytest.approx(2.01, abs=tolerance), name


@pytest.mark.literature
def test_methods_on_the_smooth_curve() -> None:
    # Worked from the all-region form (from memory, arithmetic recomputed): largest second derivative at 2.2 V, intercept of Y
    # 2.15 V, its mobility 9.97 cm²/Vs; 0.03 V and 1 % as stated there.
    smooth = design(
        ideality=3.0,
        attenuation=0.02,
        body_factor=3.0,
        temperature=0.025852 * units.ELEMENTARY_CHARGE / units.BOLTZMANN,
    )
    found = parameters(drain_current(smooth, GATE, 0.1), 0.1)
    assert found["threshold_voltage_second_derivative"].value == pytest.approx(2.2, abs=0.03)
    assert found["threshold_voltage_ratio"].value == pytest.approx(2.15, abs=0.03)
    assert units.convert(found["low_field_mobility"].value, "cm^2/(V*s)") == pytest.approx(9.97, rel=0.01)


@pytest.mark.analytic
def test_integral_and_transition_of_a_straight_line() -> None:
    gate = np.linspace(0.0, 10.0, 1001)
    current = np.maximum(gate - 2.0, 0.0)
    above = gate > 3
    assert integral_function(gate, current)[above] == pytest.approx((gate[above] - 2.0) / 2.0, abs=1e-4)
    assert transition_function(gate, current)[above] == pytest.approx(2.0, abs=1e-4)


@pytest.mark.property
def test_every_threshold_of_a_p_type_device_is_the_mirror_image() -> None:
    current = drain_current(design(ideality=3.0, attenuation=0.05), GATE, 0.1)
    n = parameters(current, 0.1)
    p = parameters(-current[::-1], -0.1, -GATE[::-1])
    names = [name for name in n if name.startswith("threshold_voltage")]
    assert len(names) >= 9
    for name in names:
        assert n[name].valid == p[name].valid
        if n[name].value is not None:
            assert p[name].value == pytest.approx(-n[name].value, abs=1e-9), name


@pytest.mark.analytic
def test_an_ambipolar_curve_keeps_the_threshold_of_its_own_branch() -> None:
    electrons = drain_current(design(ideality=2.0), GATE, 0.1)
    holes = drain_current(design(ideality=2.0, threshold_voltage=3.0), -GATE, 0.1)
    (alone,), (both,) = (
        extract([Sweep(gate_voltage=GATE, drain_current=each, drain_voltage=0.1)], GEOMETRY)
        for each in (electrons + 1e-12, electrons + holes + 1e-12)
    )
    assert "ambipolar" in both.classes
    for name in ("linear", "ratio", "integral", "second_derivative"):
        one, other = (each.parameters[f"threshold_voltage_{name}"].value for each in (alone, both))
        assert other == pytest.approx(one, abs=0.01), name


@pytest.mark.analytic
def test_hysteresis_is_read_at_several_currents_and_says_its_direction() -> None:
    forward, back = (
        drain_current(design(ideality=3.0, threshold_voltage=each), GATE, 0.1) for each in (2.0, 2.5)
    )
    noise = 1 + 0.002 * np.random.default_rng(3).standard_normal((2, GATE.size))
    pair = [
        Sweep(gate_voltage=GATE, drain_current=forward * noise[0], drain_voltage=0.1, pair=0),
        Sweep(gate_voltage=GATE, drain_current=back * noise[1], drain_voltage=0.1, pair=0, rising=False),
    ]
    found = extract(pair, GEOMETRY)[0].parameters
    for name in ("hysteresis", "hysteresis_1_percent", "hysteresis_0.1_percent", "hysteresis_threshold"):
        assert found[name].value == pytest.approx(0.5, abs=0.08), name
        assert found[name].note.startswith("clockwise: less current on the way back")
    mirrored = [
        Sweep(gate_voltage=-GATE[::-1], drain_current=-each.drain_current[::-1], drain_voltage=-0.1, pair=0, rising=not each.rising)
        for each in pair
    ]  # fmt: skip
    turned = extract(mirrored, GEOMETRY)[0].parameters["hysteresis"]
    assert turned.value == pytest.approx(-0.5, abs=0.08)
    assert turned.note.startswith("anticlockwise: less current on the way back")


@pytest.mark.analytic
def test_functions_of_a_curve_carry_the_lines_that_were_used() -> None:
    sweep = Sweep(
        gate_voltage=GATE, drain_current=drain_current(design(attenuation=0.05), GATE, 0.1), drain_voltage=0.1
    )
    (result,) = extract([sweep], GEOMETRY)
    drawn = curve_functions(sweep, result)
    low, high = drawn.windows["threshold_voltage_ratio"]
    inside = (low < GATE) & (high > GATE)
    zero, slope = drawn.lines["threshold_voltage_ratio"]
    assert drawn.ratio[inside] == pytest.approx(slope * (GATE[inside] - zero), rel=2e-3)


@pytest.mark.analytic
def test_the_film_model_gives_back_its_threshold_by_the_integral_method() -> None:
    # A film without traps: charge C·(V_G − offset) above threshold, so H is straight with m = 1 and its intercept is that of the current itself.
    film = GatedFilm(
        thickness=20e-9,
        areal_capacitance=GEOMETRY.areal_capacitance,
        states=FilmStates(permittivity=8.5, density_of_states=4e24, donors=1e20),  # type: ignore[call-arg]
    )
    transistor = FilmTransistor(
        width=GEOMETRY.width,
        length=GEOMETRY.length,
        film=film,
        offset=1.0,
        mobility=1e-3,  # type: ignore[arg-type]
    )
    gate = np.linspace(-3.0, 15.0, 361)
    found = parameters(film_current(transistor, gate, 0.1), 0.1, gate)
    straight = np.polyfit(gate[-100:], film_current(transistor, gate[-100:], 0.1), 1)
    assert found["threshold_voltage_integral"].value == pytest.approx(-straight[1] / straight[0], abs=0.1)
    assert found["threshold_voltage_ratio"].value == pytest.approx(-straight[1] / straight[0], abs=0.1)


@pytest.mark.analytic
@pytest.mark.parametrize(("drain", "stands"), [(0.1, True), (10.0, False), (30.0, True), (None, False)])
def test_the_integral_line_needs_one_power_of_the_overdrive(drain, stands):
    # Square law with V_T 1.5 V: linear at 0.1 V, saturated all along at 30 V, both in one sweep at 10 V.
    gate = np.linspace(-5.0, 20.0, 251)
    over = np.maximum(gate - 1.5, 0.0)
    at = np.minimum(over, drain if drain is not None else 10.0)
    sweep = Sweep(
        gate_voltage=gate, drain_current=1e-6 * (over * at - at**2 / 2) + 1e-13, drain_voltage=drain
    )
    found = extract([sweep], Geometry())[0].parameters["threshold_voltage_integral"]
    assert found.valid == stands
    if stands:
        assert found.value - (drain / 2 if drain < 1 else 0.0) == pytest.approx(1.5, abs=0.1)
    elif drain is not None:
        assert "spans saturation" in found.why_not
