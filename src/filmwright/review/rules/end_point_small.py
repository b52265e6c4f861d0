"""An end point in too small an opening."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Uncovered share of the film that a plasma etches to an end point that is watched."""
    for state in case.trace.states:
        watched = state.step.end is not None and state.step.end.rule == "end point"
        if state.step.kind != "etch" or not watched or not case.plasma(state):
            continue
        share = state.exposed.get(state.step.material, 0.0) / sum(state.exposed.values())
        if 0 < share < case.limit("seen end point"):
            yield finding(
                state,
                "warn",
                f"the uncovered share of {state.step.material} in {step_named(state)}",
                f"at least {case.limit_text('seen end point')} of the die",
                f"{share:.2%}",
                "the plasma's light does not change when so little of the film is gone",
                "watch a large opening with a laser, add a monitor area to the plate, or etch for a time with a witness along",
                case.limit_source("seen end point"),
            )


RULE = Rule(
    name="end point too small to see",
    loses="the film beneath",
    quantity="uncovered area of the film / of the die",
    limits=("seen end point",),
    source="common practice",
    answers=("plasma beneath",),
    follows=True,
    check=check,
)
