"""From numbers by name to a film transistor: the one place where a predicted transistor is put together."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from filmwright.device import (
    ChargeTable,
    FilmStates,
    FilmTransistor,
    GatedContact,
    GatedFilm,
    activated_mobility,
    donors_of,
    film_charge,
    gated_contact_resistance,
    neutral_level,
    stack_capacitance,
)
from filmwright.units import ELEMENTARY_CHARGE, ROOM_TEMPERATURE

STATES = (
    "effective density of states",
    "carrier density",
    "permittivity",
    "electron affinity",
    "mobility",
    "tail states",
    "tail energy",
    "deep states",
    "depth of deep states",
    "width of deep states",
    "interface trap density",
    "interface charge",
    "back surface charge",
    "mobility exponent",
    "mobility activation energy",
)
"""What must be on file of a semiconductor for a prediction from its states."""
GATE = "work function of the gate"
ELECTRONS = "electrons per area"
CONTACT, OVERLAPS = "specific contact resistance", ("overlap of the source", "overlap of the drain")
WIDTH, LENGTH, FILM = "width", "length", "thickness of the channel"


def permittivity_of(material: str) -> str:
    """Name under which the permittivity of an insulator goes."""
    return f"permittivity of {material}"


def thickness_of(place: int, material: str) -> str:
    """Name under which the thickness of an insulator goes; ``place`` counts from the lowest."""
    return f"thickness of {material}" + (f" ({place + 1})" if place else "")


def film_states(numbers: Mapping[str, float], temperature: float) -> FilmStates:
    """The states of the channel, with the donors that leave it its carriers.

    Parameters
    ----------
    numbers : mapping from property to float [SI]
    temperature : float [K]
    """
    energy = numbers["tail energy"]
    # The carriers on file hold at room temperature; the donors stay what they are when it is warmer.
    at_room = FilmStates(
        permittivity=numbers["permittivity"],
        density_of_states=numbers["effective density of states"],
        donors=0.0,
        tail_density=numbers["tail states"] * energy,
        tail_energy=energy / ELEMENTARY_CHARGE,
        deep_density=numbers["deep states"],
        deep_depth=numbers["depth of deep states"] / ELEMENTARY_CHARGE,
        deep_breadth=numbers["width of deep states"] / ELEMENTARY_CHARGE,
        temperature=ROOM_TEMPERATURE,
    )
    warmer = (temperature / ROOM_TEMPERATURE) ** 1.5
    return replace(
        at_room,
        donors=donors_of(at_room, numbers["carrier density"]),
        density_of_states=at_room.density_of_states * warmer,
        temperature=temperature,
    )


def film_transistor(
    numbers: Mapping[str, float],
    dielectrics: Sequence[str],
    temperature: float,
    tables: Callable[[GatedFilm], ChargeTable] | None = None,
) -> FilmTransistor:
    """The transistor that these numbers make, with gated contacts where their resistance and their overlaps are among them.

    Parameters
    ----------
    numbers : mapping from property to float [SI]
        Those of :data:`STATES`, of the gate and its insulators, and the sizes.
    dielectrics : sequence of material
        Lowest first.
    temperature : float [K]
    tables : callable or None
        From a film to its charge, where that is at hand; None solves for what is needed of it.
    """
    states = film_states(numbers, temperature)
    capacitance = stack_capacitance(
        [numbers[permittivity_of(material)] for material in dielectrics],
        [numbers[thickness_of(place, material)] for place, material in enumerate(dielectrics)],
    )
    film = GatedFilm(
        states=states,
        thickness=numbers[FILM],
        areal_capacitance=capacitance,
        interface_states=numbers["interface trap density"] * ELEMENTARY_CHARGE,
        interface_neutral=neutral_level(states),
        back_charge=numbers["back surface charge"] * ELEMENTARY_CHARGE,
    )
    barrier = (numbers[GATE] - numbers["electron affinity"]) / ELEMENTARY_CHARGE
    return FilmTransistor(
        width=numbers[WIDTH],
        length=numbers[LENGTH],
        film=film,
        offset=barrier - numbers["interface charge"] * ELEMENTARY_CHARGE / capacitance,
        mobility=free_mobility(film, numbers, temperature, tables(film) if tables is not None else None),
        mobility_exponent=numbers["mobility exponent"],
        reference=numbers[ELECTRONS],
        off_current=numbers["off current per width"] * numbers[WIDTH],
        **_contacts(numbers),
    )


def _contacts(numbers: Mapping[str, float]) -> dict[str, Any]:
    """Contacts over the gate where all is known of them, else one resistance."""
    if not all(numbers.get(name, 0.0) > 0 for name in (CONTACT, *OVERLAPS)):
        return {"contact_resistance": numbers["contact resistance"]}
    source, drain = (numbers[name] for name in OVERLAPS)
    return {
        "contact": GatedContact(
            specific_resistance=numbers[CONTACT], source_overlap=source, drain_overlap=drain
        )
    }


def contact_of_twin(transistor: FilmTransistor, numbers: Mapping[str, float]) -> float:
    """Width-normalised resistance of one contact at the electrons per area at which the mobility holds [Ω·m].

    Parameters
    ----------
    transistor : FilmTransistor
    numbers : mapping from property to float [SI]
    """
    if transistor.contact is None:
        return transistor.contact_resistance
    sheet = transistor.mobility * ELEMENTARY_CHARGE * numbers[ELECTRONS]
    made = transistor.contact
    ends = (made.source_overlap, made.drain_overlap)
    return sum(float(gated_contact_resistance(made.specific_resistance, sheet, end)) for end in ends) / 2.0


def free_mobility(
    film: GatedFilm, numbers: Mapping[str, float], temperature: float, table: ChargeTable | None = None
) -> float:
    """Mobility of the free electrons, so that the field-effect mobility on file comes out at its electrons per area.

    What is on file was measured as if every electron that the gate calls were free; here only the free ones move.

    Parameters
    ----------
    film : GatedFilm
    numbers : mapping from property to float [SI]
    temperature : float [K]
    table : ChargeTable or None
        Of the film, where it is at hand.
    """
    called = ELEMENTARY_CHARGE * numbers[ELECTRONS] / film.areal_capacitance
    if table is None:
        slope = float(film_charge(film, np.array([called])).free_slope[0])
    else:
        slope = float(table.free(called) * table.steepness(called))
    share = slope / film.areal_capacitance
    measured = activated_mobility(
        numbers["mobility"], numbers["mobility activation energy"], temperature, ROOM_TEMPERATURE
    )
    return measured / share
