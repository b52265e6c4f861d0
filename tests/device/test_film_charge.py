"""Poisson's equation across a film, against its analytic limits, published integrals and a general-purpose library."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import hyp2f1, zeta

from filmwright.device import (
    FilmStates,
    GatedFilm,
    band_filling,
    charge_table,
    debye_length,
    fermi_integral,
    film_charge,
    flat_band_voltage,
    full_depletion_voltage,
    neutral_level,
    subthreshold_limit,
    tail_filling,
    thermal_voltage,
)
from filmwright.device.states import fillings_of
from filmwright.units import ELEMENTARY_CHARGE, to_si

ROOM = 300.0
PHI = thermal_voltage(ROOM)
CAPACITANCE = to_si(61.98, "nF/cm^2")


def zinc_oxide(donors: float, **more: float) -> FilmStates:
    """ε 8.5 and N_C 3.62e18 1/cm³ (from memory), as in the published Debye lengths."""
    return FilmStates(
        permittivity=8.5,
        density_of_states=to_si(3.62e18, "1/cm^3"),
        donors=to_si(donors, "1/cm^3"),
        temperature=ROOM,
        **more,
    )


@pytest.mark.literature
def test_the_fermi_integral_at_the_band_edge():
    # F_j(0) = (1 − 2^−j)·ζ(j + 1): the Dirichlet eta function (published; NIST DLMF 25.2.3).
    assert fermi_integral(0.5, 0.0) == pytest.approx((1 - 2**-0.5) * zeta(1.5), rel=1e-10)
    assert fermi_integral(1.5, 0.0) == pytest.approx((1 - 2**-1.5) * zeta(2.5), rel=1e-10)


@pytest.mark.reference
@pytest.mark.parametrize("level", [-30.0, -3.0, 0.7, 8.0, 40.0])
def test_the_fermi_integral_is_that_of_a_quadrature(level):
    def integrand(t):
        return 2 * t**2 / (1 + np.exp(np.minimum(t**2 - level, 700.0)))

    whole = quad(integrand, 0, np.sqrt(max(level, 0.0) + 60), limit=500, epsabs=0, epsrel=1e-11)[0]
    assert fermi_integral(0.5, level) == pytest.approx(2 / np.sqrt(np.pi) * whole, rel=1e-9)


@pytest.mark.analytic
def test_the_fermi_integral_far_above_and_below_the_edge():
    # Sommerfeld: F_½ → 4/(3√π)·η^1.5·(1 + π²/(8η²)); Boltzmann: exp(η).
    assert fermi_integral(0.5, 200.0) == pytest.approx(
        4 / (3 * np.sqrt(np.pi)) * 200**1.5 * (1 + np.pi**2 / (8 * 200**2)), rel=1e-8
    )
    assert fermi_integral(0.5, -30.0) == pytest.approx(np.exp(-30.0), rel=1e-10)


@pytest.mark.reference
@pytest.mark.parametrize("breadth", [0.4, 0.9, 1.7, 3.3])
def test_the_filled_part_of_a_tail_is_the_hypergeometric_function(breadth):
    level = np.array([-60.0, -20.0, -3.0, 0.0, 3.0, 20.0])
    expected = hyp2f1(1, 1 / breadth, 1 + 1 / breadth, -np.exp(-level))
    np.testing.assert_allclose(tail_filling(level, breadth), expected, rtol=1e-10)


@pytest.mark.analytic
def test_a_band_is_half_full_at_its_middle_and_exponential_far_below():
    assert band_filling(-12.0, 12.0, 4.0) == pytest.approx(0.5, abs=1e-12)
    # Boltzmann on a Gaussian: exp(x₀ + s²/2 + η) while the middle stays far above the Fermi level.
    assert band_filling(-50.0, 12.0, 2.0) == pytest.approx(np.exp(12.0 + 2.0 - 50.0), rel=1e-8)


@pytest.mark.literature
@pytest.mark.parametrize(
    ("donors", "nanometres"), [(1e16, 34.848), (1e17, 11.02)], ids=["1e16 1/cm³", "1e17 1/cm³"]
)
def test_the_debye_length_of_zinc_oxide(donors, nanometres):
    # √(ε·kT/(q²·n)); from memory, arithmetic recomputed. Fermi statistics lengthen it by n/N_C·2^−1.5/2 or so: 0.5 %.
    assert debye_length(zinc_oxide(donors)) == pytest.approx(to_si(nanometres, "nm"), rel=0.01)


@pytest.mark.literature
def test_the_width_that_half_a_volt_depletes():
    # √(2·ε·V/(q·n)) = 68.54 nm for 1e17 1/cm³ at 0.5 V; from memory, arithmetic recomputed. The tail of the electrons
    # takes a Debye length: the approximation wants V − kT/q at its edge.
    states, thickness = zinc_oxide(1e17), 300e-9
    level = neutral_level(states)
    film = GatedFilm(states=states, thickness=thickness, areal_capacitance=CAPACITANCE)
    charge = film_charge(film, np.linspace(-6, 0, 401), 400)
    bent = level - charge.potential[:, 0]
    width = np.interp(0.5 + PHI, bent[::-1], (thickness - charge.free / (1e23 * ELEMENTARY_CHARGE))[::-1])
    assert width == pytest.approx(68.54e-9, rel=0.01)


@pytest.mark.analytic
def test_a_doped_film_is_emptied_at_the_full_depletion_voltage():
    states, thickness, cap = zinc_oxide(1e18), 20e-9, CAPACITANCE
    film = GatedFilm(states=states, thickness=thickness, areal_capacitance=cap)
    work = to_si(4.3, "eV")
    closed = full_depletion_voltage(
        flat_band_voltage(work, work, -neutral_level(states)), states.donors, thickness, 8.5, cap
    )
    charge = film_charge(film, np.linspace(closed - 3, closed + 3, 601))
    # Depletion takes electrons in proportion to the gate: the straight part extrapolates to the closed form.
    part = (charge.drive > closed + 0.7) & (charge.drive < closed + 1.7)
    slope, meets = np.polyfit(charge.drive[part], charge.free[part], 1)
    assert -meets / slope == pytest.approx(closed, abs=4 * PHI)
    assert charge.free[0] < 1e-6 * charge.free[-1]


@pytest.mark.analytic
def test_an_empty_film_switches_at_the_thermal_limit():
    film = GatedFilm(states=zinc_oxide(0.0), thickness=20e-9, areal_capacitance=CAPACITANCE)
    charge = film_charge(film, np.linspace(-1.0, -0.5, 11))
    swing = np.diff(charge.drive) / np.diff(np.log10(charge.free))
    np.testing.assert_allclose(swing, subthreshold_limit(ROOM), rtol=1e-4)


@pytest.mark.analytic
def test_interface_states_widen_the_swing_by_their_capacitance():
    # S = φ·ln10·(1 + q·D_it/C) for a film without states of its own (Rolland et al. 1993, from memory).
    density = to_si(1e12, "1/cm^2")
    film = GatedFilm(
        states=zinc_oxide(0.0),
        thickness=20e-9,
        areal_capacitance=CAPACITANCE,
        interface_states=density,
        interface_neutral=-0.5,
    )
    charge = film_charge(film, np.linspace(-2.0, -1.0, 11))
    swing = np.diff(charge.drive) / np.diff(np.log10(charge.free))
    expected = subthreshold_limit(ROOM) * (1 + ELEMENTARY_CHARGE * density / CAPACITANCE)
    np.testing.assert_allclose(swing, expected, rtol=1e-4)


@pytest.mark.analytic
def test_what_the_gate_brings_lies_in_the_film():
    # Gauss: gate charge = electrons − donors, whatever the states are.
    states = zinc_oxide(1e17, tail_density=2e25, tail_energy=0.06, deep_density=5e23, deep_depth=0.6)
    film = GatedFilm(states=states, thickness=30e-9, areal_capacitance=CAPACITANCE, back_charge=1e-4)
    charge = film_charge(film, np.linspace(-5, 10, 31))
    place = charge.place
    _, every = fillings_of(states).electrons(charge.potential)
    inside = np.trapezoid(every.density - states.donors, place, axis=1) * ELEMENTARY_CHARGE
    np.testing.assert_allclose(charge.gate, inside - film.back_charge, atol=1e-9)


@pytest.mark.literature
def test_electrons_gathered_ten_volts_above_threshold():
    # C·10 V/q = 3.8684e12 1/cm² for 61.98 nF/cm²; from memory, arithmetic recomputed.
    film = GatedFilm(states=zinc_oxide(0.0), thickness=20e-9, areal_capacitance=CAPACITANCE)
    charge = film_charge(film, np.array([10.0]))
    over = 10.0 - charge.potential[0, 0]
    assert charge.free[0] / ELEMENTARY_CHARGE == pytest.approx(
        to_si(3.8684e12, "1/cm^2") * over / 10.0, rel=1e-4
    )
    assert charge.potential[0, 0] < 0.2


@pytest.mark.convergence
def test_the_charge_converges_with_the_square_of_the_mesh():
    states = zinc_oxide(1e17, tail_density=2e25, tail_energy=0.06)
    film = GatedFilm(states=states, thickness=40e-9, areal_capacitance=CAPACITANCE)
    drive = np.linspace(-3, 8, 45)
    finest = film_charge(film, drive, 1537).free
    off = [np.max(np.abs(np.log(film_charge(film, drive, n).free / finest))) for n in (25, 49, 97)]
    assert off[1] < 4e-3
    assert off[0] / off[1] == pytest.approx(4.0, rel=0.25)
    assert off[1] / off[2] == pytest.approx(4.0, rel=0.25)


@pytest.mark.analytic
def test_capacitance_is_that_of_the_insulator_in_accumulation_and_none_when_empty():
    film = GatedFilm(states=zinc_oxide(1e17), thickness=20e-9, areal_capacitance=CAPACITANCE)
    table = charge_table(film, -20.0, 20.0)
    assert table.capacitance(18.0) == pytest.approx(CAPACITANCE, rel=0.01)
    assert table.capacitance(18.0) < CAPACITANCE
    assert table.capacitance(-10.0) < 1e-4 * CAPACITANCE


@pytest.mark.reference
def test_the_integral_of_the_table_is_that_of_its_charge():
    states = zinc_oxide(1e17, tail_density=1e25, tail_energy=0.05, deep_density=2e23)
    film = GatedFilm(states=states, thickness=25e-9, areal_capacitance=CAPACITANCE)
    table = charge_table(film, -8.0, 12.0)
    drive = np.linspace(-8.0, 12.0, 8001)
    free = film_charge(film, drive).free
    np.testing.assert_allclose(table.free(drive[::37]), free[::37], rtol=2e-3)
    total = np.concatenate(([0.0], np.cumsum((free[1:] + free[:-1]) / 2 * np.diff(drive))))
    at = slice(3600, None, 200)
    np.testing.assert_allclose(table.integral(0.0).at(drive[at]), total[at], rtol=1e-3)


@pytest.mark.property
@pytest.mark.parametrize(
    ("what", "value"),
    [("donors", -1.0), ("permittivity", 0.5), ("density_of_states", 0.0), ("tail_energy", float("nan"))],
)
def test_states_out_of_range_are_refused(what, value):
    good = {"permittivity": 8.5, "density_of_states": 1e24, "donors": 1e22}
    with pytest.raises(ValueError, match=what):
        FilmStates(**{**good, what: value})


@pytest.mark.property
def test_a_drive_that_no_band_can_answer_is_refused():
    states = FilmStates(permittivity=4.0, density_of_states=1e18, donors=0.0)
    film = GatedFilm(states=states, thickness=1e-9, areal_capacitance=0.1)
    with pytest.raises(ValueError, match="drive"):
        film_charge(film, np.array([5000.0]))
