"""An etch with nothing that masks it."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, percent, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Share of the die that resist or a film protects in an etch."""
    for state in case.trace.states:
        if state.step.kind != "etch" or not case.flow.masks or case.organics(case.before(state)):
            continue
        open_area = state.exposed.get(state.step.material, 0.0)
        if open_area:
            yield finding(
                state,
                "warn",
                f"the mask of {step_named(state)}",
                "resist over what is to stay",
                f"no resist; {percent(open_area / sum(state.exposed.values()))} of the die is uncovered {state.step.material}",
                "without a mask the film goes everywhere at once",
                "move the lithography before this etch; if the whole film is meant to go, accept it with that reason",
                "read off the emulated wafer",
            )


RULE = Rule(
    name="etched without resist",
    loses="the whole film",
    quantity="resist on the wafer and uncovered share of the film",
    source="read off the emulated wafer",
    answers=("resist lasts",),
    spoils=(
        "stop",
        "warn",
    ),
    follows=True,
    check=check,
)
