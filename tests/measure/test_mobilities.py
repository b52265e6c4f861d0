"""Mobilities by every definition, against channels whose mobility is known at every gate voltage."""

from __future__ import annotations

import numpy as np
import pytest

from filmwright import device, units
from filmwright.device import TransistorDesign, drain_current
from filmwright.measure import Extraction, Geometry, Sweep, extract, extract_many, mobility_against_gate

GEOMETRY = Geometry(
    width=units.to_si(100, "um"), length=units.to_si(10, "um"), areal_capacitance=units.to_si(62, "nF/cm^2")
)
MOBILITY = units.to_si(10, "cm^2/(V*s)")
GATE = np.linspace(-5.0, 20.0, 251)
ONSET = 2.0


def design(**changes: object) -> TransistorDesign:
    base: dict[str, object] = {
        "width": GEOMETRY.width,
        "length": GEOMETRY.length,
        "areal_capacitance": GEOMETRY.areal_capacitance,
        "mobility": MOBILITY,
        "threshold_voltage": ONSET,
    }
    return TransistorDesign(**(base | changes))  # type: ignore[arg-type]


def sweep(current: np.ndarray, drain: float, gate: np.ndarray = GATE) -> Sweep:
    return Sweep(gate_voltage=gate, drain_current=current, drain_voltage=drain)


def rising(power: float, drain: float) -> np.ndarray:
    """Current of the gradual channel for µ = µ₀·(V_G − V_on)^power, integrated in closed form."""
    gain = design().beta
    source, end = np.maximum(GATE - ONSET, 0.0), np.maximum(GATE - drain - ONSET, 0.0)
    return gain * (source ** (power + 2) - end ** (power + 2)) / (power + 2)


@pytest.mark.literature
@pytest.mark.parametrize("power", [0.0, 0.5, 1.0])
def test_the_transconductance_overstates_a_rising_mobility_by_one_plus_its_power(power: float) -> None:
    # With µ ∝ (V_G − V_T)^α the mobility from the transconductance is (1 + α) times the average one, up to a factor of 2
    # (published: abstract of doi:10.1002/aelm.202200786). 0.5 %: V_D = 0.05 V is not yet zero.
    drain = 0.05
    current, over = rising(power, drain), GATE[-1] - ONSET
    field = device.linear_mobility(
        np.gradient(current, GATE)[-2], GEOMETRY.width, GEOMETRY.length, GEOMETRY.areal_capacitance, drain
    )
    mean = device.average_mobility(
        current[-1], GEOMETRY.width, GEOMETRY.length, GEOMETRY.areal_capacitance, over, drain
    )
    assert mean == pytest.approx(MOBILITY * over**power, rel=0.005)
    assert field / mean == pytest.approx(1.0 + power, rel=0.01)


@pytest.mark.analytic
@pytest.mark.parametrize("drain", [0.1, 1.0, 5.0, 30.0])
def test_differences_of_the_sheet_conductance_are_exact_at_any_drain_voltage(drain: float) -> None:
    slope = np.gradient(rising(1.0, drain), GATE)
    sheet = device.sheet_conductance_by_differences(GATE, slope, drain, GEOMETRY.width, GEOMETRY.length)
    over = np.maximum(GATE - ONSET, 0.0)
    true = MOBILITY * over * (GEOMETRY.areal_capacitance or 0.0) * over
    # The step of the gate voltage (0.1 V) is what is left, at the onset and at the end of the sweep.
    inside = (GATE > ONSET + 1.0) & (GATE[-1] > GATE)
    assert sheet[inside] == pytest.approx(true[inside], rel=0.005)
    step = device.incremental_mobility(np.gradient(sheet, GATE), GEOMETRY.areal_capacitance or 1.0)
    steady = (GATE > ONSET + 2.0) & (GATE[-1] - 0.5 > GATE)
    assert step[steady] == pytest.approx(2.0 * MOBILITY * over[steady], rel=0.01)


@pytest.mark.analytic
def test_an_ideal_channel_has_one_mobility_whatever_the_definition() -> None:
    floor = units.to_si(1, "pA")
    (told,) = extract([sweep(drain_current(design(ideality=3.0), GATE, 0.1) + floor, 0.1)], GEOMETRY)
    for name in (
        "field_effect_mobility",
        "effective_mobility",
        "effective_mobility_at_half_overdrive",
        "average_mobility",
    ):
        parameter = told.parameters[name]
        # Diffusion makes the transconductance of this law overshoot by some per cent above threshold, and the average
        # counts its charge from the onset, a few kT/q below it.
        close = {"field_effect_mobility": 0.05, "average_mobility": 0.1}.get(name, 0.02)
        assert parameter.value == pytest.approx(MOBILITY, rel=close)
        assert parameter.valid, parameter.why_not
    assert "no contact resistance" in told.parameters["contact_corrected_mobility"].why_not


@pytest.mark.analytic
def test_a_known_contact_resistance_is_taken_off() -> None:
    ohmic = design(contact_resistance=0.2)
    # As wide as it is long ten times over, with a resistance of contact of a third of that of the channel.
    known = Geometry(
        width=GEOMETRY.width,
        length=GEOMETRY.length,
        areal_capacitance=GEOMETRY.areal_capacitance,
        contact_resistance=0.2,
        contact_resistance_std=0.02,
    )
    current = drain_current(ohmic, GATE, 0.1)
    (told,) = extract([sweep(current, 0.1)], known)
    apparent, corrected = told.parameters["effective_mobility"], told.parameters["contact_corrected_mobility"]
    assert (apparent.value or 0.0) < 0.75 * MOBILITY
    assert corrected.value == pytest.approx(MOBILITY, rel=0.05)
    assert corrected.std is not None
    assert corrected.std / (corrected.value or 1.0) > 0.03
    short = Geometry(
        width=known.width,
        length=known.length,
        areal_capacitance=known.areal_capacitance,
        contact_resistance=2.0,
    )
    worst = drain_current(design(contact_resistance=2.0), GATE, 0.1)
    (refused,) = extract([sweep(worst, 0.1)], short)
    assert (
        "of the resistance is that of the contacts"
        in refused.parameters["contact_corrected_mobility"].why_not
    )


@pytest.mark.literature
@pytest.mark.parametrize(
    ("threshold", "linear", "saturated"), [(0.0, 1.0, 1.0), (2.0, 0.9, 0.81), (5.0, 0.75, 0.5625)]
)
def test_reliability_factors_of_ideal_devices(threshold: float, linear: float, saturated: float) -> None:
    # Worked from the definitions for a device of the square law swept to 20 V (from memory, arithmetic recomputed).
    gate = np.linspace(-10.0, 20.0, 301)
    law = design().beta
    drain, far = 0.02, 40.0
    low = device.square_law_current(gate - threshold, drain, law)
    high = device.square_law_current(gate - threshold, far, law)
    one, two = extract([sweep(low, drain, gate), sweep(high, far, gate)], GEOMETRY)
    assert one.parameters["reliability_factor_linear"].value == pytest.approx(linear, abs=0.002)
    assert two.parameters["reliability_factor_saturation"].value == pytest.approx(saturated, abs=0.002)
    assert not one.parameters["reliability_factor_saturation"].valid
    positive = gate > 0.5
    (told,) = extract([sweep(low[positive], drain, gate[positive])], GEOMETRY)
    assert "zero gate voltage" in told.parameters["reliability_factor_linear"].why_not


@pytest.mark.property
@pytest.mark.parametrize("share", [0.002, 0.01])
def test_the_intervals_hold_the_truth(share: float) -> None:
    # The truth is each method's own answer without noise; 95 % is aimed at, 600 curves scatter by 1 %.
    known = Geometry(
        width=GEOMETRY.width,
        length=GEOMETRY.length,
        areal_capacitance=GEOMETRY.areal_capacitance,
        contact_resistance=0.05,
    )
    floor = units.to_si(1, "pA")
    clean = drain_current(design(ideality=3.0, attenuation=0.02, contact_resistance=0.05), GATE, 0.1) + floor
    random = np.random.default_rng(11)
    noisy = clean * (1.0 + share * random.standard_normal((600, GATE.size)))
    noisy += floor / 10.0 * random.standard_normal(noisy.shape)
    truth: Extraction = extract_many([sweep(clean, 0.1)], known)
    found = extract_many([sweep(each, 0.1) for each in noisy], known)
    for name in (
        "effective_mobility",
        "effective_mobility_at_half_overdrive",
        "average_mobility",
        "contact_corrected_mobility",
        "reliability_factor_linear",
    ):
        true = truth.values(name)[0][0]
        value, std, _ = found.values(name)
        # Wider than they need be where the transconductance is flat: the place of the tangent is then free.
        assert 0.92 <= np.mean(np.abs(value - true) <= 1.96 * std) <= 0.999, name


@pytest.mark.analytic
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_mobility_against_gate_voltage_is_exact_where_it_does_not_take_it_for_constant(sign: float) -> None:
    random = np.random.default_rng(3)
    drain = 1.0
    noisy = rising(1.0, drain) * (1.0 + 0.002 * random.standard_normal(GATE.size))
    noisy = noisy + units.to_si(1, "pA") * random.standard_normal(GATE.size)
    way = slice(None, None, int(sign))
    one = sweep((sign * noisy)[way], sign * drain, (sign * GATE)[way])
    (told,) = extract([one], GEOMETRY)
    curve = mobility_against_gate(one, GEOMETRY, told)
    assert curve.why_not == ""
    assert curve.onset == pytest.approx(sign * ONSET, abs=0.6)
    over = sign * curve.gate_voltage - sign * curve.onset
    top = over > 10.0
    true = MOBILITY * (sign * curve.gate_voltage - ONSET)
    known = np.isfinite(curve.at_source) & top
    assert known.sum() > 50
    # The onset is read off the curve and lies some tenths of a volt beside the place at which the law begins.
    assert curve.at_source[known] == pytest.approx(true[known], rel=0.08)
    assert np.nanmedian(curve.field_effect[top] / true[top]) == pytest.approx(1.95, abs=0.1)
    assert np.nanmedian(curve.incremental[top] / true[top]) == pytest.approx(2.0, abs=0.15)


@pytest.mark.analytic
def test_no_mobility_curve_where_geometry_or_gate_do_not_allow_one() -> None:
    one = sweep(drain_current(design(), GATE, 0.1), 0.1)
    (told,) = extract([one])
    assert "not known: W, L" in mobility_against_gate(one, Geometry(), told).why_not
    ionic = Geometry(width=1e-4, length=1e-5, areal_capacitance=6e-4, gate="ionic")
    (told,) = extract([one], ionic)
    assert "ionic" in mobility_against_gate(one, ionic, told).why_not
    assert all(
        not told.parameters[name].valid and told.parameters[name].value is None
        for name in ("effective_mobility", "average_mobility", "contact_corrected_mobility")
    )


@pytest.mark.analytic
def test_a_film_wider_than_its_contacts_is_said_to_overstate_the_mobility() -> None:
    wide = Geometry(width=1e-4, length=1e-5, areal_capacitance=6e-4, fringe=True)
    (told,) = extract([sweep(drain_current(design(), GATE, 0.1), 0.1)], wide)
    assert any("overstated" in warning for warning in told.warnings)


@pytest.mark.literature
def test_the_largest_share_of_contacts_is_that_of_the_attenuation_and_calls_the_mobility_apparent() -> None:
    # θ = 0.031 /V with 5 kΩ in series and β from the same device (from memory, arithmetic recomputed: Ghibaudo, Electron. Lett.
    # 24, 543 (1988)); at 18 V of overdrive θ·x/(1 + θ·x) is the share of what does not fall with the gate voltage.
    ohms = 5000.0
    series = design(contact_resistance=ohms / 2.0 * (GEOMETRY.width or 1.0))
    theta = series.beta * ohms
    assert theta == pytest.approx(0.031, rel=0.01)
    (told,) = extract([sweep(drain_current(series, GATE, 0.1), 0.1)], GEOMETRY)
    share = told.parameters["contact_share"]
    # The steepest place of this law overshoots by some per cent, see above.
    assert share.value == pytest.approx(theta * 18.0 / (1.0 + theta * 18.0), abs=0.03)
    assert (share.valid, share.bound) == (False, "at most")
    assert "four lengths" in share.why_not
    assert any("mobilities are apparent" in warning for warning in told.warnings)
    (good,) = extract([sweep(drain_current(design(), GATE, 0.1), 0.1)], GEOMETRY)
    assert not any("apparent" in warning for warning in good.warnings)
