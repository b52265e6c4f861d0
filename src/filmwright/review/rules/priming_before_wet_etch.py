"""Resist that was not primed, before a wet etch."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import removes
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Wet etches whose resist was coated without priming."""
    primed, dried = True, None
    for state in case.trace.states:
        if state.step.kind == "dehydrate":
            primed, dried = False, state
        elif state.step.kind == "prime":
            primed = True
        elif (
            state.step.kind == "etch" and case.facts.medium(state.step.medium).kind != "plasma" and not primed
        ):
            yield finding(
                state,
                "warn",
                f"the resist of {step_named(state)}",
                "primed before it was coated",
                "not primed",
                "the etch creeps under resist that does not stick",
                "let the pattern step prime",
                "resist needs priming before a wet etch (common practice)",
                removes(case, dried, "prime") if dried is not None else None,
            )


RULE = Rule(
    name="wet etch without priming",
    loses="line width",
    quantity="priming between dehydration and coating",
    source="common practice",
    answers=("adhesion",),
    check=check,
)
