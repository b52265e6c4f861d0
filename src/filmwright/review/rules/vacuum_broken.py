"""A noble metal on an adhesion layer that has seen air."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import adds_before
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Steps, and time where the record has it, between an adhesion layer and its noble metal."""
    for state in case.trace.states:
        if state.step.kind != "deposit" or not case.facts.material(state.step.material).needs_adhesion_layer:
            continue
        place = case.places[id(state)]
        under = next(
            (k for k in reversed(range(place)) if case.trace.states[k].step.kind == "deposit"),
            None,
        )
        if under is None or case.trace.states[under].step.material not in _SKINNED:
            continue
        adhesion, between = case.trace.states[under], case.trace.states[under + 1 : place]
        tops = case.uncovered(case.before(state))
        if adhesion.step.material not in tops or (not between and adhesion.step.tool == state.step.tool):
            continue
        yield finding(
            state,
            "warn",
            f"the vacuum between {adhesion.step.material} and {step_named(state)}",
            "unbroken",
            f"{len(between)} step{'s' if len(between) != 1 else ''} in air"
            + (
                f", from {adhesion.step.tool} to {state.step.tool}"
                if adhesion.step.tool != state.step.tool
                else ""
            ),
            "the adhesion metal grows an oxide within minutes and the noble metal does not stick to it",
            "deposit both in one pump-down, or put fresh adhesion metal first",
            "adhesion layers oxidise in air (common practice)",
            adds_before(
                case,
                state,
                f"deposit: {adhesion.step.material}",
                f"name: fresh adhesion under {state.step.name or state.step.material}",
                f"method: {state.step.method}",
                "thickness: 10 nm",
            ),
        )


_SKINNED = {"titanium", "chromium", "tantalum", "nickel chromium"}
"""Metals that are put beneath noble ones and oxidise at once in air."""


RULE = Rule(
    name="vacuum broken on adhesion",
    loses="contacts, in the next bath",
    quantity="steps between an adhesion layer and its noble metal",
    source="common practice",
    answers=("waits", "adhesion"),
    same_step=("lift-off profile",),
    check=check,
)
