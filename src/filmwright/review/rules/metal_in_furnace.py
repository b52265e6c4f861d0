"""Metal in a furnace tube."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Conductors anywhere on the wafer, back and rim included, before a furnace step."""
    for state in case.trace.states:
        if state.step.kind != "deposit" or "furnace" not in case.method(state).families:
            continue
        place = case.places[id(state)]
        wafer = case.trace.states[place - 1].wafer if place else case.trace.start
        there = case.materials(wafer.plan) | {
            layer.material for column in wafer.places.values() for layer in column.layers
        }
        metals = sorted(name for name in there if case.kind(name) == "conductor")
        if metals:
            yield finding(
                state,
                "stop",
                f"the wafer before {step_named(state)}",
                "free of metals, also on back and rim",
                ", ".join(metals),
                "metal diffuses into the tube and into everybody's next wafer, covered or not",
                "move this step before the first metal, or use a plasma or atomic layer process",
                "furnaces are kept free of metals (common practice)",
            )


RULE = Rule(
    name="metal in furnace",
    loses="a furnace, for everybody",
    quantity="conductors on front, back and rim before a furnace step",
    source="common practice",
    answers=("heat and chambers",),
    check=check,
)
