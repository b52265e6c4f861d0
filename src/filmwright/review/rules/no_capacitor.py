"""Transistors without a capacitor beside them."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Capacitors with the insulator of the transistors; without one the areal capacitance is a guess."""
    stacks = {
        tuple(name for name, _ in device.dielectric) for device in case.transistors if device.dielectric
    }
    stacked = [tuple(name for name, _ in device.dielectric) for device in case.trace.devices.capacitors]
    beside = set(stacked)
    alone = sorted(stacks - beside)
    if alone and case.finished:
        yield finding(
            case.last,
            "note",
            "a capacitor with the insulator of the transistors",
            "at least one on the die",
            f"none of {' on '.join(alone[0])}{_others(stacked)}",
            "permittivity and thickness are results: mobility from the book's capacitance inherits their error",
            "draw a capacitor of gate, insulator and contact metal",
            "areal capacitance is measured on the same wafer (common practice)",
        )


def _others(stacked: list[tuple[str, ...]]) -> str:
    """What the capacitors that there are contain instead."""
    counts = {stack: stacked.count(stack) for stack in sorted(set(stacked))}
    return "".join(f"; {count} of {' on '.join(stack)}" for stack, count in counts.items())


RULE = Rule(
    name="no capacitor beside",
    loses="the mobility",
    quantity="capacitors with the stack of the gate insulator",
    source="common practice",
    answers=("capacitance",),
    check=check,
)
