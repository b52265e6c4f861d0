"""Capacitance against the gate: its ends, the flat-band value by hand, and how fast a channel is charged."""

import numpy as np
import pytest

from filmwright.device import (
    FilmStates,
    FilmTransistor,
    GatedContact,
    GatedFilm,
    charging_frequency,
    gate_capacitance,
    neutral_level,
)
from filmwright.units import VACUUM_PERMITTIVITY, to_si

ROOM = 300.0


def transistor(thickness: float, donors: float, **more: object) -> FilmTransistor:
    """Zinc oxide on 100 nm of silicon nitride, of check_values.json (T17-001, T17-007)."""
    states = FilmStates(permittivity=8.5, density_of_states=3.62e24, donors=donors, temperature=ROOM)
    capacitance = VACUUM_PERMITTIVITY * 7.0 / 100e-9
    film = GatedFilm(states=states, thickness=thickness, areal_capacitance=capacitance)
    return FilmTransistor(width=100e-6, length=50e-6, film=film, offset=0.0, mobility=1e-3, **more)  # type: ignore[arg-type]


@pytest.mark.literature
def test_the_flat_band_capacitance_of_a_thick_film():
    made = transistor(300e-9, 1e23)
    flat = neutral_level(made.film.states)
    found = gate_capacitance(made, flat) / (made.width * made.length)
    # T17-007: 56.823 nF/cm², from memory with the arithmetic recomputed; the film of 300 nm is 27 Debye lengths thick.
    assert found == pytest.approx(to_si(56.823, "nF/cm^2"), rel=4e-3)


@pytest.mark.analytic
def test_it_goes_from_the_overlaps_alone_to_the_whole_gate():
    held = GatedContact(specific_resistance=1e-7, source_overlap=5e-6, drain_overlap=3e-6)
    made = transistor(20e-9, 1e22, contact=held)
    areal = made.film.areal_capacitance
    behind = VACUUM_PERMITTIVITY * 8.5 / 20e-9
    off, on = gate_capacitance(made, np.array([-10.0, 60.0]))
    assert off == pytest.approx(made.width * 8e-6 * areal * behind / (areal + behind), rel=1e-6)
    assert on == pytest.approx(made.width * 58e-6 * areal, rel=0.01)
    rising = gate_capacitance(made, np.linspace(-10, 60, 141))
    assert np.all(np.diff(rising) > -1e-6 * on)


@pytest.mark.reference
def test_a_channel_is_charged_from_both_ends_as_a_line_of_resistors_and_capacitors():
    sheet, areal, length, pieces = 1e-6, 6e-4, 20e-6, 400
    step = length / pieces
    line = np.diag(np.full(pieces, -2.0)) + np.diag(np.ones(pieces - 1), 1) + np.diag(np.ones(pieces - 1), -1)
    line[0, 0] = line[-1, -1] = -3.0  # Half a piece from the contact.
    slowest = -np.max(np.linalg.eigvalsh(line)) * sheet / (areal * step**2)
    assert charging_frequency(sheet, areal, length) == pytest.approx(slowest / (2 * np.pi), rel=1e-3)
    with pytest.raises(ValueError, match="length"):
        charging_frequency(sheet, areal, 0.0)
