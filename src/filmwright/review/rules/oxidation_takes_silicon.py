"""An oxidation of a wafer that carries something else than silicon and its own films."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding

_OWN = {
    "silicon",
    "polysilicon",
    "silicon dioxide",
    "silicon nitride",
    "stoichiometric silicon nitride",
    "silicon oxynitride",
}
"""What an oxidation tube takes in: silicon, and films of it that give nothing off."""


def check(case: Case) -> Iterator[Finding]:
    """Materials on front, back and rim before an oxidation, metals and organics apart: they have rules of their own."""
    for state in case.trace.states:
        if state.step.kind != "deposit" or not {"furnace", "oxygen"} <= case.method(state).families:
            continue
        body = case.flow.body.material
        foreign = sorted(
            name
            for name in _there(case, state)
            if name not in _OWN and case.kind(name) not in {"conductor", "organic"}
        )
        if body != "silicon" or foreign:
            yield finding(
                state,
                "stop",
                f"the wafer before {step_named(state)}",
                "silicon with its own oxide and nitride, front, back and rim",
                f"a wafer of {body}" if body not in _OWN else ", ".join(foreign),
                "the tube is kept for silicon: alkali, zinc, hydrogen and the like come out of other films at such heat and stay in "
                "the tube; only silicon turns into this oxide",
                "oxidise first and deposit after, or deposit the oxide from plasma or by atomic layers",
                "oxidation tubes are kept for clean silicon (common practice)",
            )


def _there(case: Case, state: State) -> frozenset[str]:
    place = case.places[id(state)]
    wafer = case.trace.states[place - 1].wafer if place else case.trace.start
    others = {layer.material for column in wafer.places.values() for layer in column.layers}
    return case.materials(wafer.plan) | others


RULE = Rule(
    name="oxidation without silicon",
    loses="an oxidation tube, for everybody",
    quantity="materials on front, back and rim before an oxidation",
    source="common practice",
    answers=("heat and chambers",),
    check=check,
)
