"""Small laws that decide what is dialled in, by hand, and the notes that they give."""

import math

import pytest

from filmwright.process import (
    biaxial_modulus_111,
    check_range,
    cycles_for_thickness,
    energy_release,
    etch_time,
    loss_below,
    loss_below_worst,
    monitor_reading,
    relative_deviation,
    resist_left,
    sauerbrey_thickness,
    selectivity_needed,
    spin_speed,
    spin_speed_spread,
    stoney_radius,
    thickness_in_time,
    time_for_thickness,
    tooling_from_step,
    z_match_thickness,
)
from filmwright.units import to_si

NM = to_si(1, "nm")
NM_MIN = to_si(1, "nm/min")
RPM = to_si(1, "rpm")


@pytest.mark.analytic
def test_the_monitor_reads_less_where_the_wafer_gets_more():
    reading, spread, notes = monitor_reading(60 * NM, 1.2, 0.06)
    assert (reading, spread) == pytest.approx((50 * NM, 2.5 * NM))
    assert notes == ()
    assert "250 %" in monitor_reading(60 * NM, 2.5)[2][0]


@pytest.mark.literature
@pytest.mark.parametrize("tooling", [0.48, 1.0, 1.576])
def test_tooling_factors_of_a_real_evaporator_raise_no_note(tooling: float):
    # table of a university evaporator, published: 48 % to 157.6 %
    assert monitor_reading(60 * NM, tooling)[2] == ()


@pytest.mark.analytic
def test_the_tooling_that_a_measured_step_asks_for_brings_the_wafer_to_the_reading():
    tooling = tooling_from_step(1.0, 66 * NM, 60 * NM)
    assert tooling == pytest.approx(1.1)
    assert monitor_reading(60 * NM, tooling)[0] * tooling == pytest.approx(60 * NM)


@pytest.mark.analytic
def test_both_monitor_laws_agree_for_a_matched_film_and_a_small_shift():
    simple = sauerbrey_thickness(6e6, 5.999e6, 7200.0, 1661.0, 2649.0)
    exact = z_match_thickness(6e6, 5.999e6, 7200.0, 1.0, 1661.0, 2649.0)
    assert exact.value == pytest.approx(simple.value, rel=2e-4)
    assert simple.notes == ()
    assert "frequency shift" in sauerbrey_thickness(6e6, 5.5e6, 7200.0, 1661.0, 2649.0).notes[0]


@pytest.mark.literature
def test_the_simple_mass_law_of_a_thick_chromium_film():
    # Lu and Lewis (1972), worked: the simple law gives 8487.633 nm where the impedance form gives 9455.727 nm
    assert sauerbrey_thickness(6e6, 5.5e6, 7200.0, 1661.0, 2649.0).value == pytest.approx(
        8487.633 * NM, rel=1e-4
    )


@pytest.mark.analytic
def test_time_and_thickness_undo_each_other_with_their_spread():
    time, spread = time_for_thickness(60 * NM, 6 * NM_MIN, 0.3 * NM_MIN)
    assert (time, spread) == pytest.approx((600.0, 30.0))
    assert thickness_in_time(time, 6 * NM_MIN, 0.3 * NM_MIN) == pytest.approx((60 * NM, 3 * NM))


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("thickness", "per_cycle", "delay", "cycles"),
    [(40, 0.1, 0, 400), (40.05, 0.1, 0, 401), (0.3, 0.1, 0, 3), (40, 0.1, 4.2, 405)],
)
def test_cycles_are_whole_and_reach_the_thickness(thickness, per_cycle, delay, cycles):
    assert cycles_for_thickness(thickness * NM, per_cycle * NM, delay=delay)[0] == cycles


@pytest.mark.analytic
def test_an_even_film_at_a_known_rate_needs_no_over_etch():
    plain = etch_time(60 * NM, 30 * NM_MIN)
    assert (plain.main, plain.total, plain.over_etch) == pytest.approx((120.0, 120.0, 0.0))
    assert plain.notes == ()


@pytest.mark.analytic
def test_over_etch_from_unevenness_and_from_the_rate():
    uneven = etch_time(60 * NM, 30 * NM_MIN, film_nonuniformity=0.05, rate_nonuniformity=0.04)
    assert uneven.over_etch == pytest.approx(1.05 / 0.96 - 1)
    doubtful = etch_time(60 * NM, 30 * NM_MIN, rate_relative_std=0.1, confidence=0.95)
    assert doubtful.over_etch == pytest.approx(math.exp(1.6449 * 0.1) - 1, rel=1e-4)
    assert etch_time(60 * NM, 30 * NM_MIN, rate_relative_std=0.1, confidence=0.5).over_etch == pytest.approx(
        0
    )
    assert "dummy" in etch_time(60 * NM, 30 * NM_MIN, rate_relative_std=0.5).notes[0]


@pytest.mark.analytic
def test_the_loss_beneath_where_the_film_cleared_first():
    even = loss_below_worst(100 * NM, 100 * NM_MIN, 10 * NM_MIN, 72.0)
    assert (
        even == pytest.approx(loss_below(100 * NM, 100 * NM_MIN, 10 * NM_MIN, 0.2)) == pytest.approx(2 * NM)
    )
    # thin by 10 %, fast by 10 %: clear after 49.09 s, 22.91 s at 11 nm/min
    worst = loss_below_worst(100 * NM, 100 * NM_MIN, 10 * NM_MIN, 72.0, 0.1, 0.1)
    assert worst == pytest.approx((72 - 60 * 0.9 / 1.1) / 60 * 11 * NM)
    assert loss_below_worst(100 * NM, 100 * NM_MIN, 10 * NM_MIN, 30.0) == 0.0


@pytest.mark.analytic
def test_the_selectivity_that_keeps_a_loss_small_does_so():
    needed = selectivity_needed(100 * NM, 0.3, 2 * NM)
    assert needed == pytest.approx(15)
    assert loss_below(100 * NM, 150 * NM_MIN, 150 * NM_MIN / needed, 0.3) == pytest.approx(2 * NM)


@pytest.mark.analytic
def test_resist_budget():
    assert resist_left(1300 * NM, 180 * NM_MIN, 120.0) == pytest.approx(1 - 360 / 1300)
    assert resist_left(300 * NM, 180 * NM_MIN, 120.0) == 0.0


@pytest.mark.analytic
def test_a_speed_outside_the_curve_is_said_to_be_extrapolated():
    ends = {"slowest": 2000 * RPM, "fastest": 6000 * RPM}
    assert spin_speed(1.3, 1.3, 4000 * RPM, 0.5, **ends).notes == ()
    far = spin_speed(0.9, 1.3, 4000 * RPM, 0.5, **ends)
    assert far.value == pytest.approx(4000 * RPM * (1.3 / 0.9) ** 2)
    assert "extrapolated" in far.notes[0]
    # 1 % of thickness is 2 % of speed at an exponent of 1/2
    assert spin_speed_spread(4000 * RPM, 0.5, 0.01) == pytest.approx(80 * RPM)


@pytest.mark.literature
def test_biaxial_modulus_of_silicon_111():
    # W. A. Brantley, J. Appl. Phys. 44, 534 (1973), from memory, worked: 229.08 GPa
    assert biaxial_modulus_111(165.7e9, 63.9e9, 79.6e9) == pytest.approx(229.08e9, rel=0.002)


@pytest.mark.literature
def test_relative_deviation_of_nine_places():
    # definitions on one data set, worked: 1.38663 % at one sigma
    thickness = [101.2, 99.8, 98.7, 100.5, 97.9, 102.1, 100.0, 99.1, 98.3]
    assert relative_deviation(thickness) == pytest.approx(0.0138663, rel=1e-4)


@pytest.mark.analytic
def test_energy_that_a_chromium_film_gives_back():
    # 1.15 GPa, 100 nm, 279 GPa: σ²h/E = 0.474 J/m², just below what a bare metal holds on oxide
    assert energy_release(1.15e9, 100 * NM, 279e9) == pytest.approx(1.15e9**2 * 1e-7 / 279e9)
    assert energy_release(-1.15e9, 100 * NM, 279e9) > 0


@pytest.mark.analytic
def test_a_thick_film_on_a_thin_wafer_leaves_the_range_of_the_law():
    assert stoney_radius(1e9, 100 * NM, 525e-6, 180.5e9).notes == ()
    assert stoney_radius(1e9, 10000 * NM, 525e-6, 180.5e9).notes


@pytest.mark.analytic
def test_a_note_prints_the_value_and_the_tried_range():
    assert check_range("spin speed", 4000 * RPM, 2000 * RPM, 6000 * RPM, "speed") == ()
    said = check_range("spin speed", 9000 * RPM, 2000 * RPM, 6000 * RPM, "speed")
    assert said == ("spin speed of 9000 rpm lies outside the tried range of 2000 rpm to 6000 rpm",)
