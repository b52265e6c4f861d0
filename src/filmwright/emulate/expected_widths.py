"""Width of a line or gap as made, beside the width that was drawn."""

from __future__ import annotations

import math
from dataclasses import replace

from filmwright.emulate.drawn_sizes import DrawnEdges, drawn_size
from filmwright.emulate.expected_readings import Expected
from filmwright.emulate.follows import chosen, follows
from filmwright.emulate.spots import Spot, point_of
from filmwright.process import LINE_WIDTH, Input
from filmwright.wafer import Device


def line_width(spot: Spot) -> Expected:
    """The shortest channel or gap that the level draws, as drawn and as made; else the bias of the resist alone."""
    level = spot.step.material
    found = _shortest(spot, level)
    bias = _bias(spot, level)
    if found is None:
        if bias is None:
            return Expected(
                words=("no print bias on file: write the drawn width beside the one that is read",)
            )
        said = f"edges of {level or 'the resist'} stand {bias.shown} {bias.spread} outside the drawn ones (above zero: resist wider)"
        return Expected(words=(said,))
    device, drawn, made = found
    inputs = {
        "drawn": chosen("w_0", f"{device.name or device.kind}, as drawn", drawn, "um", "the drawing"),
        "bias": replace(
            chosen(
                "b", "bias of one edge, all steps together", (made - drawn) / 2, "um", "the emulated wafer"
            ),
            std=bias.std if bias is not None else 0.0,
        ),
    }
    error = spot.error(made)
    derived = LINE_WIDTH.derive(
        lambda drawn, bias, error=0.0: drawn + 2 * bias + error,
        inputs | ({"error": error} if error is not None else {}),
        unit="um",
        notes=("as the finished wafer has it",),
    )
    name = device.name or device.kind
    return Expected(
        numbers=(follows("line width", derived),),
        place=f"{name} {point_of(device.place)}, drawn {inputs['drawn'].shown}: the shortest that the level draws",
    )


def _shortest(spot: Spot, level: str) -> tuple[Device, float, float] | None:
    """The named device, else the shortest, with its length as drawn on the level and as made [m]."""
    mask = spot.trace.flow.masks.get(level)
    if spot.drawing is None or mask is None:
        return None
    edges = DrawnEdges([spot.drawing.region((mask.layer, mask.datatype))])
    devices = [spot.device] if spot.device is not None else list(spot.trace.devices.found)
    found = []
    for device in sorted((each for each in devices if each.length), key=lambda each: each.length or math.inf):
        drawn = drawn_size(device, edges)[1]
        if drawn and device.length:
            found.append((device, drawn, device.length))
            break
    return found[0] if found else None


def _bias(spot: Spot, level: str) -> Input | None:
    """How far the resist of the level prints beyond its drawn edges."""
    resists = [
        s.step.resist
        for s in spot.trace.states[: spot.at]
        if s.step.kind == "develop" and (not level or s.step.mask == level)
    ]
    if not resists:
        return None
    known = spot.facts.resist(resists[-1]).values.get("print bias")
    return None if known is None else Input.known("b", f"print bias of {resists[-1]}", known)
