"""Limits in which a law is known by hand, and what must not change or must add up."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.process import (
    bow,
    charge_needed,
    deal_grove_thickness,
    deal_grove_time,
    dill_bleaching,
    emslie_thickness,
    etch_time,
    fresnel_slit,
    loss_below,
    loss_below_worst,
    meyerhofer_thickness,
    overlay,
    range_over_sum,
    range_over_twice_mean,
    small_area_profile,
    stoney_radius,
    stoney_stress,
    thermal_mismatch_stress,
    undercut_foot,
    undercut_top,
    z_match_thickness,
)
from filmwright.units import to_si

NM, UM = to_si(1, "nm"), to_si(1, "um")
LINEAR, PARABOLIC = 0.165 * UM, to_si(0.0117, "um^2/h")


@pytest.mark.analytic
def test_oxide_grows_linearly_at_first_and_with_the_root_of_time_at_last():
    # x ≪ A: x = (B/A)·t; x ≫ A: x = √(B·t). The next terms are x/A and A/(2x).
    short, long = 1.0, 1e12
    assert deal_grove_thickness(short, LINEAR, PARABOLIC) == pytest.approx(
        PARABOLIC / LINEAR * short, rel=1e-3
    )
    assert deal_grove_thickness(long, LINEAR, PARABOLIC) == pytest.approx(
        math.sqrt(PARABOLIC * long), rel=1e-2
    )


@pytest.mark.property
@given(st.floats(1.0, 1e6), st.floats(1.0, 1e6), st.floats(0.0, 100.0))
def test_two_oxidations_in_turn_are_one_as_long_as_both(first: float, second: float, start: float):
    whole = deal_grove_thickness(first + second, LINEAR, PARABOLIC, start * NM)
    half = deal_grove_thickness(first, LINEAR, PARABOLIC, start * NM)
    assert deal_grove_thickness(second, LINEAR, PARABOLIC, half) == pytest.approx(whole, rel=1e-9)
    assert deal_grove_time(whole, LINEAR, PARABOLIC, start * NM) == pytest.approx(first + second, rel=1e-6)


@pytest.mark.analytic
def test_resist_without_bleaching_follows_beer_and_lambert():
    # A = 0: the light falls as exp(−B·z) and M = exp(−C·E·exp(−B·z)).
    dose, fixed, sensitivity = 1000.0, 0.5 / UM, 0.0018
    left = dill_bleaching(dose, UM, 1e-9 / UM, fixed, sensitivity, steps=50)
    depth = np.linspace(0.0, UM, 51)
    assert left == pytest.approx(np.exp(-sensitivity * dose * np.exp(-fixed * depth)), rel=1e-6)


@pytest.mark.property
@given(st.floats(10.0, 5000.0), st.floats(1.01, 3.0))
def test_more_light_leaves_less_and_the_top_is_ahead(dose: float, more: float):
    constants = (UM, 0.86 / UM, 0.07 / UM, 0.0018)
    one, other = dill_bleaching(dose, *constants), dill_bleaching(dose * more, *constants)
    assert np.all(other <= one)
    assert np.all(np.diff(one) >= -1e-12)


@pytest.mark.analytic
def test_spinning_forgets_the_first_thickness_and_follows_the_root_of_speed():
    late = emslie_thickness(50 * UM, 314.0, 2e-5, 1e6)
    assert late == pytest.approx(emslie_thickness(500 * UM, 314.0, 2e-5, 1e6), rel=1e-3)
    # evaporation grows with √ω, so the final thickness falls with 1/√ω
    slow, fast = (meyerhofer_thickness(0.25, w, 2e-5, 5e-7 * math.sqrt(w / 314)) for w in (314.0, 1256.0))
    assert fast / slow == pytest.approx(0.5, rel=1e-9)


@pytest.mark.analytic
def test_a_wide_slit_close_to_the_mask_prints_its_edges_at_a_quarter():
    # Behind a straight edge the intensity at the geometric shadow is 1/4 of the clear field (Born and Wolf).
    found = fresnel_slit(np.array([0.0, 50 * UM, 60 * UM]), 100 * UM, 1 * UM, 0.365 * UM)
    assert found[1] == pytest.approx(0.25, abs=0.01)
    assert found[0] == pytest.approx(1.0, abs=0.02)
    assert found[2] < 1e-3


@pytest.mark.analytic
def test_a_charge_spreads_over_half_a_sphere_or_a_whole_one():
    # What lands on a plane below a small flat source adds up to its mass: ∫ d·(1 + (l/h)²)⁻²·2πl dl·ρ = π·ρ·h²·d.
    throw, film, density = 0.4, 100 * NM, 7190.0
    radius = np.linspace(0.0, 400 * throw, 400_001)
    share = (1 + (radius / throw) ** 2) ** -2.0
    assert share[1000] == pytest.approx(small_area_profile(float(radius[1000]), throw), rel=1e-12)
    landed = density * film * np.trapezoid(share * 2 * math.pi * radius, radius)
    assert landed == pytest.approx(charge_needed(film, throw, density), rel=1e-4)


@pytest.mark.analytic
def test_a_flat_wafer_has_no_bow_and_no_stress():
    assert bow(0.1, math.inf) == 0.0
    assert stoney_stress(math.inf, 100 * NM, 525 * UM, 180.5e9).value == 0.0
    with pytest.raises(ValueError, match="stays flat"):
        stoney_radius(0.0, 100 * NM, 525 * UM, 180.5e9)
    assert stoney_radius(-1e9, 100 * NM, 525 * UM, 180.5e9).value < 0, "compressive bends the other way"
    assert thermal_mismatch_stress(279e9, 0.21, 2.6e-6, 2.6e-6, 573.0, 298.0) == 0.0
    with pytest.raises(ValueError, match="Poisson"):
        thermal_mismatch_stress(279e9, 0.6, 4.9e-6, 2.6e-6, 573.0, 298.0)


@pytest.mark.analytic
def test_undercut_without_over_etch_starts_at_the_foot_and_vanishes_for_a_vertical_etch():
    assert undercut_foot(100 * NM, 0.0) == pytest.approx(0.0, abs=1e-15)
    assert undercut_top(100 * NM, 0.0) == pytest.approx(100 * NM)
    assert undercut_top(100 * NM, 0.3, 0.0) == undercut_foot(100 * NM, 0.3, 0.0) == 0.0


@pytest.mark.property
@given(
    st.floats(5.0, 500.0), st.floats(1.0, 500.0), st.floats(0.0, 0.2), st.floats(0.0, 0.2),
    st.floats(-1.0, 1.0), st.floats(-1.0, 1.0),
)  # fmt: skip
def test_the_time_of_an_etch_clears_every_place(
    film: float, rate: float, film_spread: float, rate_spread: float, thin: float, slow: float
):
    time = etch_time(film * NM, rate * NM, 0.0, film_spread, rate_spread)
    here, speed = film * NM * (1 + thin * film_spread), rate * NM * (1 + slow * rate_spread)
    assert speed * time.total >= here * (1 - 1e-12)
    # and no place loses more beneath than the worst that is printed
    lost = max(0.0, time.total - here / speed) * 0.1 * speed
    worst = loss_below_worst(film * NM, rate * NM, 0.1 * rate * NM, time.total, film_spread, rate_spread)
    assert lost <= worst * (1 + 1e-9) + 1e-18


@pytest.mark.property
@given(st.floats(1.0, 1000.0), st.floats(0.0, 2.0), st.floats(0.0, 500.0))
def test_the_loss_beneath_is_in_proportion(film: float, over: float, below: float):
    one = loss_below(film * NM, 100 * NM, below * NM, over)
    assert loss_below(2 * film * NM, 100 * NM, below * NM, over) == pytest.approx(2 * one)
    assert loss_below(film * NM, 200 * NM, below * NM, over) == pytest.approx(one / 2)


@pytest.mark.property
@given(st.lists(st.floats(1.0, 100.0), min_size=2, max_size=20), st.floats(0.1, 10.0))
def test_non_uniformity_does_not_depend_on_the_unit_or_the_order(values: list[float], factor: float):
    scaled = [factor * value for value in reversed(values)]
    for measure in (range_over_twice_mean, range_over_sum):
        assert measure(scaled) == pytest.approx(measure(values), rel=1e-9, abs=1e-12)
    assert 0.0 <= range_over_sum(values) < 1.0


@pytest.mark.property
@given(st.lists(st.floats(0.0, 10.0), min_size=1, max_size=6))
def test_overlay_lies_between_the_worst_error_and_their_sum(errors: list[float]):
    found = overlay(errors)
    assert max(errors) <= found * (1 + 1e-12)
    assert found <= sum(errors) * (1 + 1e-12)


@pytest.mark.property
@given(st.floats(0.1, 2.0), st.floats(1.0, 100.0))
def test_more_film_on_the_crystal_reads_as_more(ratio: float, kilohertz: float):
    one, other = (
        z_match_thickness(6e6, 6e6 - 1e3 * shift, 7200.0, ratio, 1661.0, 2649.0).value
        for shift in (kilohertz, 1.1 * kilohertz)
    )
    assert 0 < one < other
