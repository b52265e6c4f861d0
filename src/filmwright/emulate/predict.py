"""Dimensions and materials read off the wafer → a transistor whose current can be computed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from filmwright.device import (
    TransistorDesign,
    fermi_depth,
    flat_band_voltage,
    full_depletion_voltage,
    ideality_from_swing,
    stack_capacitance,
)
from filmwright.emulate.trace import Trace
from filmwright.knowledge import Book
from filmwright.sources import Value
from filmwright.units import ROOM_TEMPERATURE
from filmwright.wafer import Device

_CHANNEL = (
    "mobility",
    "carrier density",
    "effective density of states",
    "electron affinity",
    "permittivity",
    "subthreshold swing",
    "contact resistance",
    "off current per width",
)


@dataclass(frozen=True, kw_only=True)
class Prediction:
    """A design with the shipped values that it rests on.

    Attributes
    ----------
    name : str
        Of the device.
    design : TransistorDesign
    rests_on : mapping from property to Value
        Of channel, gate and dielectric.
    """

    name: str
    design: TransistorDesign
    rests_on: Mapping[str, Value]


def predict(device: Device, facts: Book, gate: str) -> Prediction | None:
    """The design of a transistor read off the wafer; None where a value that it needs is not on file.

    Parameters
    ----------
    device : Device
        A transistor with width, length [m], dielectric and semiconductor as made.
    facts : Book
    gate : str
        Material of the gate.
    """
    if not device.dielectric or not device.semiconductor or not device.width or not device.length:
        return None
    film, thickness = device.semiconductor[0]
    rests = _values(facts, film, gate, [material for material, _ in device.dielectric])
    if rests is None:
        return None
    capacitance = stack_capacitance(
        [rests[f"permittivity of {material}"].value for material, _ in device.dielectric],
        [depth for _, depth in device.dielectric],
    )
    carriers = rests["carrier density"].value
    depth = fermi_depth(rests["effective density of states"].value, carriers, ROOM_TEMPERATURE)
    flat = flat_band_voltage(
        rests["work function of the gate"].value, rests["electron affinity"].value, depth
    )
    design = TransistorDesign(
        width=device.width,
        length=device.length,
        areal_capacitance=capacitance,
        mobility=rests["mobility"].value,
        threshold_voltage=full_depletion_voltage(
            flat, carriers, thickness, rests["permittivity"].value, capacitance
        ),
        ideality=float(ideality_from_swing(rests["subthreshold swing"].value, ROOM_TEMPERATURE)),
        contact_resistance=rests["contact resistance"].value,
        off_current=rests["off current per width"].value * device.width,
    )
    return Prediction(name=device.name, design=design, rests_on=rests)


def _values(facts: Book, film: str, gate: str, dielectrics: list[str]) -> dict[str, Value] | None:
    channel, electrode = facts.material(film).values, facts.material(gate).values
    found = {name: channel.get(name) for name in _CHANNEL}
    found["work function of the gate"] = electrode.get("work function")
    for material in dielectrics:
        found[f"permittivity of {material}"] = facts.material(material).values.get("permittivity")
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
