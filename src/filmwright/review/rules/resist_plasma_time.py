"""Resist that a long plasma burns in."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Time in plasma of one coat of resist, all its plasma steps together, ashing apart."""
    spent = 0.0
    for state in case.trace.states:
        if state.step.kind == "coat":
            spent = 0.0
        if (
            state.step.kind not in {"etch", "clean"}
            or not case.plasma(state)
            or not case.organics(case.before(state))
        ):
            continue
        spent += case.time(state)
        if spent > case.limit("resist in plasma") >= spent - case.time(state):
            yield finding(
                state,
                "warn",
                f"the time in plasma of the resist up to {step_named(state)}",
                f"at most {case.limit_text('resist in plasma')} in one go",
                show(spent, "time"),
                "it heats and cross-links, and no stripper takes its skin",
                "etch in parts with pauses to cool, with less power, and ash shortly before the strip where the films allow it",
                case.limit_source("resist in plasma"),
            )


RULE = Rule(
    name="resist burned in",
    loses="a clean surface",
    quantity="Σ time in plasma of one coat",
    limits=("resist in plasma",),
    source="common practice",
    answers=("hardened resist",),
    check=check,
)
