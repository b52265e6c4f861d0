"""A dehydrated wafer that took up water again."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Time from the end of the dehydration to the start of what follows on it, from the record's clocks."""
    dried: State | None = None
    for state in case.trace.states:
        if state.step.kind == "dehydrate":
            dried = state
            continue
        if (
            dried is not None
            and dried.step.finished
            and state.step.started
            and state.step.kind in {"prime", "coat"}
        ):
            began = datetime.datetime.fromisoformat(state.step.started)
            waited = (began - datetime.datetime.fromisoformat(dried.step.finished)).total_seconds()
            if waited > case.limit("dry time"):
                yield finding(
                    state,
                    "warn",
                    f"the wait between drying and {step_named(state)}",
                    f"at most {case.limit_text('dry time')}",
                    show(waited, "time"),
                    "the surface takes up water again within the hour, and resist lifts in the wet etch",
                    f"go back to step {dried.step.number} and dry it again",
                    case.limit_source("dry time"),
                )
        dried = None


RULE = Rule(
    name="dried too long ago",
    loses="adhesion of the resist",
    quantity="start of priming or coating − end of drying",
    limits=("dry time",),
    source="common practice",
    answers=("waits",),
    check=check,
)
