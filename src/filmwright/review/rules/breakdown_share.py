"""A field near the breakdown of the insulator."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, percent
from filmwright.review.finding import Finding
from filmwright.review.rules.gate_field import probe_voltage


def check(case: Case) -> Iterator[Finding]:
    """Highest probe voltage over the insulator's thickness and breakdown field, for each device."""
    voltage, line = probe_voltage(case)
    if voltage is None or not case.finished:
        return
    found: list[tuple[float, str, str]] = []
    for device in (*case.trace.devices.transistors, *case.trace.devices.capacitors):
        strength = [
            (name, depth, case.facts.material(name).values.get("breakdown field"))
            for name, depth in device.dielectric
        ]
        if strength and all(each is not None for *_, each in strength):
            holds = sum(depth * each.value for _, depth, each in strength if each is not None)
            found.append((voltage / holds, device.name or device.kind, strength[0][0]))
    if not found:
        return
    share, name, material = max(found)
    if share > case.limit("breakdown share"):
        yield finding(
            case.last,
            "warn",
            "the field in the gate insulator",
            f"at most {case.limit_text('breakdown share')} of what breaks it down",
            f"{percent(share)} at {name} ({voltage:g} V over {material})",
            "weak spots break down at half the field of the film",
            "lower the voltage or thicken the insulator; try one device that may be lost first",
            case.limit_source("breakdown share"),
            line=line,
        )


RULE = Rule(
    name="breakdown share",
    loses="the insulator, device by device",
    quantity="highest probe voltage / Σ thickness × breakdown field",
    limits=("breakdown share",),
    source="breakdown fields of the materials, each with its source",
    answers=("gate edge",),
    check=check,
)
