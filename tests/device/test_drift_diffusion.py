"""Currents in two dimensions against one-dimensional electrostatics, equilibrium, conservation and finer grids."""

from dataclasses import replace

import numpy as np
import pytest

from filmwright.device import (
    Bias,
    FilmStates,
    FilmTransistor,
    GatedFilm,
    channel_currents,
    charge_table,
    drift_diffusion,
    even_section,
    film_charge,
    film_current,
    transfer_length,
)
from filmwright.device.drift_diffusion import BENEATH, _Grid, across_film
from filmwright.units import VACUUM_PERMITTIVITY

FILM, INSULATOR, PERMITTIVITY = 25e-9, 40e-9, 8.0
STATES = FilmStates(permittivity=10.0, density_of_states=5e24, donors=1e22, temperature=300.0)
GATED = GatedFilm(
    states=STATES, thickness=FILM, areal_capacitance=PERMITTIVITY * VACUUM_PERMITTIVITY / INSULATOR
)


def section(length=10e-6, columns=120, film=GATED, **more):
    return even_section(
        length=length,
        overlap=3e-6,
        film=film,
        insulator=INSULATOR,
        columns=columns,
        **{"contact_level": 0.05, **more},
    )


def currents(found: tuple[Bias, ...]) -> np.ndarray:
    return np.array([bias.current for bias in found])


@pytest.mark.analytic
@pytest.mark.parametrize("drain", [0.1, 4.0])
def test_a_long_channel_carries_the_current_of_its_charge(drain):
    made = FilmTransistor(width=1.0, length=50e-6, film=GATED, offset=0.0, mobility=1e-3)
    gate = np.array([1.0, 2.0, 4.0, 6.0])
    found = currents(channel_currents(section(50e-6, 200), gate, drain))
    np.testing.assert_allclose(found, film_current(made, gate, drain), rtol=0.01)


@pytest.mark.analytic
def test_in_equilibrium_nothing_flows_and_the_channel_is_that_of_one_dimension():
    bias = channel_currents(section(), np.array([3.0]), 0.0)[0]
    assert abs(bias.current) < 1e-18
    assert np.max(np.abs(bias.quasi_fermi)) < 1e-9
    middle = bias.potential[len(bias.potential) // 2, BENEATH:]
    across = film_charge(GATED, np.array([3.0]), across_film(section())).potential[0]
    np.testing.assert_allclose(middle, across, atol=1e-6)


@pytest.mark.analytic
def test_the_current_is_the_same_through_every_cut():
    made = section(5e-6)
    for bias in channel_currents(made, np.array([-0.5, 1.0, 5.0]), 5.0):
        through = _Grid(made).currents(bias.potential, bias.quasi_fermi)
        inside = (made.along[1:] > made.source_ends * (1 + 1e-9)) & (
            made.along[:-1] < made.drain_begins * (1 - 1e-9)
        )
        np.testing.assert_allclose(through[inside], bias.current, rtol=1e-6)


@pytest.mark.property
def test_source_and_drain_may_be_exchanged():
    made = section(3e-6)
    forward = channel_currents(made, np.array([4.0]), 1.0)[0].current
    # All voltages one volt lower: what was the source is now at −1 V against the new source.
    backward = channel_currents(made, np.array([3.0]), -1.0)[0].current
    assert backward == pytest.approx(-forward, rel=1e-6)


@pytest.mark.convergence
def test_the_current_converges_along_the_channel():
    gate = np.array([5.0])
    found = [
        channel_currents(section(10e-6, columns), gate, 5.0)[0].current for columns in (40, 80, 160, 320)
    ]
    off = np.abs(np.array(found[:3]) / found[3] - 1)
    assert off[1] < off[0] / 2
    assert off[2] < off[1] / 2
    assert off[2] < 1e-2


@pytest.mark.analytic
def test_traps_and_interface_states_enter_as_in_one_dimension():
    states = replace(STATES, tail_density=5e24, tail_energy=0.06)
    film = replace(GATED, states=states, interface_states=5e15, interface_neutral=-0.4, back_charge=-2e-3)
    made = FilmTransistor(width=1.0, length=50e-6, film=film, offset=0.0, mobility=1e-3)
    gate = np.array([2.0, 4.0, 8.0])
    found = currents(channel_currents(section(50e-6, 160, film), gate, 0.1))
    np.testing.assert_allclose(found, film_current(made, gate, 0.1), rtol=0.01)


@pytest.mark.analytic
def test_a_short_channel_has_a_barrier_that_the_drain_lowers():
    gate = np.linspace(-0.4, -0.1, 7)
    shift = {}
    for length in (0.15e-6, 5e-6):
        made = section(length, 100)
        low, high = (np.log(currents(channel_currents(made, gate, drain))) for drain in (0.5, 2.5))
        # How far the curve moves along the gate for two volts more at the drain.
        level = high[2]
        shift[length] = gate[2] - np.interp(level, low, gate)
    assert shift[5e-6] > -5e-3
    assert shift[0.15e-6] < shift[5e-6] - 0.02


@pytest.mark.analytic
def test_a_barrier_at_the_contact_takes_current_and_a_near_contact_injects_better():
    gate = np.array([5.0])
    open_ = channel_currents(section(2e-6), gate, 0.1)[0].current
    held = channel_currents(section(2e-6, contact_level=-0.25), gate, 0.1)[0].current
    near = channel_currents(section(2e-6, contact_level=-0.25, contacts="near"), gate, 0.1)[0].current
    assert held < 0.9 * open_
    assert near != pytest.approx(held, rel=1e-3)


@pytest.mark.property
@pytest.mark.parametrize(
    ("what", "change"),
    [
        ("film", {"film": np.zeros(120)}),
        ("source_ends", {"source_ends": 1.0}),
        ("contacts", {"contacts": "beside"}),
        ("along", {"along": np.zeros(120)}),
    ],
)
def test_a_section_that_cannot_be_is_refused(what, change):
    with pytest.raises(ValueError, match=what):
        replace(section(), **change)


@pytest.mark.property
def test_voltages_that_are_no_numbers_are_refused():
    with pytest.raises(ValueError, match="finite"):
        channel_currents(section(), np.array([np.nan]), 1.0)
    assert channel_currents(section(), np.array([]), 1.0) == ()


@pytest.mark.convergence
def test_the_nodes_across_are_enough(monkeypatch):
    gate = np.array([-0.4, 1.0, 6.0])
    made = section(5e-6, 60)
    few = currents(channel_currents(made, gate, 1.0))
    monkeypatch.setattr(drift_diffusion, "ACROSS", 3 * drift_diffusion.ACROSS)
    monkeypatch.setattr(drift_diffusion, "BENEATH", 3 * drift_diffusion.BENEATH)
    np.testing.assert_allclose(few, currents(channel_currents(made, gate, 1.0)), rtol=0.006)


@pytest.mark.analytic
@pytest.mark.parametrize("drain", [0.1, 4.0])
def test_a_mobility_that_follows_the_electrons_gives_the_current_of_one_dimension(drain):
    law = {"mobility": 1e-3, "mobility_exponent": 0.6, "reference": 1e16}
    made = FilmTransistor(width=1.0, length=50e-6, film=GATED, offset=0.0, **law)
    gate = np.array([1.0, 3.0, 6.0])
    found = currents(channel_currents(section(50e-6, 200, **law), gate, drain))
    np.testing.assert_allclose(found, film_current(made, gate, drain), rtol=0.015)


@pytest.mark.analytic
@pytest.mark.parametrize("resistivity", [1e-6, 5e-6])
def test_a_resistance_of_the_interface_adds_that_of_a_contact_so_long(resistivity):
    # √(ρ_c·R_sheet)·coth(L_c/L_T) for each contact, where the interface resists far more than the film on the way to it.
    gate, drain = np.array([6.0]), 0.01
    free, held = (
        channel_currents(section(5e-6, 160, contact_resistivity=each), gate, drain)[0].current
        for each in (0.0, resistivity)
    )
    sheet = 1.0 / (1e-3 * float(charge_table(GATED, -1.0, 8.0).free(6.0)))
    length = float(transfer_length(resistivity, sheet))
    added = 2 * resistivity / length / np.tanh(3e-6 / length)
    # The film on the way to the contact resists too, and more of it is passed where the interface resists less.
    assert drain / held - drain / free == pytest.approx(added, rel=0.08)


@pytest.mark.analytic
def test_the_interface_carries_the_whole_current_at_a_high_drain_voltage_too():
    made = section(5e-6, 120, contact_resistivity=1e-7)
    for bias in channel_currents(made, np.array([0.5, 5.0]), 4.0):
        under = made.along <= made.source_ends
        grid = _Grid(made)
        into = np.sum(bias.quasi_fermi[under, -1] * grid.wide[under]) / made.contact_resistivity
        assert into == pytest.approx(bias.current, rel=1e-4)
