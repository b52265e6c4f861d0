"""A shutter that opens before the target is clean."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import replaces
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Time behind the shutter as the plan has it, against the least that the skin of the target takes."""
    for state in case.trace.states:
        asked = state.step.asked.get("pre-sputter time")
        skin = next((each for each in state.follows if each.name == "skin of the target gone after"), None)
        if asked is None or skin is None or skin.value is None or asked.value >= skin.value:
            continue
        usual = case.facts.models["magnetron"]["pre-sputter time"]
        yield finding(
            state,
            "warn",
            f"the pre-sputter time of {step_named(state)}",
            f"at least {show(skin.value, 'time')} for the skin alone",
            show(asked.value, "time"),
            "the first nanometres are the oxide of the target: the contact beneath is bad",
            "leave the shutter shut longer, and longest after the chamber was open",
            f"{skin.derivation.law.name}; usual: {show(usual.value, 'time')}, {usual.source}",
            replaces(case, state, "pre-sputter time", show(usual.value, "time")),
        )


RULE = Rule(
    name="target not cleaned",
    loses="contact resistance and adhesion",
    quantity="pre-sputter time of the plan / time until the skin of the target is gone",
    source="counting of ions and atoms",
    check=check,
    answers=("target",),
)
