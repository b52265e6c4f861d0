"""Voltages that spare the insulators of a die, at the thinnest place that any section of it shows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from filmwright.emulate.exposed import of_limit
from filmwright.emulate.follows import chosen, follows
from filmwright.emulate.trace import Trace
from filmwright.knowledge import Book
from filmwright.process import SPARING_VOLTAGE, Input, Setting, sparing_voltage
from filmwright.wafer import Device, Section


def sparing(trace: Trace, facts: Book) -> tuple[Setting, ...]:
    """For each device with an insulator of known breakdown field the voltage that spares it.

    Parameters
    ----------
    trace : Trace
    facts : Book
    """
    spread = {
        each.step.material: (each.thickness_std or 0.0) / each.thickness
        for each in trace.states
        if each.step.kind == "deposit" and each.thickness
    }
    thin = Thinnest(trace)
    stacks: dict[object, Device] = {}
    for device in (*trace.devices.transistors, *trace.devices.capacitors):
        stacks.setdefault(device.dielectric, device)
    found = (_of(device, trace, facts, spread, thin) for device in stacks.values())
    return tuple(each for each in found if each is not None)


class Thinnest:
    """The thinnest places of films over all sections of a trace: along the cut and across the edges."""

    def __init__(self, trace: Trace) -> None:
        self._trace = trace
        self._sections: list[tuple[str, Section]] = [
            (
                f"at an edge near ({seen.kind.place[0] / 1000:.0f}, {seen.kind.place[1] / 1000:.0f}) µm",
                seen.section,
            )
            for seen in trace.edges.seen
        ]
        if trace.final.section is not None:
            self._sections.append(("on the cut", trace.final.section))
        self._known: dict[str, tuple[float, str] | None] = {}

    def of(self, material: str) -> tuple[float, str] | None:
        """Thickness [m] and where; None where no section shows the material between two others."""
        if material not in self._known:
            films = {
                layer.film
                for column in self._trace.final.plan.columns
                for layer in column.layers
                if layer.material == material
            }
            found = [
                (thin.thickness, where)
                for where, section in self._sections
                for film in sorted(films)
                if (thin := section.thinnest(film)) is not None and thin.thickness > 0
            ]
            self._known[material] = min(found, default=None)
        return self._known[material]

    @property
    def looked(self) -> bool:
        """Whether any section was walked."""
        return bool(self._sections)


def _of(
    device: Device, trace: Trace, facts: Book, spread: Mapping[str, float], thin: Thinnest
) -> Setting | None:
    films = [
        (name, depth, facts.material(name).values.get("breakdown field")) for name, depth in device.dielectric
    ]
    if not films or any(field is None for *_, field in films):
        return None
    inputs = {"share": of_limit(trace.lab, "s", "share of the breakdown field", "breakdown share")}
    for k, (name, depth, field) in enumerate(films):
        # Of two films the thinnest places need not lie over each other, so only a film alone is taken at its own.
        narrow = thin.of(name) if len(films) == 1 else None
        least, where = min((depth, "over flat ground"), narrow or (depth, "over flat ground"))
        symbol = "" if len(films) == 1 else f"_{k + 1}"
        given = chosen(f"d{symbol}", f"{name}, {where}", least, "nm", "the emulated wafer")
        inputs[f"d{k}"] = replace(given, std=least * spread.get(name, 0.0))
        if field is not None:
            inputs[f"e{k}"] = Input.known(f"E{symbol}", f"breakdown field of {name}", field)
    count = range(len(films))
    series = "s·E·d" if len(films) == 1 else "s·(" + " + ".join(f"E_{k + 1}·d_{k + 1}" for k in count) + ")"
    derived = replace(SPARING_VOLTAGE, equation=f"V = {series}").derive(
        lambda share, **each: sparing_voltage(
            share, [each[f"d{k}"] for k in count], [each[f"e{k}"] for k in count]
        ),
        inputs,
        unit="V",
        notes=(
            f"weakest: {device.name or device.kind}",
            *(() if thin.looked else ("edges were not looked at here: an insulator may be thinner there",)),
        ),
    )
    return follows("voltage that spares the insulator", derived)
