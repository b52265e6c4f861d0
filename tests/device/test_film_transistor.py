"""Families of curves from the charge of a film, against the laws that they must become."""

from dataclasses import replace

import numpy as np
import pytest

from filmwright.device import (
    FilmStates,
    FilmTransistor,
    GatedFilm,
    TransistorDesign,
    charge_table,
    drain_current,
    film_charge,
    film_current,
    subthreshold_limit,
)
from filmwright.units import ELEMENTARY_CHARGE, to_si

ROOM = 300.0
CAPACITANCE = to_si(20, "nF/cm^2")


def transistor(states: dict[str, float] | None = None, **more: float) -> FilmTransistor:
    film = GatedFilm(
        states=FilmStates(
            permittivity=10.0,
            density_of_states=5e24,
            **{"donors": 1e21, "temperature": ROOM, **(states or {})},
        ),
        thickness=20e-9,
        areal_capacitance=CAPACITANCE,
    )
    return FilmTransistor(
        **{"width": 100e-6, "length": 10e-6, "film": film, "offset": 0.4, "mobility": 1e-3, **more}
    )


@pytest.mark.analytic
def test_the_square_law_stands_high_above_threshold():
    made = transistor()
    gate = np.linspace(30.0, 40.0, 51)
    root = np.sqrt(film_current(made, gate, 60.0))
    slope = np.gradient(root, gate)[25]
    law = np.sqrt(made.width / (2 * made.length) * made.mobility * CAPACITANCE)
    # The electrons lie some tenths of a nanometre off the insulator and take a little of the voltage.
    assert slope == pytest.approx(law, rel=0.01)


@pytest.mark.analytic
def test_without_traps_the_swing_is_the_thermal_limit():
    gate = np.linspace(-0.3, -0.1, 21)
    current = film_current(transistor(), gate, 5.0)
    swing = np.diff(gate) / np.diff(np.log10(current))
    np.testing.assert_allclose(swing, subthreshold_limit(ROOM), rtol=2e-3)


@pytest.mark.analytic
def test_the_current_is_the_integral_of_the_charge_of_the_channel():
    made = transistor({"tail_density": 2e25, "tail_energy": 0.06})
    gate, drain = 6.0, 3.0
    along = np.linspace(0.0, drain, 801)
    free = film_charge(made.film, gate - made.offset - along).free
    expected = made.width / made.length * made.mobility * np.trapezoid(free, along)
    assert film_current(made, gate, drain) == pytest.approx(expected, rel=1e-3)


@pytest.mark.analytic
def test_a_power_law_of_the_mobility_raises_the_current_by_its_power():
    flat, rising = transistor(), transistor(mobility_exponent=0.5, reference=1e16)
    gate, drain = 20.0, 0.01
    density = film_charge(flat.film, np.array([gate - flat.offset])).free[0] / ELEMENTARY_CHARGE
    ratio = film_current(rising, gate, drain) / film_current(flat, gate, drain)
    assert ratio == pytest.approx((density / 1e16) ** 0.5, rel=2e-3)


@pytest.mark.property
def test_source_and_drain_are_alike():
    made = transistor(contact_resistance=0.1)
    gate, drain = np.linspace(-2, 10, 25)[:, None], np.array([0.05, 1.0, 8.0])
    forward = film_current(made, gate, drain)
    # The same device with its terminals exchanged: voltages referred to what was the drain.
    np.testing.assert_allclose(film_current(made, gate - drain, -drain), -forward, rtol=1e-6)


@pytest.mark.property
def test_current_rises_with_gate_and_drain_and_contacts_only_take():
    gate, drain = np.linspace(-3, 12, 61)[:, None], np.linspace(0, 12, 41)[None, :]
    free = film_current(transistor(), gate, drain)
    held = film_current(transistor(contact_resistance=0.5), gate, drain)
    assert np.all(np.diff(free, axis=0) >= 0)
    assert np.all(np.diff(free, axis=1) >= -1e-12 * free.max())
    assert np.all(held <= free * (1 + 1e-9))
    across, at = 0.02, 12.0
    ohms = 2 * 0.5 / 100e-6
    low, high = (
        film_current(transistor(), at, across),
        film_current(transistor(contact_resistance=0.5), at, across),
    )
    assert across / high - across / low == pytest.approx(ohms, rel=0.01)


@pytest.mark.analytic
def test_the_charge_based_law_is_met_where_both_hold():
    made = transistor()
    gate = np.linspace(5.0, 20.0, 31)
    root = np.sqrt(film_current(made, gate, 40.0))
    slope, meets = np.polyfit(gate, root, 1)
    design = TransistorDesign(
        width=made.width,
        length=made.length,
        areal_capacitance=CAPACITANCE,
        mobility=made.mobility,
        threshold_voltage=-meets / slope,
        temperature=ROOM,
    )
    ours, law = film_current(made, gate, 1.0), drain_current(design, gate, 1.0)
    np.testing.assert_allclose(ours, law, rtol=0.02)


@pytest.mark.convergence
def test_a_table_for_a_wider_range_gives_the_same_currents():
    made = transistor({"tail_density": 2e25, "tail_energy": 0.06, "deep_density": 2e23})
    gate = np.linspace(-1, 12, 27)
    narrow = film_current(made, gate, 5.0, charge_table(made.film, -7.0, 12.0))
    wide = film_current(made, gate, 5.0, charge_table(made.film, -40.0, 40.0))
    np.testing.assert_allclose(narrow, wide, rtol=2e-4, atol=1e-24)


@pytest.mark.property
@pytest.mark.parametrize(
    ("what", "value"),
    [("width", 0.0), ("mobility", -1.0), ("mobility_exponent", -0.1), ("offset", float("inf"))],
)
def test_dimensions_out_of_range_are_refused(what, value):
    with pytest.raises(ValueError, match=what):
        transistor(**{what: value})


@pytest.mark.property
def test_voltages_beyond_the_table_are_refused():
    made = transistor()
    with pytest.raises(ValueError, match="drive"):
        film_current(made, 9.0, 1.0, charge_table(made.film, -5.0, 5.0))
    with pytest.raises(ValueError, match="finite"):
        film_current(made, float("nan"), 1.0)


@pytest.mark.analytic
def test_the_charge_behind_another_insulator_and_other_interface_states_is_that_of_its_own_solution():
    made = transistor({"tail_density": 2e25, "tail_energy": 0.06}).film
    other = replace(made, areal_capacitance=1.7 * CAPACITANCE, interface_states=3e16, interface_neutral=-0.3)
    told = charge_table(made, -8.0, 20.0).behind(other)
    drive = np.linspace(-2.0, 10.0, 41)
    solved = film_charge(other, drive)
    np.testing.assert_allclose(told.free(drive), solved.free, rtol=1e-3, atol=1e-12 * solved.free.max())
    np.testing.assert_allclose(told.capacitance(drive)[20:], solved.gate_slope[20:], rtol=0.01)
    rise = told.free(drive) * told.steepness(drive)
    np.testing.assert_allclose(rise[20:], solved.free_slope[20:], rtol=2e-3)
    with pytest.raises(ValueError, match="states"):
        told.behind(replace(other, thickness=1e-9))
