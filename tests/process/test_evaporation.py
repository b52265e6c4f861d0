"""Evaporation and the quartz monitor against geometry worked by hand and printed numbers, each with its source and kind."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.process import (
    evaporated_mass,
    evaporated_mass_flux,
    loaded_frequency,
    mean_free_path,
    planetary_share,
    ring_share,
    scattered_share,
    temperature_for_rate,
    z_match_thickness,
)
from filmwright.units import to_si

NM, MM, TORR = to_si(1, "nm"), to_si(1, "mm"), to_si(1, "torr")
GOLD = (5.832, -18024.0, 0.0, 0.0)
"""Liquid gold, Alcock, Itkin and Horrigan (1984), from memory."""


@pytest.mark.literature
def test_mass_that_leaves_hot_chromium():
    # Hertz and Knudsen, M 51.996, 1430 K, 1e-4 torr: 1.112e-6 g/(cm²·s), from memory, arithmetic recomputed; 0.2 %
    flux = evaporated_mass_flux(1e-4 * TORR, to_si(51.996, "g/mol"), 1430.0)
    assert flux == pytest.approx(to_si(1.112e-6, "g/cm^2/s"), rel=2e-3)


@pytest.mark.literature
def test_gold_at_a_hundredth_of_a_torr_gives_its_rate_at_its_temperature():
    # 1409.3 °C for 1e-2 torr of gold (check value from memory, arithmetic recomputed). There a pool of 10 mm radius sends, by
    # Hertz and Knudsen worked by hand, 5.834e-2·1e-2·√(196.97/1682.4) g/(cm²·s) to a wafer at 400 mm: Γ·a²/(ρ·h²).
    flux = to_si(5.834e-2 * 1e-2 * math.sqrt(196.97 / 1682.45), "g/cm^2/s")
    rate = flux * (10 / 400) ** 2 / to_si(19.3, "g/cm^3")
    found = temperature_for_rate(
        rate, ring_share(0, 400 * MM, 0), 10 * MM, to_si(19.3, "g/cm^3"), to_si(196.97, "g/mol"), GOLD
    )
    assert found == pytest.approx(1409.3 + 273.15, abs=3)


@pytest.mark.analytic
def test_a_hotter_source_is_needed_for_more_and_none_gives_everything():
    need = [
        temperature_for_rate(rate * NM, 2.0, 8 * MM, to_si(19.3, "g/cm^3"), to_si(197, "g/mol"), GOLD)
        for rate in (0.1, 1.0)
    ]
    assert need[1] > need[0]
    with pytest.raises(ValueError, match="no temperature"):
        temperature_for_rate(1e9, 2.0, 8 * MM, to_si(19.3, "g/cm^3"), to_si(197, "g/mol"), GOLD)


@pytest.mark.literature
def test_charge_and_edge_of_a_small_flat_source():
    # L. Holland, W. Steckelmacher (1952), worked: 0.3614 g for 100 nm chromium at 40 cm; 3.053 % less at 50 mm beside the axis
    axis, edge = ring_share(0, 400 * MM, 0), ring_share(50 * MM, 400 * MM, 0)
    mass = evaporated_mass(100 * NM, to_si(7.19, "g/cm^3"), axis)
    assert mass == pytest.approx(to_si(0.3614, "g"), rel=2e-3)
    assert 1 - edge / axis == pytest.approx(0.03053, rel=1e-2)


@pytest.mark.analytic
@given(offset=st.floats(0, 0.2), throw=st.floats(0.1, 1), ring=st.floats(0, 0.3))
def test_the_ring_is_the_mean_over_a_round(offset: float, throw: float, ring: float):
    angles = [2 * math.pi * (k + 0.5) / 400 for k in range(400)]
    square = [throw**2 + offset**2 + ring**2 - 2 * offset * ring * math.cos(angle) for angle in angles]
    assert ring_share(offset, throw, ring) == pytest.approx(
        sum(throw**2 / (math.pi * each**2) for each in square) / len(square), rel=1e-6
    )


@pytest.mark.analytic
def test_all_that_is_sent_arrives_somewhere_on_an_endless_plane():
    # ∫ c·2π·l dl over the plane = 1, by the substitution l = h·tan θ; midpoint rule
    count, throw = 4000, 0.4
    total = 0.0
    for k in range(count):
        angle = (k + 0.5) / count * math.pi / 2
        width = throw / math.cos(angle) ** 2 * math.pi / 2 / count
        total += (
            ring_share(throw * math.tan(angle), throw, 0.1) * 2 * math.pi * throw * math.tan(angle) * width
        )
    assert total == pytest.approx(1.0, rel=1e-5)


@pytest.mark.analytic
@pytest.mark.parametrize(("throw", "orbit"), [(0.55, 0.3), (0.6, 0.4), (0.7, 0.2)])
def test_wafers_on_the_sphere_through_the_source_get_the_same(throw: float, orbit: float):
    # Source and receivers that touch one sphere: 1/(4π·r²) everywhere, the principle of the calotte
    radius = (throw**2 + orbit**2) / (2 * throw)
    lean = math.atan2(orbit, throw - radius)
    assert planetary_share(0.0, throw, orbit, lean) == pytest.approx(1 / (4 * math.pi * radius**2), rel=1e-9)


@pytest.mark.analytic
def test_a_level_planet_over_a_central_source_is_a_source_beside_its_axis():
    # Without spin it would be the ring: at the centre of the wafer both see the same distance
    assert planetary_share(0.0, 0.5, 0.2, 0.0) == pytest.approx(ring_share(0.2, 0.5, 0.0), rel=1e-9)


@pytest.mark.convergence
def test_a_planetary_is_more_even_than_a_wafer_at_rest():
    still = 1 - ring_share(50 * MM, 550 * MM, 0) / ring_share(0, 550 * MM, 0)
    turned = [planetary_share(radius * MM, 0.55, 0.3, math.pi / 4, 0.2) for radius in (0, 50)]
    assert abs(1 - turned[1] / turned[0]) < still


@pytest.mark.analytic
def test_atoms_fly_freely_at_low_pressure_only():
    path = mean_free_path(3e-4, 0.375 * NM, 293.15)
    good = scattered_share(0.45, path)
    assert good.value == pytest.approx(0.45 / path, rel=0.02)
    assert good.notes == ()
    assert scattered_share(0.45, path / 100).notes


@pytest.mark.literature
@pytest.mark.parametrize(
    ("thickness", "density", "ratio", "loaded"),
    [
        # C.-S. Lu, O. Lewis (1972), from memory, arithmetic recomputed: chromium, molybdenum, gold, aluminium
        (170.037, 7200, 0.305, 5.99e6), (9455.727, 7200, 0.305, 5.5e6), (1219.605, 10200, 0.257, 5.9e6),
        (3523.159, 19300, 0.381, 5.5e6), (24599.324, 2700, 1.08, 5.5e6),
    ],
)  # fmt: skip
def test_one_film_on_the_crystal_gives_the_acoustic_impedance_law(thickness, density, ratio, loaded):
    # 1 Hz of 10 to 500 kHz is what the printed digits of the thickness allow
    assert loaded_frequency(6e6, [(thickness * NM, density, ratio)], 1661.0, 2649.0) == pytest.approx(
        loaded, abs=3
    )


@pytest.mark.analytic
def test_a_film_in_two_coats_weighs_what_it_weighs_in_one():
    whole = loaded_frequency(6e6, [(3e-6, 19300, 0.381)], 1661.0, 2649.0)
    halves = loaded_frequency(6e6, [(1e-6, 19300, 0.381), (2e-6, 19300, 0.381)], 1661.0, 2649.0)
    assert halves == pytest.approx(whole, abs=1e-3)


@pytest.mark.analytic
def test_thin_films_add_their_masses_and_thick_ones_do_not():
    thin = [(50 * NM, 7200, 0.305), (50 * NM, 2700, 1.08)]
    shifts = [6e6 - loaded_frequency(6e6, films, 1661.0, 2649.0) for films in (thin, thin[:1], thin[1:])]
    assert shifts[0] == pytest.approx(shifts[1] + shifts[2], rel=2e-3)
    thick = [(5000 * NM, 7200, 0.305), (15000 * NM, 2700, 1.08)]
    shifts = [6e6 - loaded_frequency(6e6, films, 1661.0, 2649.0) for films in (thick, thick[:1], thick[1:])]
    assert abs(shifts[0] / (shifts[1] + shifts[2]) - 1) > 0.02


@pytest.mark.property
@given(shift=st.floats(1e2, 1e6), density=st.floats(2e3, 2e4), ratio=st.floats(0.2, 1.2))
def test_thickness_and_frequency_undo_each_other(shift: float, density: float, ratio: float):
    thickness = z_match_thickness(6e6, 6e6 - shift, density, ratio, 1661.0, 2649.0).value
    found = loaded_frequency(6e6, [(thickness, density, ratio)], 1661.0, 2649.0)
    assert 6e6 - found == pytest.approx(shift, rel=1e-6, abs=1e-3)
