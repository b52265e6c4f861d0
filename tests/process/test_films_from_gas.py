"""Atomic layers and plasma films against printed numbers, limits, and a fit that must find what made its runs."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.process import (
    Run,
    film_of_cycles,
    fit_response,
    gas_used,
    growth_of_short_pulse,
    impingement_rate,
    pumped_purge_time,
    purge_time,
    response_at,
    saturating_exposure,
    student_95,
)
from filmwright.units import BOLTZMANN, convert, to_si

EV, GRAM = to_si(1, "eV"), to_si(1, "g/mol")


@pytest.mark.literature
def test_exposure_of_deep_holes():
    # R. G. Gordon and others (2003), from memory: hafnium oxide from an amide (354.8 g/mol, 2.5e18 per m², 200 °C) in holes of 43:1
    # asks for about 9000 langmuir, 1 L = 1e-6 torr·s; 10 % for the rounded site density
    found = saturating_exposure(2.5e18, 354.8 * GRAM, to_si(200, "°C"), 43.0)
    assert found / to_si(1e-6, "torr") == pytest.approx(9000, rel=0.1)


@pytest.mark.analytic
def test_a_flat_wafer_needs_one_strike_for_each_site():
    exposure = saturating_exposure(4e18, 72.09 * GRAM, 473.15)
    assert impingement_rate(exposure, 72.09 * GRAM, 473.15) == pytest.approx(4e18)


@pytest.mark.analytic
def test_pulses_saturate():
    assert growth_of_short_pulse(0.0, 1e-3, 1e-10) == 0.0
    assert growth_of_short_pulse(1e-3, 1e-3, 1e-10) == pytest.approx(1e-10 * (1 - math.exp(-1)))
    assert growth_of_short_pulse(1.0, 1e-3, 1e-10) == pytest.approx(1e-10)


@pytest.mark.analytic
def test_the_first_cycles_make_nuclei_only():
    assert film_of_cycles(400, 1e-10) == pytest.approx(40e-9)
    assert film_of_cycles(400, 1e-10, 15) == pytest.approx(38.5e-9)
    assert film_of_cycles(10, 1e-10, 15) == 0.0


def runs(count: int, noise: float = 0.0, seed: int = 7) -> list[Run]:
    """Runs of a plasma with known exponents: 0.6 of power, −0.2 of pressure, 0.1 eV."""
    chance = np.random.default_rng(seed)
    found = []
    for _ in range(count):
        heat, power, pressure = (
            550 + 80 * chance.random(),
            40 + 60 * chance.random(),
            60 + 80 * chance.random(),
        )
        rate = 2e-9 * power**0.6 * pressure**-0.2 * math.exp(-0.1 * EV / (BOLTZMANN * heat))
        rate *= math.exp(noise * chance.standard_normal())
        found.append(
            Run(
                knobs={"temperature": heat, "power": power, "pressure": pressure, "gas ratio": 1.5},
                value=rate,
                std=rate * (noise or 0.02),
            )
        )
    return found


@pytest.mark.analytic
def test_the_fit_finds_the_law_that_made_the_runs():
    found = fit_response(runs(6))
    assert found.exponents == pytest.approx(
        {"power": 0.6, "pressure": -0.2, "temperature": 0.1 * EV}, rel=1e-6
    )
    assert found.scatter == pytest.approx(0.0, abs=1e-9)
    rate, _ = response_at(found, {"temperature": 590.0, "power": 70.0, "pressure": 100.0})
    by_hand = 2e-9 * 70**0.6 * 100**-0.2 * math.exp(-0.1 * EV / (BOLTZMANN * 590))
    assert rate.value == pytest.approx(by_hand, rel=1e-9)
    assert rate.notes == ()


@pytest.mark.analytic
def test_outside_the_runs_it_says_so_and_is_less_sure():
    found = fit_response(runs(12, 0.03))
    inside, near = response_at(found, {"temperature": 590.0, "power": 70.0, "pressure": 100.0})
    outside, far = response_at(found, {"temperature": 750.0, "power": 300.0, "pressure": 100.0})
    assert inside.notes == ()
    assert "power" in " ".join(outside.notes)
    assert "temperature" in " ".join(outside.notes)
    assert far > 2 * near


@pytest.mark.property
def test_the_spread_of_a_prediction_is_met_in_repeated_runs():
    # 200 lots of 12 runs each: the true rate lies within ± 1.96 σ of the fit (its scatter not counted) in about 95 %
    knobs = {"temperature": 590.0, "power": 70.0, "pressure": 100.0}
    true = math.log(2e-9 * 70**0.6 * 100**-0.2 * math.exp(-0.1 * EV / (BOLTZMANN * 590)))
    hits = 0
    for seed in range(200):
        found = fit_response(runs(12, 0.03, seed))
        rate, std = response_at(found, knobs)
        own = math.sqrt(std**2 - found.scatter**2)
        hits += abs(math.log(rate.value) - true) < 1.96 * own
    assert 180 <= hits <= 199


@pytest.mark.analytic
def test_what_cannot_be_told_apart_is_refused():
    with pytest.raises(ValueError, match="runs are needed"):
        fit_response(runs(3))
    together = [
        Run(knobs={"power": p, "pressure": 2 * p}, value=p * 1e-11, std=p * 2e-13)
        for p in (40.0, 60.0, 80.0, 100.0)
    ]
    with pytest.raises(ValueError, match="turned together"):
        fit_response(together)
    with pytest.raises(ValueError, match="must be given"):
        response_at(fit_response(runs(6)), {"power": 70.0})


@pytest.mark.analytic
def test_gas_of_a_step_in_litres():
    # 20 sccm for 20 min
    assert convert(gas_used(to_si(20, "sccm"), to_si(20, "min")), "L") == pytest.approx(0.4)


@pytest.mark.property
@given(factor=st.floats(1, 1e6), volume=st.floats(1e-3, 0.1))
def test_a_mixed_chamber_thins_exponentially(factor: float, volume: float):
    # 10 L at 100 Pa with 100 sccm: V·p/(Q·p_n) is one e-fold
    one = purge_time(volume, 100.0, to_si(100, "sccm"), math.e)
    assert one == pytest.approx(volume * 100.0 / (to_si(100, "sccm") * 101325.0), rel=1e-9)
    assert purge_time(volume, 100.0, to_si(100, "sccm"), factor) == pytest.approx(
        one * math.log(factor), abs=1e-9
    )


@pytest.mark.literature
@pytest.mark.parametrize(
    ("free", "printed"),
    [(1, 12.706), (2, 4.303), (3, 3.182), (4, 2.776), (7, 2.365), (10, 2.228), (30, 2.042)],
)
def test_students_numbers_are_those_of_the_table(free: int, printed: float):
    # Two-sided 95 % points as every table prints them; last digit
    assert student_95(free) == pytest.approx(printed, abs=6e-4)


@pytest.mark.analytic
def test_a_stress_of_either_sign_is_fitted_itself():
    # −300 MPa + 200 MPa·ln(P/50 W) − 1 MPa/K·(T − 570 K)
    places = [(30.0, 550.0), (50.0, 590.0), (80.0, 560.0), (60.0, 610.0), (40.0, 600.0)]
    made = [
        Run(
            knobs={"power": power, "temperature": heat},
            value=(-300 + 200 * math.log(power / 50) - (heat - 570)) * 1e6,
            std=10e6,
        )
        for power, heat in places
    ]
    found = fit_response(made, signed=True)
    assert found.exponents == pytest.approx({"power": 200e6, "temperature": -1e6}, rel=1e-6)
    value, std = response_at(found, {"power": 50.0, "temperature": 570.0})
    assert value.value == pytest.approx(-300e6, rel=1e-6)
    assert 0 < std < 10e6


@pytest.mark.analytic
def test_leverages_add_up_and_a_run_that_stands_alone_has_nearly_one():
    powers = [40.0, 41.0, 42.0, 43.0, 120.0]
    found = fit_response([Run(knobs={"power": p}, value=p * 1e-11, std=p * 2e-13) for p in powers])
    assert sum(found.leverages) == pytest.approx(2.0)
    assert found.leverages[-1] > 0.95
    # Of five equal weights at −2 … 2: 1/5 + x²/10, by hand
    even = [math.exp(x / 10) for x in (-2, -1, 0, 1, 2)]
    found = fit_response([Run(knobs={"power": p}, value=1e-10, std=2e-12) for p in even])
    assert found.leverages == pytest.approx([0.6, 0.3, 0.2, 0.3, 0.6])


@pytest.mark.analytic
def test_a_corner_between_all_ranges_that_no_run_is_near_is_extrapolation():
    # Power and pressure were turned up together, but for a little: strong power at low pressure was never run
    runs_along = [
        Run(knobs={"power": p, "pressure": q}, value=1e-10, std=2e-12)
        for p, q in ((40.0, 60.0), (50.0, 76.0), (60.0, 89.0), (70.0, 106.0), (80.0, 119.0))
    ]
    found = fit_response(runs_along)
    assert response_at(found, {"power": 60.0, "pressure": 90.0})[0].notes == ()
    corner, _ = response_at(found, {"power": 78.0, "pressure": 65.0})
    assert "no run is near this combination" in corner.notes[0]


@pytest.mark.analytic
def test_a_pumped_chamber_thins_by_e_in_its_time_constant():
    assert pumped_purge_time(1e-3, 1.5e-3, math.e) == pytest.approx(1 / 1.5)
