"""Predicted families beside scripts: the charge of the film by a general boundary-value solver, the current bias by bias."""

from __future__ import annotations

import json
import time

import numpy as np

from filmwright.device import (
    FilmStates,
    FilmTransistor,
    GatedContact,
    GatedFilm,
    charge_table,
    fermi_integral,
    film_current,
)
from filmwright.device.film_transistor import _tables
from filmwright.device.states import fillings_of
from filmwright.units import ELEMENTARY_CHARGE, VACUUM_PERMITTIVITY, to_si

PEER_DRIVES = 12


def oxide_transistor(gated: bool = True) -> FilmTransistor:
    """A usual oxide transistor on 40 nm of aluminium oxide."""
    states = FilmStates(
        permittivity=13.0,
        density_of_states=to_si(5e18, "1/cm^3"),
        donors=to_si(7e16, "1/cm^3"),
        tail_density=to_si(2e18, "1/cm^3"),
        tail_energy=0.013,
        deep_density=to_si(5e16, "1/cm^3"),
        deep_depth=0.4,
    )
    film = GatedFilm(
        states=states,
        thickness=to_si(25, "nm"),
        areal_capacitance=to_si(177, "nF/cm^2"),
        interface_states=to_si(6e11, "1/cm^2"),
    )
    held = GatedContact(
        specific_resistance=to_si(1e-3, "ohm*cm^2"),
        source_overlap=to_si(5, "um"),
        drain_overlap=to_si(5, "um"),
    )
    return FilmTransistor(
        width=to_si(50, "um"),
        length=to_si(10, "um"),
        film=film,
        offset=0.03,
        mobility=to_si(12, "cm^2/(V*s)"),
        contact=held if gated else None,
    )


def ours(made: FilmTransistor) -> tuple[float, float]:
    """Processor seconds for the table and for 5 × 101 and 2 × 201 points after it."""
    _tables.cache_clear()
    begin = time.process_time()
    table = charge_table(made.film, -13.0, 8.0)
    middle = time.process_time()
    film_current(made, np.linspace(0.0, 6.0, 5)[:, None], np.linspace(0.0, 6.0, 101)[None, :], table)
    film_current(made, np.linspace(-6.0, 6.0, 201)[:, None], np.array([0.1, 6.0]), table)
    return middle - begin, time.process_time() - middle


def peer_charge(made: FilmTransistor, drive: float) -> float:
    """Free charge at one drive by scipy's solver of boundary-value problems."""
    from scipy.integrate import solve_bvp

    film, fillings = made.film, fillings_of(made.film.states)
    permittivity = VACUUM_PERMITTIVITY * film.states.permittivity
    sheet = ELEMENTARY_CHARGE * film.interface_states

    def equation(_, y):
        every = fillings.every(y[0]).density
        return np.vstack((y[1], -ELEMENTARY_CHARGE * (film.states.donors - every) / permittivity))

    def ends(left, right):
        field = permittivity * left[1] + film.areal_capacitance * (drive - left[0]) - sheet * left[0]
        return np.array([field / film.areal_capacitance, right[1] * film.thickness])

    place = np.linspace(0.0, film.thickness, 64)
    guess = np.vstack((np.full(64, min(drive, 0.0)), np.zeros(64)))
    found = solve_bvp(equation, ends, place, guess, tol=1e-4, max_nodes=4000)
    unit = made.film.states.temperature * 8.617333262e-5
    free = film.states.density_of_states * fermi_integral(0.5, found.y[0] / unit)
    return ELEMENTARY_CHARGE * float(np.trapezoid(free, found.x))


def measure_ratio(repeats: int = 5) -> dict[str, float]:
    """Medians of processor seconds; the peer solves as many drives as a table of 125 from a few."""
    made = oxide_transistor()
    fillings_of(made.film.states)
    ours(made)
    rows = [ours(made) for _ in range(repeats)]
    plain = [ours(oxide_transistor(gated=False))[1] for _ in range(repeats)]
    begin = time.process_time()
    for drive in np.linspace(-2.0, 5.0, PEER_DRIVES):
        peer_charge(made, float(drive))
    each = (time.process_time() - begin) / PEER_DRIVES
    return {
        "table": float(np.median([row[0] for row in rows])),
        "family": float(np.median([row[1] for row in rows])),
        "family without contacts": float(np.median(plain)),
        "peer for each drive": each,
        "peer table": 125 * each,
    }


if __name__ == "__main__":
    print(json.dumps(measure_ratio(), indent=1))
