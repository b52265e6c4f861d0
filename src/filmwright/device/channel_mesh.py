"""A channel cut along its length: columns across film and insulator, with the contacts on one face of the film."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from filmwright.device.checks import Array, above_zero, at_least_one, not_negative, numbers
from filmwright.device.electrostatics import GatedFilm
from filmwright.device.states import FilmStates
from filmwright.units import VACUUM_PERMITTIVITY

Face = Literal["near", "far"]


@dataclass(frozen=True, kw_only=True)
class ChannelSection:
    """The film of a transistor along its channel, unrolled: a film that follows a step is laid flat, its thickness kept.

    Attributes
    ----------
    along : array (columns) [m]
        Places of the columns, rising.
    film, insulator : array (columns) [m]
        Thickness of film and of gate insulator there. Above 0.
    insulator_permittivity : float
        Relative. At least 1.
    states : FilmStates
    source_ends, drain_begins : float [m]
        The source contact covers the columns up to the first, the drain contact those from the second.
    contacts : "near" or "far"
        The face of the film that they lie on: that of the gate insulator, or the other.
    contact_level : float [V]
        Fermi level of a contact above the band edge of the film, over q: negative by the barrier.
    contact_resistivity : float [Ω·m²]
        Of the interface, which the current must cross on its way into the metal. At least 0.
    mobility : float [m²/(V·s)]
        At ``reference`` free electrons per area. Above 0.
    mobility_exponent : float
        Power with which it follows the free electrons per area of each column. At least 0.
    reference : float [1/m²]
        Above 0.
    interface_states : float [1/(m²·V)]
    interface_neutral : float [V]
    back_charge : float [C/m²]
        Fixed, on the face that looks away from the gate.
    """

    along: Array
    film: Array
    insulator: Array
    insulator_permittivity: float
    states: FilmStates
    source_ends: float
    drain_begins: float
    contacts: Face = "far"
    contact_level: float = 0.0
    contact_resistivity: float = 0.0
    mobility: float = 1e-3
    mobility_exponent: float = 0.0
    reference: float = 1e16
    interface_states: float = 0.0
    interface_neutral: float = 0.0
    back_charge: float = 0.0

    def __post_init__(self) -> None:
        above_zero(film=self.film, insulator=self.insulator, mobility=self.mobility)
        above_zero(reference=self.reference)
        at_least_one(insulator_permittivity=self.insulator_permittivity)
        not_negative(
            interface_states=self.interface_states,
            mobility_exponent=self.mobility_exponent,
            contact_resistivity=self.contact_resistivity,
        )
        columns = len(self.along)
        if columns < 3 or np.any(np.diff(self.along) <= 0):
            raise ValueError("along must rise and have at least 3 columns")
        if self.film.shape != (columns,) or self.insulator.shape != (columns,):
            raise ValueError(f"film and insulator must have a thickness for each of the {columns} columns")
        if not self.along[0] <= self.source_ends < self.drain_begins <= self.along[-1]:
            raise ValueError("source_ends must lie before drain_begins, both within the columns")
        if self.contacts not in ("near", "far"):
            raise ValueError(f'contacts must be "near" or "far", got {self.contacts!r}')


def even_section(
    *,
    length: float,
    overlap: float,
    film: GatedFilm,
    insulator: float,
    columns: int = 240,
    **more: float | str,
) -> ChannelSection:
    """A section of even thickness with two equal contacts, its columns closest together where the contacts end.

    Parameters
    ----------
    length : float [m]
        Between the contacts. Valid range: above 0.
    overlap : float [m]
        Of gate and film with each contact. Valid range: above 0.
    film : GatedFilm
        Its capacitance and the insulator's thickness give the permittivity.
    insulator : float [m]
        Thickness. Valid range: above 0, thick enough for a permittivity of at least 1.
    columns : int
        In all. Valid range: at least 12.
    more : float or str
        Further attributes of :class:`ChannelSection`.

    Returns
    -------
    ChannelSection

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    Gaps that grow by one factor away from the places of steepest change (common practice).
    """
    above_zero(length=length, overlap=overlap, insulator=insulator)
    if columns < 12:
        raise ValueError(f"columns must be at least 12, got {columns}")
    finest = min(film.thickness, insulator, length / 20, overlap / 5) / 4
    beneath = max(columns // 6, 3)
    part = overlap * (1.0 - _growing(beneath, finest / overlap)[::-1])
    inner = columns - 2 * beneath
    half = _growing(inner // 2 + 1, finest / (length / 2)) * (length / 2)
    channel = np.concatenate((half[:-1], length - half[::-1]))
    along = np.concatenate((part[:-1], overlap + channel, 2 * overlap + length - part[:-1][::-1]))
    flat = np.ones(len(along))
    return ChannelSection(
        along=along,
        film=film.thickness * flat,
        insulator=insulator * flat,
        insulator_permittivity=film.areal_capacitance * insulator / VACUUM_PERMITTIVITY,
        states=film.states,
        interface_states=film.interface_states,
        interface_neutral=film.interface_neutral,
        back_charge=film.back_charge,
        source_ends=overlap,
        drain_begins=overlap + length,
        **more,  # type: ignore[arg-type]
    )


def _growing(points: int, first: float) -> Array:
    """Places from 0 to 1 whose gaps grow by one factor, the first of them as given (or even ones where that is wider)."""
    even = 1.0 / (points - 1)
    if first >= even:
        return np.linspace(0.0, 1.0, points)
    # The last gap is never wider than the whole, which bounds the factor.
    low, high = 1.0, (1.0 / first) ** (1.0 / max(points - 2, 1))
    for _ in range(100):
        ratio = (low + high) / 2
        reached = first * float(np.sum(ratio ** np.arange(points - 1)))
        low, high = (ratio, high) if reached < 1.0 else (low, ratio)
    places = np.concatenate(([0.0], np.cumsum(first * low ** np.arange(points - 1))))
    result: Array = numbers(places / places[-1])
    return result
