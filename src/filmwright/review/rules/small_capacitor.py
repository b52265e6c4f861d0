"""A capacitor that is lost in what cables and needles add."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.device import stack_capacitance
from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Capacitance of the largest capacitor of the die, from its area and its stack."""
    found: dict[str, float] = {}
    for device in case.trace.devices.capacitors if case.finished else ():
        if not device.name:
            continue
        stack = [
            (case.facts.material(name).values.get("permittivity"), depth) for name, depth in device.dielectric
        ]
        if stack and all(each is not None for each, _ in stack):
            areal = stack_capacitance(
                [each.value for each, _ in stack if each is not None], [depth for _, depth in stack]
            )
            found[device.name] = areal * device.area
    if not found:
        return
    largest = max(found, key=lambda name: found[name])
    if found[largest] < case.limit("least capacitance"):
        yield finding(
            case.last,
            "warn",
            "the largest capacitor of the die",
            f"at least {case.limit_text('least capacitance')}",
            f"{show(found[largest], 'capacitance')} ({largest})",
            "needles and cables add as much, and the areal capacitance that follows from it is theirs",
            "draw a larger plate, or several of different sizes and take the slope over area",
            case.limit_source("least capacitance"),
        )


RULE = Rule(
    name="capacitor too small to read",
    loses="the areal capacitance, and the mobility with it",
    quantity="permittivity × area / thickness of the largest capacitor",
    limits=("least capacitance",),
    source="strays of a probe station (common practice)",
    answers=("capacitance",),
    because_of=("expected devices",),
    check=check,
)
