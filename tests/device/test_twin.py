"""The compact twin of a film transistor, and laws that go with it."""

import numpy as np
import pytest

from filmwright.device import (
    FilmStates,
    FilmTransistor,
    GatedFilm,
    activated_mobility,
    charge_table,
    compact_twin,
    donors_of,
    drain_current,
    drive_of,
    film_current,
    neutral_level,
    smallest_swing,
    subthreshold_limit,
)
from filmwright.units import ELEMENTARY_CHARGE, to_si

CAPACITANCE = to_si(100, "nF/cm^2")


def film(**states: float) -> GatedFilm:
    base = {"permittivity": 10.0, "density_of_states": 5e24, "donors": 1e21, "temperature": 300.0}
    return GatedFilm(states=FilmStates(**{**base, **states}), thickness=20e-9, areal_capacitance=CAPACITANCE)


def transistor(made: GatedFilm) -> FilmTransistor:
    return FilmTransistor(width=100e-6, length=10e-6, film=made, offset=0.4, mobility=1e-3, reference=3e16)


@pytest.mark.analytic
def test_without_traps_the_twin_swings_at_the_thermal_limit():
    twin = compact_twin(transistor(film()), 3e16, 0.0)
    assert twin.ideality == pytest.approx(1.0, abs=3e-3)
    assert smallest_swing(charge_table(film(), -5, 10), 3e16) == pytest.approx(
        subthreshold_limit(300.0), rel=3e-3
    )


@pytest.mark.analytic
def test_a_twin_carries_the_current_of_its_film_where_its_tangent_touches():
    made = transistor(film(tail_density=2e24, tail_energy=0.03, deep_density=5e22))
    twin = compact_twin(made, 3e16, 0.0)
    at = made.offset + drive_of(charge_table(made.film, -5, 10), 3e16)
    assert drain_current(twin, at, 1e-3) == pytest.approx(film_current(made, at, 1e-3), rel=2e-3)
    assert drain_current(twin, at + 1.0, 0.1) == pytest.approx(film_current(made, at + 1.0, 0.1), rel=0.03)


@pytest.mark.analytic
def test_interface_states_widen_the_swing_by_their_capacitance():
    # S = (kT/q)·ln10·(1 + q·D_it/C) of a film without other states: Sze and Ng, ch. 6 (from memory).
    states = to_si(1e12, "1/cm^2")
    made = GatedFilm(
        states=film().states, thickness=5e-9, areal_capacitance=CAPACITANCE, interface_states=states
    )
    expected = subthreshold_limit(300.0) * (1 + ELEMENTARY_CHARGE * states / CAPACITANCE)
    assert smallest_swing(charge_table(made, -8, 10), 3e16) == pytest.approx(expected, rel=5e-3)


@pytest.mark.analytic
def test_donors_leave_the_free_electrons_that_were_asked_for():
    states = film(tail_density=2e24, tail_energy=0.03, deep_density=5e22).states
    assert donors_of(film().states, 1e22) == pytest.approx(1e22, rel=1e-6)
    donors = donors_of(states, 1e22)
    assert donors > 5e22
    bare, full = (
        film(donors=1e22).states,
        film(donors=donors, tail_density=2e24, tail_energy=0.03, deep_density=5e22).states,
    )
    assert neutral_level(full) == pytest.approx(neutral_level(bare), abs=1e-6)


@pytest.mark.analytic
def test_a_mobility_follows_its_energy():
    warm = activated_mobility(1e-3, to_si(50, "meV"), 350.0, 300.0)
    # ln ratio = 50 meV / k · (1/300 − 1/350) by hand: 580.226 K × 4.7619e-4 1/K.
    assert np.log(warm / 1e-3) == pytest.approx(580.226 * 4.7619e-4, rel=1e-4)


@pytest.mark.property
def test_what_no_film_holds_is_refused():
    with pytest.raises(ValueError, match="free"):
        donors_of(film().states, 1e30)
    with pytest.raises(ValueError, match="electrons"):
        drive_of(charge_table(film(), -5, 5), 1e19)
    with pytest.raises(ValueError, match="energy"):
        activated_mobility(1e-3, float("nan"), 300.0, 300.0)
