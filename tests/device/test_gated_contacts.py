"""Contacts over the gate, against their linear law and against the line of small resistors that they are."""

from dataclasses import replace

import numpy as np
import pytest

from filmwright.device import (
    FilmStates,
    FilmTransistor,
    GatedContact,
    GatedFilm,
    charge_table,
    film_current,
    gated_contact_resistance,
)

FILM = GatedFilm(
    states=FilmStates(
        permittivity=10.0, density_of_states=5e24, donors=1e21, tail_density=2e24, temperature=300.0
    ),
    thickness=20e-9,
    areal_capacitance=1e-3,
)
TABLE = charge_table(FILM, -15.0, 12.0)
BARE = FilmTransistor(width=100e-6, length=10e-6, film=FILM, offset=0.4, mobility=1e-3)


def contacted(resistance: float, source: float = 20e-6, drain: float = 20e-6) -> FilmTransistor:
    held = GatedContact(specific_resistance=resistance, source_overlap=source, drain_overlap=drain)
    return replace(BARE, contact=held)


@pytest.mark.analytic
@pytest.mark.parametrize("overlap", [0.3e-6, 2e-6, 20e-6])
def test_at_a_small_drain_voltage_the_contacts_are_those_of_the_linear_law(overlap: float):
    gate, drain, resistance = np.array([2.0, 5.0, 9.0]), 1e-3, 1e-7
    made = contacted(resistance, overlap, overlap)
    ohms = drain / film_current(made, gate, drain, TABLE) - drain / film_current(BARE, gate, drain, TABLE)
    sheet = BARE.mobility * TABLE.free(gate - BARE.offset)
    expected = 2 * gated_contact_resistance(resistance, sheet, overlap) / BARE.width
    np.testing.assert_allclose(ohms, expected, rtol=3e-3)
    # R·W = √(ρ·R_sh)·coth(L_ov/L_T), the gate filling the sheet.
    reach = np.sqrt(resistance * sheet)
    np.testing.assert_allclose(
        expected * BARE.width / 2, resistance / reach / np.tanh(overlap / reach), rtol=1e-12
    )


def _ladder(gate: float, drain: float, resistance: float, overlap: float) -> float:
    """Current per width of contact, channel and contact cut into small pieces, each a resistor of its own charge [A/m]."""
    from scipy.linalg import solve_banded

    fine = np.linspace(-15.0, 12.0, 40001)
    sheet = BARE.mobility * TABLE.free(fine)
    whole = np.concatenate(([0.0], np.cumsum((sheet[1:] + sheet[:-1]) / 2))) * (fine[1] - fine[0])
    pieces = np.concatenate(
        (np.full(300, overlap / 300), np.full(200, BARE.length / 200), np.full(300, overlap / 300))
    )
    metal = np.concatenate((np.zeros(300), np.full(200, np.nan), np.full(300, drain)))
    touches = np.where(np.isnan(metal), 0.0, pieces / resistance)
    held = np.nan_to_num(metal)
    gaps = (pieces[1:] + pieces[:-1]) / 2
    over = gate - BARE.offset
    potential = np.concatenate((np.zeros(300), np.linspace(0.0, drain, 200), np.full(300, drain)))
    for _ in range(300):
        level = over - potential
        along = np.interp(level, fine, whole)
        gives = np.interp(level, fine, sheet)
        flux = (along[:-1] - along[1:]) / gaps
        miss = touches * (held - potential)
        miss[:-1] += flux
        miss[1:] -= flux
        banded = np.zeros((3, len(pieces)))
        banded[0, 1:] = gives[1:] / gaps
        banded[2, :-1] = gives[:-1] / gaps
        banded[1] = -touches
        banded[1, :-1] -= gives[:-1] / gaps
        banded[1, 1:] -= gives[1:] / gaps
        move = solve_banded((1, 1), banded, -miss)
        potential = potential + np.clip(move, -0.1, 0.1)
        if np.max(np.abs(move)) < 1e-10:
            break
    return float(np.sum((potential * touches)[:300]))


@pytest.mark.reference
@pytest.mark.parametrize(("gate", "drain"), [(3.0, 1.0), (6.0, 4.0), (6.0, 10.0)])
@pytest.mark.parametrize("resistance", [1e-7, 1e-6])
def test_contacts_and_channel_are_a_line_of_small_resistors(gate: float, drain: float, resistance: float):
    expected = _ladder(gate, drain, resistance, 30e-6)
    found = film_current(contacted(resistance, 30e-6, 30e-6), gate, drain, TABLE) / BARE.width
    # Current flows into the film under the source against the sign of its rise; 1 %: the pieces, and contacts of finite length.
    assert found == pytest.approx(expected, rel=0.01)


@pytest.mark.analytic
def test_perfect_contacts_take_nothing():
    gate, drain = np.linspace(-1, 8, 10)[:, None], np.array([0.1, 2.0, 10.0])
    np.testing.assert_allclose(
        film_current(contacted(1e-15), gate, drain, TABLE), film_current(BARE, gate, drain, TABLE), rtol=2e-5
    )


@pytest.mark.property
def test_source_and_drain_may_be_exchanged_with_their_overlaps():
    gate, drain = np.linspace(-1, 8, 10)[:, None], np.array([0.1, 2.0])
    made, other = contacted(1e-6, 1e-6, 9e-6), contacted(1e-6, 9e-6, 1e-6)
    forward = film_current(made, gate, drain, TABLE)
    np.testing.assert_allclose(film_current(other, gate - drain, -drain, TABLE), -forward, rtol=1e-6)


@pytest.mark.property
def test_current_rises_with_gate_and_drain_and_falls_with_the_contact():
    gate, drain = np.linspace(-1, 8, 37)[:, None], np.linspace(0, 10, 41)[None, :]
    free = film_current(BARE, gate, drain, TABLE)
    held = film_current(contacted(1e-6), gate, drain, TABLE)
    worse = film_current(contacted(1e-5), gate, drain, TABLE)
    assert np.all(held <= free * (1 + 1e-6))
    assert np.all(worse <= held * (1 + 1e-6))
    assert np.all(np.diff(held, axis=0) >= -1e-9 * held.max())
    assert np.all(np.diff(held, axis=1) >= -1e-9 * held.max())


@pytest.mark.property
def test_a_contact_is_one_or_the_other():
    with pytest.raises(ValueError, match="contact_resistance"):
        replace(contacted(1e-6), contact_resistance=1.0)
    with pytest.raises(ValueError, match="source_overlap"):
        contacted(1e-6, 0.0)
    with pytest.raises(ValueError, match="sheet_conductance"):
        gated_contact_resistance(1e-7, 0.0, 1e-6)
