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
    purge_time,
    response_at,
    saturating_exposure,
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
                rate=rate,
                relative_std=noise or 0.02,
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
        Run(knobs={"power": p, "pressure": 2 * p}, rate=p * 1e-11, relative_std=0.02)
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
