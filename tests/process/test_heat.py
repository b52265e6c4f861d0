"""Activated processes over holds and ramps, against printed and worked numbers."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.knowledge import book
from filmwright.process import diffusion_length, diffusivity, equivalent_ramp
from filmwright.units import BOLTZMANN, convert, to_si

EV = to_si(1, "eV")
BORON = (to_si(0.76, "cm^2/s"), 3.46 * EV)


@pytest.mark.literature
def test_boron_at_a_thousand_degrees():
    # Intrinsic boron in silicon, R. B. Fair (1981) in many text books, from memory: 0.76 cm²/s and 3.46 eV, 1.5e-14 cm²/s at 1000 °C;
    # 5 % for the rounding
    found = convert(diffusivity(*BORON, to_si(1000, "°C")), "cm^2/s")
    assert found == pytest.approx(1.5e-14, rel=0.05)


@pytest.mark.literature
def test_an_hour_of_boron_at_a_thousand_degrees_is_seventy_nanometres():
    # √(1.5e-14 cm²/s × 3600 s) = 73 nm, worked from the printed diffusivity; 3 %
    found = diffusion_length([(to_si(1000, "°C"), 3600.0)], *BORON)
    assert convert(found, "nm") == pytest.approx(73, rel=0.03)


@pytest.mark.literature
def test_copper_is_fast_in_silicon_and_slow_in_oxide():
    # Hall, Racette (1964), published in a transcription: 4.7e-3 cm²/s and 0.43 eV, so 2.8e-6 cm²/s at 400 °C, worked; McBrayer and
    # others (1986), from memory: about 2.7e-15 cm²/s in oxide there, a billion times slower; 3 % for rounding
    hot = to_si(400, "°C")
    found = {}
    for host in ("silicon", "silicon dioxide"):
        known = book().models[f"diffusion of copper in {host}"]
        found[host] = convert(diffusivity(known["prefactor"].value, known["energy"].value, hot), "cm^2/s")
    assert found["silicon"] == pytest.approx(2.84e-6, rel=0.03)
    assert found["silicon dioxide"] == pytest.approx(2.7e-15, rel=0.03)


@pytest.mark.literature
def test_aluminium_takes_silicon_over_micrometres():
    # Fujikawa (1978), from memory: at 450 °C half an hour takes silicon some micrometres into aluminium, why contacts spike
    known = book().models["diffusion of silicon in aluminium"]
    found = diffusion_length([(to_si(450, "°C"), 1800.0)], known["prefactor"].value, known["energy"].value)
    assert 3 < convert(found, "um") < 15


@pytest.mark.property
@given(first=st.floats(300, 1200), second=st.floats(300, 1200), time=st.floats(1, 1e5))
def test_lengths_add_by_their_squares(first: float, second: float, time: float):
    both = diffusion_length([(first, time), (second, 2 * time)], *BORON)
    alone = diffusion_length([(first, time)], *BORON), diffusion_length([(second, 2 * time)], *BORON)
    assert both == pytest.approx(math.hypot(*alone), rel=1e-9, abs=1e-30)


@pytest.mark.analytic
def test_a_ramp_of_high_energy_is_worth_a_few_degrees_of_it():
    # ∫ exp(−E/k(1/T − 1/T_h)) dT ≈ k·T_h²/E·(1 − 2·k·T_h/E), by parts; 1 %
    hot, energy, pace = 1273.0, 3.46 * EV, 0.1
    width = BOLTZMANN * hot**2 / energy
    expected = width * (1 - 2 * BOLTZMANN * hot / energy) / pace
    assert equivalent_ramp(300.0, hot, pace, energy) == pytest.approx(expected, rel=0.01)
    assert equivalent_ramp(300.0, hot, pace, 0.0) == pytest.approx((hot - 300.0) / pace)


@pytest.mark.convergence
def test_the_integral_of_a_ramp_has_converged():
    from scipy.integrate import quad

    for energy in (0.4 * EV, 1.0 * EV, 2.0 * EV):
        exact, _ = quad(
            lambda kelvin, e=energy: math.exp(-e / BOLTZMANN * (1 / kelvin - 1 / 673.0)), 298.0, 673.0
        )
        assert equivalent_ramp(298.0, 673.0, 1.0, energy) == pytest.approx(exact, rel=2e-3)


@pytest.mark.analytic
def test_a_heat_of_negative_time_is_refused():
    with pytest.raises(ValueError, match="time must"):
        diffusion_length([(500.0, -1.0)], *BORON)
