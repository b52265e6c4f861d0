"""An end point that nobody sees, as the same material lies beneath."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """What lies beneath the film that is etched to its end point, where it is the same material from an earlier step."""
    for state in case.trace.states:
        if state.step.kind != "etch" or state.step.end is None or state.step.end.rule != "end point":
            continue
        pairs = {
            (column.top.film, column.layers[-2].film)
            for column in case.stacks(case.before(state))
            if column.top.material == state.step.material
            and len(column.layers) > 1
            and column.layers[-2].material == state.step.material
        }
        if pairs:
            yield finding(
                state,
                "stop",
                f"the end point of {step_named(state)}",
                "a change to another material",
                "; ".join(f"{lower} beneath {upper}" for upper, lower in sorted(pairs)),
                "neither colour nor plasma changes there, and the etch goes on through both",
                "etch for a time from a measured rate, or put another material between",
                "read off the emulated wafer",
            )


RULE = Rule(
    name="end point not seen",
    loses="the film beneath, whole",
    quantity="same material directly beneath the film that is etched to its end point",
    source="read off the emulated wafer",
    answers=("plasma beneath",),
    spoils=("stop",),
    check=check,
)
