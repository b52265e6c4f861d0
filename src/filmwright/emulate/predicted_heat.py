"""How much a channel warms: the films beneath it down to the wafer, as the emulated die has them."""

from __future__ import annotations

from dataclasses import dataclass

from filmwright.device import thermal_resistance
from filmwright.emulate.predict import Prediction
from filmwright.emulate.trace import Trace
from filmwright.knowledge import Book
from filmwright.wafer import Device

_HEAT = "thermal conductivity"


@dataclass(frozen=True, kw_only=True)
class Warming:
    """The way of the heat out of a channel.

    Attributes
    ----------
    resistance : float or None [K/W]
        None where a film on the way has no thermal conductivity on file.
    words : str
        The films on the way, or what is missing.
    """

    resistance: float | None
    words: str


def warming(prediction: Prediction, device: Device, trace: Trace, facts: Book) -> Warming:
    """The thermal resistance between channel and wafer, metals taken as perfect.

    Parameters
    ----------
    prediction : Prediction
    device : Device
    trace : Trace
    facts : Book
    """
    column = trace.final.plan.column_at(*device.place)
    if column is None:
        return Warming(resistance=None, words="the films beneath the channel were not found")
    materials = [layer.material for layer in column.layers]
    channel = device.semiconductor[0][0]
    films = column.layers[1 : materials.index(channel)] if channel in materials else ()
    known, missing = [], []
    for layer in films:
        thing = facts.material(layer.material)
        value = thing.values.get(_HEAT)
        if value is not None:
            known.append((layer, value.value))
        elif thing.kind != "conductor":
            missing.append(layer.material)
    body = facts.material(materials[0]).values.get(_HEAT)
    if missing or body is None:
        lost = ", ".join(missing) or materials[0]
        return Warming(resistance=None, words=f"the thermal conductivity of {lost} is not on file")
    resistance = thermal_resistance(
        prediction.design.width,
        prediction.design.length,
        [layer.thickness for layer, _ in known],
        [value for _, value in known],
        body.value,
    )
    return Warming(
        resistance=resistance, words=", ".join([layer.material for layer in films] + [materials[0]])
    )
