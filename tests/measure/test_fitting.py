"""Fits of families: the truth is held by the intervals, what is not told is said so, and what is no transistor is refused."""

from __future__ import annotations

import numpy as np
import pytest

from filmwright.device import current_slopes
from filmwright.measure import (
    Geometry,
    OutputCurve,
    Sweep,
    extract_many,
    families_of,
    fit_families,
    fit_fields,
)
from filmwright.measure.family_fits import MOVED, fit_alike
from filmwright.units import ROOM_TEMPERATURE

GATE = np.linspace(-5.0, 15.0, 61)
TYPICAL = {
    "threshold_voltage": 1.0,
    "gain": 2e-6,
    "ideality": 4.0,
    "contact_ohms": 5e3,
    "off_current": 1e-12,
}


def sweeps_of(values, drains=(0.1, 10.0), gate=GATE, share=0.01, floor=1e-13, seed=0, file="device"):
    """Transfer curves of the channel current with noise: a share of the current and a floor."""
    rng = np.random.default_rng(seed)
    found = []
    for drain in drains:
        clean = current_slopes(values, gate, np.full(len(gate), drain), ())[0][0]
        noisy = clean + np.hypot(floor, share * clean) * rng.normal(size=len(gate))
        found.append(
            Sweep(
                gate_voltage=gate, drain_current=noisy, drain_voltage=drain, file=file, label=f"VD {drain} V"
            )
        )
    return found


def mirrored(sweeps):
    """The same device as a p-type one."""
    return [
        Sweep(
            gate_voltage=-each.gate_voltage[::-1],
            drain_current=-each.drain_current[::-1],
            drain_voltage=-each.drain_voltage,
            file=each.file,
            label=each.label,
            rising=False,
        )
        for each in sweeps
    ]


def fit(sweeps, outputs=(), geometry=None, **options):
    return fit_families(families_of(extract_many(sweeps), outputs), geometry, **options)


@pytest.mark.analytic
def test_ninety_five_in_a_hundred_intervals_hold_the_truth_of_two_thousand_families():
    count = 2000
    rng = np.random.default_rng(5)
    truth = {
        "threshold_voltage": rng.uniform(-1, 3, count),
        "gain": 10 ** rng.uniform(-7, -5, count),
        "ideality": rng.uniform(2, 8, count),
        "contact_ohms": 10 ** rng.uniform(3.3, 4.3, count),
        "off_current": 10 ** rng.uniform(-12, -11, count),
    }
    sweeps = [
        sweep
        for at in range(count)
        for sweep in sweeps_of({name: each[at] for name, each in truth.items()}, seed=at, file=f"f{at}")
    ]
    families = families_of(extract_many(sweeps))
    assert len(families) == count
    fits = fit_alike(families, MOVED, ROOM_TEMPERATURE)
    assert fits.fitted.converged.all()
    true = np.stack([truth[name] for name in MOVED], axis=1)
    told = np.isfinite(fits.deviations)
    inside = np.where(told, np.abs(fits.fitted.x - true) < 1.96 * fits.deviations, True)
    covered = inside.mean(axis=0)
    # The intervals are of 95 %; of 2000 the share scatters by 0.5 %, and the noise itself is read off the data.
    assert np.all((covered > 0.93) & (covered < 0.97)), dict(zip(MOVED, covered, strict=True))
    # No bias: the mean of the deviations is zero within their scatter (√2000 = 45).
    scores = np.where(told, (fits.fitted.x - true) / fits.deviations, 0.0)
    assert np.abs(scores.mean(axis=0)) == pytest.approx(0.0, abs=0.12)


@pytest.mark.analytic
def test_curves_without_noise_give_the_truth_back():
    values = {**TYPICAL, "off_current": 1e-11}
    (found,) = fit(
        sweeps_of(values, share=0.0, floor=0.0),
        geometry=Geometry(width=1e-4, length=1e-5, areal_capacitance=1e-4),
    )
    value = {name: each.value for name, each in found.parameters.items()}
    assert value["threshold_voltage"] == pytest.approx(1.0, abs=1e-5)
    assert value["mobility"] == pytest.approx(2e-6 / (10 * 1e-4), rel=1e-5)
    assert value["ideality"] == pytest.approx(4.0, rel=1e-5)
    assert value["contact_resistance"] == pytest.approx(5e3 * 1e-4, rel=1e-4)
    assert value["off_current"] == pytest.approx(1e-11, rel=1e-3)
    # n·(kT/q)·ln 10 at 293.15 K is n × 58.17 mV (constants of the SI).
    assert value["subthreshold_swing"] == pytest.approx(4 * 0.058168, rel=1e-4)


@pytest.mark.property
def test_a_p_type_device_is_the_mirror_image():
    sweeps = sweeps_of(TYPICAL)
    (one,), (other,) = fit(sweeps), fit(mirrored(sweeps))
    assert (one.type, other.type) == ("n", "p")
    for name, parameter in one.parameters.items():
        sign = -1 if name == "threshold_voltage" else 1
        if parameter.value is not None:
            assert other.parameters[name].value == pytest.approx(sign * parameter.value, rel=1e-6)
    ends = other.intervals["threshold_voltage"]
    assert ends.low < other.parameters["threshold_voltage"].value < ends.high
    assert other.points.fitted == pytest.approx(other.points.measured, rel=0.1, abs=1e-12)


@pytest.mark.analytic
def test_the_contact_resistance_of_a_long_device_is_a_bound_and_of_a_short_one_a_value():
    # 100 Ω beside a channel of 1/(β·V_ov) = 36 kΩ is a hundredth of the noise at most; 5 kΩ are not.
    (long,) = fit(sweeps_of({**TYPICAL, "contact_ohms": 20.0}, drains=(0.1,)))
    bound = long.parameters["contact_resistance"]
    assert not bound.valid
    assert bound.bound == "at most"
    assert bound.value > 20.0
    assert "not distinguishable from 0" in bound.why_not
    assert long.intervals["contact_resistance"].open_low
    assert fit_fields(long)["parameters"]["contact_resistance"]["interval_95"]["low"] is None
    (short,) = fit(sweeps_of({**TYPICAL, "contact_ohms": 2e4}, drains=(0.1, 2.0, 10.0), share=0.003, seed=7))
    ends = short.intervals["contact_resistance"]
    assert ends.low < 2e4 < ends.high
    assert not ends.open_low


@pytest.mark.analytic
def test_contacts_and_a_falling_mobility_look_alike_at_one_small_drain_voltage():
    # I = β·V_ov·V_D/(1 + θ·V_ov) with θ = 2·β·R to first order: one curve cannot tell them apart.
    (found,) = fit(sweeps_of({**TYPICAL, "contact_ohms": 2e4}, drains=(0.05,), share=0.003))
    parameter = found.parameters["contact_resistance"]
    assert not parameter.valid
    assert "a set of channel lengths" in parameter.why_not
    theta = float(parameter.why_not.split("θ = ")[1].split(" ")[0])
    assert theta == pytest.approx(2 * 2e-6 * 2e4, rel=0.3)


@pytest.mark.analytic
def test_output_curves_join_and_tell_the_modulation():
    values = {**TYPICAL, "modulation": 0.02, "ideality": 2.0}
    drain = np.linspace(0.0, 12.0, 49)
    rng = np.random.default_rng(3)
    outputs = []
    for gate in (4.0, 7.0, 10.0):
        clean = current_slopes(values, np.full(49, gate), drain, ())[0][0]
        outputs.append(
            OutputCurve(
                drain_voltage=drain,
                drain_current=clean * (1 + 0.005 * rng.normal(size=49)) + 1e-13 * rng.normal(size=49),
                gate_voltage=gate,
                file="device",
                label=f"VG {gate} V",
            )
        )
    (found,) = fit(sweeps_of(values, drains=(0.1,)), outputs)
    assert len(found.curves) == 4
    ends = found.intervals["channel_length_modulation"]
    assert ends.low < 0.02 < ends.high
    assert ends.high - ends.low < 0.01
    assert found.goodness.follows
    assert found.goodness.reduced == pytest.approx(1.0, abs=0.3)


@pytest.mark.analytic
def test_a_model_that_misses_is_said_to_with_the_part_and_its_errors_grow():
    # A second, less steep exponential below threshold, which no single ideality gives.
    sweeps = sweeps_of(TYPICAL)
    extra = [
        Sweep(
            gate_voltage=each.gate_voltage,
            drain_current=each.drain_current + 2e-10 * np.exp(np.minimum(each.gate_voltage - 1.0, 0.0) / 0.9),
            drain_voltage=each.drain_voltage,
            file="device",
        )
        for each in sweeps
    ]
    (right,), (wrong,) = fit(sweeps), fit(extra)
    assert right.goodness.follows
    assert right.goodness.suggests == ()
    assert right.goodness.chance > 1e-3
    assert not wrong.goodness.follows
    assert wrong.goodness.misfit_lower > 0.05
    assert wrong.goodness.chance < 1e-9
    assert any(
        "below threshold" in each or "bend" in each or "off" in each for each in wrong.goodness.suggests
    )
    assert wrong.parameters["ideality"].std > 3 * right.parameters["ideality"].std


@pytest.mark.property
def test_a_few_wild_points_move_a_robust_fit_less():
    sweeps = sweeps_of(TYPICAL)
    wild = [
        Sweep(
            gate_voltage=each.gate_voltage,
            drain_current=np.where(np.isin(np.arange(61), [33, 47, 52]), 1.5, 1.0) * each.drain_current,
            drain_voltage=each.drain_voltage,
            file="device",
        )
        for each in sweeps
    ]
    (plain,), (robust,) = fit(wild), fit(wild, robust=True)
    away = [abs(each.parameters["threshold_voltage"].value - 1.0) for each in (plain, robust)]
    assert away[1] < 0.05
    assert away[1] <= away[0] + 1e-3


@pytest.mark.property
def test_what_is_no_transistor_is_refused_with_the_reason():
    rng = np.random.default_rng(1)
    dead = [
        Sweep(gate_voltage=GATE, drain_current=1e-12 * rng.normal(size=61), drain_voltage=d, file="dead")
        for d in (0.1, 10.0)
    ]
    leaky = [
        Sweep(
            gate_voltage=each.gate_voltage,
            drain_current=each.drain_current,
            gate_current=0.4 * np.abs(each.drain_current),
            drain_voltage=each.drain_voltage,
            file="leaky",
        )
        for each in sweeps_of(TYPICAL)
    ]
    found = {each.file: each for each in fit([*dead, *leaky])}
    assert found["dead"].refused.startswith("dead: ")
    assert found["leaky"].refused.startswith("leaky gate: 40 %")
    assert found["dead"].parameters == {}
    (ionic,) = fit(sweeps_of(TYPICAL), geometry=Geometry(gate="dielectric"))
    assert not ionic.refused
    stated = fit_families(families_of(extract_many(sweeps_of(TYPICAL), Geometry(gate="ionic"))))
    assert "the gate is ionic (as stated)" in stated[0].refused


@pytest.mark.property
def test_both_directions_are_fitted_apart_and_their_hysteresis_is_the_difference_of_thresholds():
    up = sweeps_of(TYPICAL, drains=(1.0,))[0]
    down = sweeps_of({**TYPICAL, "threshold_voltage": 1.7}, drains=(1.0,), seed=1)[0]
    found = fit(
        [
            Sweep(
                gate_voltage=each.gate_voltage,
                drain_current=each.drain_current,
                drain_voltage=1.0,
                file="device",
                rising=rising,
                pair=0,
            )
            for each, rising in ((up, True), (down, False))
        ]
    )
    value = {each.direction: each.parameters["threshold_voltage"].value for each in found}
    assert value["backward"] - value["forward"] == pytest.approx(0.7, abs=0.05)


@pytest.mark.property
def test_without_w_and_l_there_is_a_gain_factor_and_the_mobility_says_what_is_missing():
    (found,) = fit(sweeps_of(TYPICAL))
    assert found.parameters["gain_factor"].valid
    assert found.parameters["mobility"].why_not == "not known: W, L, areal capacitance"
    assert found.parameters["contact_resistance"].unit == "ohm"
    fields = fit_fields(found)
    assert fields["goodness"]["points"] == 122
    assert {tuple(each["between"]) for each in fields["correlation"]} >= {("threshold_voltage", "gain")}
