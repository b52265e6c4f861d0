"""Dimensions and materials read off the wafer → a transistor whose current can be computed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from numpy import float64
from numpy.typing import ArrayLike, NDArray

from filmwright.device import (
    ChargeTable,
    FilmTransistor,
    GatedFilm,
    TransistorDesign,
    compact_twin,
    drain_current,
    fermi_depth,
    film_current,
    flat_band_voltage,
    fringe_width,
    full_depletion_voltage,
    ideality_from_swing,
    stack_capacitance,
)
from filmwright.emulate.predicted_film import (
    CONTACT,
    ELECTRONS,
    FILM,
    GATE,
    LENGTH,
    OVERLAPS,
    STATES,
    WIDTH,
    contact_of_twin,
    film_transistor,
    permittivity_of,
    thickness_of,
)
from filmwright.emulate.trace import Trace
from filmwright.knowledge import Book
from filmwright.sources import Value
from filmwright.units import ROOM_TEMPERATURE, show
from filmwright.wafer import Device

Array = NDArray[float64]

_ALWAYS = ("contact resistance", "off current per width")
_COMPACT = (
    "mobility",
    "carrier density",
    "effective density of states",
    "electron affinity",
    "permittivity",
    "subthreshold swing",
    *_ALWAYS,
)


@dataclass(frozen=True, kw_only=True)
class Prediction:
    """A transistor by what it is made of, with the values that it rests on.

    Attributes
    ----------
    name : str
        Of the device.
    design : TransistorDesign
        The compact transistor: the twin of ``transistor``, or all there is where the states of the channel are not on file.
    rests_on : mapping from property to Value
        Of channel, gate and dielectric.
    transistor : FilmTransistor or None
        From the states of its film; None where they are not on file.
    numbers : mapping from property or size to float [SI]
        What it was put together from.
    dielectrics : tuple of material
        Lowest first.
    temperature : float [K]
    notes : tuple of str
        What whoever reads its curves must know.
    """

    name: str
    design: TransistorDesign
    rests_on: Mapping[str, Value]
    transistor: FilmTransistor | None = None
    numbers: Mapping[str, float]
    dielectrics: tuple[str, ...] = ()
    temperature: float = ROOM_TEMPERATURE
    notes: tuple[str, ...] = ()

    def currents(self, gate_voltage: ArrayLike, drain_voltage: ArrayLike) -> Array:
        """Current into the drain [A] at gate and drain voltages [V] that broadcast with each other."""
        if self.transistor is None:
            return drain_current(self.design, gate_voltage, drain_voltage)
        return film_current(self.transistor, gate_voltage, drain_voltage)


def predict(
    device: Device, facts: Book, gate: str, temperature: float = ROOM_TEMPERATURE
) -> Prediction | None:
    """The transistor that was read off the wafer; None where a value that it needs is not on file.

    Parameters
    ----------
    device : Device
        A transistor with width, length [m], dielectric and semiconductor as made.
    facts : Book
    gate : str
        Material of the gate.
    temperature : float [K]
    """
    if not device.dielectric or not device.semiconductor or not device.width or not device.length:
        return None
    dielectrics = tuple(material for material, _ in device.dielectric)
    rests = _values(facts, device, gate, (*STATES, *_ALWAYS))
    if rests is None:
        return _compact(device, facts, gate, temperature)
    numbers = {name: value.value for name, value in rests.items()} | _sizes(device)
    transistor, design = _solved(tuple(sorted(numbers.items())), dielectrics, temperature)
    return Prediction(
        name=device.name,
        design=design,
        rests_on=rests,
        transistor=transistor,
        numbers=numbers,
        dielectrics=dielectrics,
        temperature=temperature,
        notes=(*_contacts_told(transistor, device), *_told(device)),
    )


@lru_cache(maxsize=256)
def _solved(
    numbers: tuple[tuple[str, float], ...], dielectrics: tuple[str, ...], temperature: float
) -> tuple[FilmTransistor, TransistorDesign]:
    """The transistor of these numbers and its compact twin; a drawing repeats its devices, so each is solved once."""
    known = dict(numbers)
    made = film_transistor(known, dielectrics, temperature)
    return made, compact_twin(made, known[ELECTRONS], contact_of_twin(made, known))


def assembled(
    prediction: Prediction,
    numbers: Mapping[str, float],
    tables: Callable[[GatedFilm], ChargeTable] | None = None,
) -> FilmTransistor:
    """The transistor of a prediction, put together from other numbers.

    Parameters
    ----------
    prediction : Prediction
    numbers : mapping from property or size to float [SI]
    tables : callable or None
        From a film to its charge, where that is at hand.
    """
    return film_transistor(numbers, prediction.dielectrics, prediction.temperature, tables)


def _contacts_told(transistor: FilmTransistor, device: Device) -> tuple[str, ...]:
    if transistor.contact is not None:
        return ()
    return (
        "contacts have the resistance on file whatever the gate does: "
        + (
            "they do not lie over the gate"
            if min(device.overlaps.values(), default=0.0) <= 0
            else "no specific one is on file"
        ),
    )


def _told(device: Device) -> tuple[str, ...]:
    """What of the device itself the model simplifies."""
    added = _fringe(device)
    if not added:
        return _layers(device)
    said = f"semiconductor beside the contacts is taken as {show(added, 'length')} more of width, an estimate good to a third"
    return (said, *_layers(device))


def _fringe(device: Device) -> float:
    """Width that semiconductor beside the contacts adds [m]."""
    if not (device.fringe and device.width and device.length):
        return 0.0
    overhang = max(device.area / device.length - device.width, 0.0) / 2.0
    return float(fringe_width(device.length, overhang))


def _layers(device: Device) -> tuple[str, ...]:
    if len(device.semiconductor) < 2:
        return ()
    first, *others = (material for material, _ in device.semiconductor)
    return (
        f"the channel has more than one film: all of it is taken as {first}, without {' and '.join(others)}",
    )


def _compact(device: Device, facts: Book, gate: str, temperature: float) -> Prediction | None:
    """By swing and carriers on file alone, where the states of the film are not known."""
    rests = _values(facts, device, gate, _COMPACT)
    if rests is None:
        return None
    numbers = {name: value.value for name, value in rests.items()} | _sizes(device)
    capacitance = stack_capacitance(
        [rests[permittivity_of(material)].value for material, _ in device.dielectric],
        [depth for _, depth in device.dielectric],
    )
    carriers = numbers["carrier density"]
    depth = fermi_depth(numbers["effective density of states"], carriers, temperature)
    flat = flat_band_voltage(numbers[GATE], numbers["electron affinity"], depth)
    design = TransistorDesign(
        width=numbers[WIDTH],
        length=numbers[LENGTH],
        areal_capacitance=capacitance,
        mobility=numbers["mobility"],
        threshold_voltage=full_depletion_voltage(
            flat, carriers, numbers[FILM], numbers["permittivity"], capacitance
        ),
        ideality=float(ideality_from_swing(numbers["subthreshold swing"], ROOM_TEMPERATURE)),
        contact_resistance=numbers["contact resistance"],
        off_current=numbers["off current per width"] * numbers[WIDTH],
        temperature=temperature,
    )
    missing = [name for name in STATES if name not in facts.material(device.semiconductor[0][0]).values]
    return Prediction(
        name=device.name,
        design=design,
        rests_on=rests,
        numbers=numbers,
        dielectrics=tuple(material for material, _ in device.dielectric),
        temperature=temperature,
        notes=(
            f"predicted by the swing and the carriers on file, not by the states of the film: of {device.semiconductor[0][0]} "
            f"there is no {', '.join(missing)} on file",
            *_told(device),
        ),
    )


def _sizes(device: Device) -> dict[str, float]:
    sizes = {
        thickness_of(place, material): depth for place, (material, depth) in enumerate(device.dielectric)
    }
    overlaps = {
        name: device.overlaps.get(role, 0.0) for name, role in zip(OVERLAPS, ("source", "drain"), strict=True)
    }
    return (
        sizes
        | overlaps
        | {
            WIDTH: (device.width or 0.0) + _fringe(device),
            LENGTH: device.length or 0.0,
            FILM: sum(depth for _, depth in device.semiconductor),
        }
    )


def _values(facts: Book, device: Device, gate: str, asked: tuple[str, ...]) -> dict[str, Value] | None:
    channel, electrode = facts.material(device.semiconductor[0][0]).values, facts.material(gate).values
    found = {name: channel.get(name) for name in asked}
    found[ELECTRONS] = facts.models["prediction"][ELECTRONS]
    found[GATE] = electrode.get("work function")
    if CONTACT in channel and STATES[-1] in asked:
        found[CONTACT] = channel[CONTACT]
    for material, _ in device.dielectric:
        found[permittivity_of(material)] = facts.material(material).values.get("permittivity")
    rests = {name: value for name, value in found.items() if value is not None}
    return rests if len(rests) == len(found) else None


def gate_of(trace: Trace, device: Device) -> str:
    """Material of a transistor's gate: the conductor on the far side of its insulator; empty when there is none."""
    column = trace.final.plan.column_at(*device.place)
    if column is None or not device.dielectric:
        return ""
    materials = [layer.material for layer in column.layers]
    first, last = device.dielectric[0][0], device.dielectric[-1][0]
    if device.gate_above:
        place = len(materials) - materials[::-1].index(last)
        return materials[place] if place < len(materials) else ""
    return materials[materials.index(first) - 1]
