"""The channel, the contacts and the definitions against published numbers, limits and the circuit."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright import device, units
from filmwright.device import TransistorDesign, drain_current

WIDTH, LENGTH = units.to_si(100, "um"), units.to_si(10, "um")
CAPACITANCE = units.to_si(61.97931, "nF/cm^2")
MOBILITY = units.to_si(10, "cm^2/V/s")
BETA = WIDTH / LENGTH * MOBILITY * CAPACITANCE
# φ = 0.025852 V of the check value belongs to this temperature.
TEMPERATURE = 0.025852 * units.ELEMENTARY_CHARGE / units.BOLTZMANN


def design(**changes: object) -> TransistorDesign:
    base: dict[str, object] = {
        "width": WIDTH,
        "length": LENGTH,
        "areal_capacitance": CAPACITANCE,
        "mobility": MOBILITY,
        "threshold_voltage": 2.0,
        "ideality": 3.0,
        "temperature": TEMPERATURE,
    }
    return TransistorDesign(**(base | changes))  # type: ignore[arg-type]


@pytest.mark.literature
def test_all_region_current_of_the_charge_based_form() -> None:
    # Enz, Krummenacher, Vittoz 1995 with attenuation; worked from the form (from memory, arithmetic
    # recomputed).
    # 1e-5: the printed digits.
    published = [6.106025e-14, 1.146318e-08, 1.666425e-06, 4.194289e-06, 8.134783e-06]
    got = drain_current(design(body_factor=3.0, attenuation=0.02), [1, 2, 5, 10, 20], 0.1)
    np.testing.assert_allclose(got, published, rtol=1e-5)


@pytest.mark.literature
def test_square_law_current() -> None:
    # Gradual channel, level 1 (from memory, arithmetic recomputed); 1e-4: the stated tolerance.
    got = device.square_law_current(np.array([8.0, 8.0, 8.0, 18.0]), np.array([0.1, 1.0, 20.0, 20.0]), BETA)
    np.testing.assert_allclose(got, [4.92736e-06, 4.64845e-05, 0.000198334, 0.001004065], rtol=1e-4)


@pytest.mark.analytic
@pytest.mark.parametrize("drain", [0.1, 1.0, 30.0])
def test_thin_film_tends_to_the_square_law_at_high_overdrive(drain: float) -> None:
    got = drain_current(design(ideality=1.5), 22.0, drain)
    np.testing.assert_allclose(got, device.square_law_current(20.0, drain, BETA), rtol=1e-4)


@pytest.mark.analytic
@pytest.mark.parametrize("ideality", [1.0, 1.7, 4.0])
def test_swing_below_threshold_is_ideality_times_the_thermal_limit(ideality: float) -> None:
    gate = np.array([-1.0, -0.999])
    current = drain_current(design(ideality=ideality), gate, 5.0)
    swing = (gate[1] - gate[0]) / np.diff(np.log10(current))[0]
    assert swing == pytest.approx(ideality * device.subthreshold_limit(TEMPERATURE), rel=1e-6)


@pytest.mark.literature
@pytest.mark.parametrize(("temperature", "millivolts"), [(300.0, 59.526), (298.15, 59.159)])
def test_thermal_limit_of_the_swing(temperature: float, millivolts: float) -> None:
    # CODATA constants (from memory, arithmetic recomputed); 1e-4: the stated tolerance.
    assert units.convert(device.subthreshold_limit(temperature), "mV") == pytest.approx(millivolts, rel=1e-4)


@pytest.mark.property
@given(
    gate=st.floats(-5, 30),
    drain=st.floats(0, 30),
    attenuation=st.floats(0, 0.1),
    contact=st.floats(0, 10),
    off=st.floats(0, 1e-9),
)
def test_source_and_drain_can_be_exchanged(
    gate: float, drain: float, attenuation: float, contact: float, off: float
) -> None:
    one = design(attenuation=attenuation, contact_resistance=contact, off_current=off)
    assert drain_current(one, gate - drain, -drain) == pytest.approx(
        -drain_current(one, gate, drain), rel=1e-9
    )


@pytest.mark.property
@given(gate=st.floats(-5, 30), drain=st.floats(-30, 30))
def test_p_type_is_the_mirror_image(gate: float, drain: float) -> None:
    mirrored = drain_current(design(type="p", threshold_voltage=-2.0), -gate, -drain)
    assert mirrored == pytest.approx(-drain_current(design(), gate, drain), rel=1e-12, abs=0)


@pytest.mark.property
@given(
    gate=st.lists(st.floats(-5, 40), min_size=1, max_size=5),
    drain=st.lists(st.floats(0, 40), min_size=1, max_size=5),
    contact=st.floats(1e-6, 1e4),
)
def test_current_through_contacts_satisfies_the_circuit(
    gate: list[float], drain: list[float], contact: float
) -> None:
    one = design(contact_resistance=contact, attenuation=0.01)
    vg, vd = np.array(gate)[:, None], np.array(drain)[None, :]
    current = drain_current(one, vg, vd)
    drop = current * one.contact_ohms
    inside = drain_current(design(attenuation=0.01), vg - drop, np.maximum(vd - 2 * drop, 0.0))
    # The channel current is a difference of squares of up to V_G; allow for its rounding.
    slack = BETA * (vg + 6) ** 2 * 4e-16
    assert np.all(np.abs(inside - current) <= 1e-9 * current + slack)


@pytest.mark.analytic
def test_large_contacts_take_the_whole_voltage() -> None:
    one = design(contact_resistance=1e4)
    assert drain_current(one, 30.0, 1.0) == pytest.approx(1.0 / (2 * one.contact_ohms), rel=1e-3)


@pytest.mark.analytic
def test_off_current_is_the_floor_and_vanishes_without_drain_voltage() -> None:
    one = design(off_current=1e-12)
    assert drain_current(one, -10.0, 5.0) == pytest.approx(1e-12, rel=1e-6)
    assert drain_current(one, -10.0, 0.0) == 0.0


@pytest.mark.analytic
def test_stack_capacitance_is_that_of_capacitors_in_series() -> None:
    one = device.areal_capacitance(3.9, units.to_si(300, "nm"))
    both = device.stack_capacitance([3.9, 3.9], [units.to_si(100, "nm"), units.to_si(200, "nm")])
    assert both == pytest.approx(one, rel=1e-12)
    # ε₀·3.9/300 nm = 11.51 nF/cm², worked by hand.
    assert units.convert(both, "nF/cm^2") == pytest.approx(11.51, abs=0.005)


@pytest.mark.literature
def test_trap_density_from_swing() -> None:
    # A. Rolland et al. 1993 (from memory, arithmetic recomputed); 2e-3: the stated tolerance.
    got = device.trap_density([0.1, 0.2, 0.5, 1.0], CAPACITANCE, 300.0)
    per_cm2 = [units.convert(float(each), "1/cm^2") for each in got]
    np.testing.assert_allclose(per_cm2, [2.6303e11, 9.129e11, 2.8625e12, 6.1119e12], rtol=2e-3)


@pytest.mark.literature
@pytest.mark.parametrize(
    ("threshold", "saturation", "linear"), [(0, 1.0, 1.0), (2, 0.81, 0.9), (5, 0.5625, 0.75), (-2, 1.0, 1.0)]
)
def test_reliability_factor_of_an_ideal_device(threshold: float, saturation: float, linear: float) -> None:
    # H. H. Choi et al. 2018 (from memory, arithmetic recomputed); 1e-4: the stated tolerance. The linear
    # current is
    # taken without V_D²/2, as the worked values are.
    top = np.array(20.0)
    root = np.sqrt(BETA / 2)
    currents = [(root * max(v - threshold, 0)) ** 2 for v in (20.0, 0.0)]
    assert device.reliability_saturation(*currents, top, root) == pytest.approx(saturation, rel=1e-4)
    slope = BETA * 0.1
    currents = [slope * max(v - threshold, 0) for v in (20.0, 0.0)]
    assert device.reliability_linear(*currents, top, slope) == pytest.approx(linear, rel=1e-4)


@pytest.mark.literature
def test_reliability_factor_of_a_double_slope() -> None:
    # H. H. Choi et al. 2018: full slope to 8 V, one third beyond, V_T = 2 V (from memory, arithmetic
    # recomputed).
    top = (6.0 + 12.0 / 3) ** 2
    assert device.reliability_saturation(top, 0.0, 20.0, 1.0) == pytest.approx(0.25, rel=1e-4)


@pytest.mark.literature
def test_transfer_length_and_end_resistance() -> None:
    # Berger 1972; Reeves, Harrison 1982 (from memory, arithmetic recomputed): ρ_c = 1e-3 Ω·cm², R_sh = 10 kΩ;
    # the printed
    # digits. W = 100 µm follows from the printed resistances.
    rho = units.to_si(1e-3, "ohm*cm^2")
    assert units.convert(float(device.transfer_length(rho, 1e4)), "um") == pytest.approx(3.1623, rel=1e-4)
    lengths = [units.to_si(each, "um") for each in (1, 2, 5, 10, 20)]
    got = device.contact_end_resistance(rho, 1e4, lengths, units.to_si(100, "um"))
    np.testing.assert_allclose(got, [983.53, 468.16, 135.87, 26.82, 1.133], rtol=1e-3)
    front = device.contact_front_resistance(rho, 1e4, lengths, units.to_si(100, "um"))
    reach = device.transfer_length(rho, 1e4)
    np.testing.assert_allclose(front / got, np.cosh(np.array(lengths) / reach), rtol=1e-9)


@pytest.mark.analytic
def test_definitions_recover_the_square_law() -> None:
    gate, drain = 12.0, 0.1
    slope, current = BETA * drain, device.square_law_current(gate - 2.0, drain, BETA)
    assert device.tangent_intercept(gate, current, slope) == pytest.approx(2.0 + drain / 2, abs=1e-12)
    assert device.linear_mobility(slope, WIDTH, LENGTH, CAPACITANCE, drain) == pytest.approx(MOBILITY)
    assert device.saturation_mobility(np.sqrt(BETA / 2), WIDTH, LENGTH, CAPACITANCE) == pytest.approx(
        MOBILITY
    )
    assert device.constant_current_criterion(WIDTH, LENGTH, 1e-8) == pytest.approx(1e-7)
    assert device.ideality_from_swing(3 * device.subthreshold_limit(300.0), 300.0) == pytest.approx(3.0)


@pytest.mark.analytic
@pytest.mark.parametrize(
    "changes",
    [
        {"width": 0.0},
        {"ideality": 0.5},
        {"contact_resistance": -1.0},
        {"type": "x"},
        {"mobility": float("nan")},
    ],
)
def test_a_design_that_cannot_be_is_refused(changes: dict[str, object]) -> None:
    with pytest.raises(ValueError, match=next(iter(changes))):
        design(**changes)


@pytest.mark.analytic
def test_a_swing_below_the_thermal_limit_is_refused() -> None:
    with pytest.raises(ValueError, match="swing must be at least"):
        device.ideality_from_swing(0.03, 300.0)
    with pytest.raises(ValueError, match="swing must be at least"):
        device.trap_density(0.03, CAPACITANCE, 300.0)
    with pytest.raises(ValueError, match="finite"):
        drain_current(design(), float("nan"), 1.0)
    with pytest.raises(ValueError, match="at least one film"):
        device.stack_capacitance([], [])


@pytest.mark.analytic
def test_a_contact_next_to_nothing_changes_nothing() -> None:
    assert drain_current(design(contact_resistance=5e-324), 10.0, 1.0) == pytest.approx(
        drain_current(design(contact_resistance=0.0), 10.0, 1.0), rel=1e-12
    )
