"""Every device of the finished die with its place, nets, sizes and areal capacitance, ready to be listed."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from filmwright.device import stack_capacitance
from filmwright.emulate.drawn_sizes import DrawnEdges, drawn_size
from filmwright.emulate.trace import Trace
from filmwright.knowledge import Book
from filmwright.masks import Drawing
from filmwright.wafer import Device

Stack = tuple[tuple[str, float], ...]


@dataclass(frozen=True, kw_only=True)
class Capacitance:
    """An areal capacitance.

    Attributes
    ----------
    value, std : float [F/m²]
        The deviation joins permittivities and thicknesses, taken as independent.
    rests_on : tuple of str
        The permittivities with their sources.
    """

    value: float
    std: float
    rests_on: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Listed:
    """One device of the die.

    Attributes
    ----------
    name : str
        Its own, or its kind and a number where it has none.
    device : Device
    labels : mapping from role to tuple of str
        Every terminal name on the net of a role.
    drawn_width, drawn_length : float or None [m]
        Between the edges of the masks.
    capacitance : Capacitance or None
        Of its dielectric; None without one, or where a permittivity is not on file.
    """

    name: str
    device: Device
    labels: Mapping[str, tuple[str, ...]]
    drawn_width: float | None = None
    drawn_length: float | None = None
    capacitance: Capacitance | None = None


def list_devices(trace: Trace, facts: Book, drawing: Drawing | None) -> tuple[Listed, ...]:
    """Every device of a walked flow, in the order of its devices.

    Parameters
    ----------
    trace : Trace
    facts : Book
        Permittivities.
    drawing : Drawing or None
        Without one no size as drawn is known.
    """
    edges = None
    if drawing is not None:
        numbers = [(level.layer, level.datatype) for level in trace.flow.masks.values()]
        edges = DrawnEdges(drawing.region(number) for number in numbers)
    labels = {net.number: net.labels for net in trace.nets.nets}
    spreads = _thickness_spreads(trace)
    capacitances: dict[Stack, Capacitance | None] = {}
    unnamed: Counter[str] = Counter()
    found = []
    for device in trace.devices.found:
        if not device.name:
            unnamed[device.kind] += 1
        if device.dielectric not in capacitances:
            capacitances[device.dielectric] = _capacitance(device.dielectric, facts, spreads)
        width, length = drawn_size(device, edges) if edges is not None else (None, None)
        found.append(
            Listed(
                name=device.name or f"{device.kind} {unnamed[device.kind]}",
                device=device,
                labels={role: labels.get(net, ()) for role, net in device.nets.items()},
                drawn_width=width,
                drawn_length=length,
                capacitance=capacitances[device.dielectric],
            )
        )
    return tuple(found)


def _thickness_spreads(trace: Trace) -> dict[str, float]:
    """Material → relative standard deviation of the thickness of the last film of it that was put down."""
    return {
        state.step.material: state.thickness_std / state.thickness
        for state in trace.states
        if state.thickness and state.thickness_std is not None and state.step.kind == "deposit"
    }


def _capacitance(stack: Stack, facts: Book, spreads: Mapping[str, float]) -> Capacitance | None:
    """ε₀ over the sum of d/ε, with the relative spreads of each film weighed by its share of that sum."""
    values = [facts.material(material).values.get("permittivity") for material, _ in stack]
    known = [value for value in values if value is not None]
    if not stack or len(known) < len(values):
        return None
    value = stack_capacitance([each.value for each in known], [depth for _, depth in stack])
    parts = [depth / each.value for each, (_, depth) in zip(known, stack, strict=True)]
    relative = math.sqrt(
        sum(
            (part / sum(parts)) ** 2 * (each.relative_std**2 + spreads.get(material, 0.0) ** 2)
            for part, each, (material, _) in zip(parts, known, stack, strict=True)
        )
    )
    rests = dict.fromkeys(
        f"permittivity of {material} {each.value:g} ± {each.std:.2g}: {each.source}"
        for each, (material, _) in zip(known, stack, strict=True)
    )
    return Capacitance(value=value, std=value * relative, rests_on=tuple(rests))
