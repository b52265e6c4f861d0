"""Current of a gate through its insulator: over the flat parts and at the thinnest place that the sections show."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from filmwright.device import poole_frenkel_current, tunnelling_current
from filmwright.emulate.predict import Array, Prediction
from filmwright.emulate.predicted_film import GATE
from filmwright.emulate.sparing import Thinnest
from filmwright.knowledge import Book
from filmwright.sources import Value
from filmwright.units import ELEMENTARY_CHARGE, show
from filmwright.wafer import Device

_TRAPS = ("trap depth", "trap conductivity", "high-frequency permittivity")


@dataclass(frozen=True, kw_only=True)
class GateLeak:
    """The insulator of one gate as a way for current.

    Attributes
    ----------
    patches : tuple of (area [m²], thickness [m], part of the drain voltage)
        Source side, channel, drain side, and the strips at both gate edges.
    values : mapping from property to float [SI]
        Of the insulator.
    barriers : (float, float) [V]
        For electrons out of the channel and out of the gate.
    temperature : float [K]
    rests_on : mapping from property to Value
    words : str
        Where it is thinnest, for people.
    """

    patches: tuple[tuple[float, float, float], ...]
    values: Mapping[str, float]
    barriers: tuple[float, float]
    temperature: float
    rests_on: Mapping[str, Value]
    words: str

    def currents(self, gate_voltage: ArrayLike, drain_voltage: ArrayLike) -> Array:
        """Current into the gate [A] at voltages that broadcast with each other."""
        gate, drain = np.broadcast_arrays(np.asarray(gate_voltage, float), np.asarray(drain_voltage, float))
        total: Array = np.zeros(gate.shape)
        for area, thickness, part in self.patches:
            across = gate - part * drain
            density = self._density(np.abs(across) / thickness, across > 0, thickness)
            total += area * np.sign(across) * density
        return total

    def _density(self, field: Array, forward: NDArray[np.bool_], thickness: float) -> Array:
        found: Array = np.zeros(field.shape)
        if all(name in self.values for name in _TRAPS):
            depth = self.values["trap depth"] / ELEMENTARY_CHARGE
            hops = (self.values["trap conductivity"], depth, self.values["high-frequency permittivity"])
            found = found + poole_frenkel_current(field, *hops, self.temperature)
        if "tunnelling mass" in self.values:
            mass = self.values["tunnelling mass"]
            out_of_channel, out_of_gate = (
                tunnelling_current(field, barrier, mass, thickness) if barrier > 0 else np.zeros(field.shape)
                for barrier in self.barriers
            )
            found = found + np.where(forward, out_of_channel, out_of_gate)
        return found


def gate_leak(
    prediction: Prediction, device: Device, facts: Book, thin: Thinnest
) -> tuple[GateLeak | None, str]:
    """How the gate of a device leaks; None, and why, where the book or the stack does not allow to say.

    Parameters
    ----------
    prediction : Prediction
    device : Device
    facts : Book
    thin : Thinnest
        Over the sections of the trace.
    """
    if len(device.dielectric) != 1:
        return None, "the leakage of a gate insulator of more than one film is not predicted"
    material, thickness = device.dielectric[0]
    book = facts.material(material).values
    known = {name: book[name] for name in (*_TRAPS, "tunnelling mass", "electron affinity") if name in book}
    traps, tunnels = (
        all(name in known for name in _TRAPS),
        {"tunnelling mass", "electron affinity"} <= set(known),
    )
    if not traps and not tunnels:
        return None, f"what carries a current through {material} is not on file: its leakage is not known"
    values = {name: value.value for name, value in known.items()}
    affinity = values.get("electron affinity", 0.0)
    if not tunnels:
        values.pop("tunnelling mass", None)
    channel = prediction.numbers["electron affinity"] - affinity
    gate = prediction.numbers[GATE] - affinity
    narrow = thin.of(material)
    least, where = min((thickness, "over flat ground"), narrow or (thickness, "over flat ground"))
    return (
        GateLeak(
            patches=_patches(prediction, device, thickness, least),
            values=values,
            barriers=(channel / ELEMENTARY_CHARGE, gate / ELEMENTARY_CHARGE),
            temperature=prediction.temperature,
            rests_on=known,
            words=f"{material} {show(thickness, 'length')}, thinnest {show(least, 'length')} {where}"
            + ("" if thin.looked else "; edges were not looked at: it may be thinner there"),
        ),
        "",
    )


def _patches(
    prediction: Prediction, device: Device, thickness: float, least: float
) -> tuple[tuple[float, float, float], ...]:
    width, length = prediction.design.width, prediction.design.length
    found = [(width * length, thickness, 0.5)]
    for role, part in (("source", 0.0), ("drain", 1.0)):
        overlap = device.overlaps.get(role, 0.0)
        if overlap > 0:
            # The contact crosses the gate's edge along its width; the thin place is about as wide as the film is thick.
            found += [(width * overlap, thickness, part), (width * thickness, least, part)]
    return tuple(found)
