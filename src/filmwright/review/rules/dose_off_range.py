"""A dose far from what the resist takes."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import removes
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Dose of the plan against the range of the resist."""
    for state in case.trace.states:
        dose = state.step.asked.get("dose")
        if state.step.kind != "expose" or dose is None:
            continue
        usual = case.facts.resist(state.step.resist).values["dose"]
        if not usual.low <= dose.value <= usual.high:
            yield finding(
                state,
                "warn",
                f"the dose of {step_named(state)}",
                f"{show(usual.low, 'dose')} to {show(usual.high, 'dose')}, usually {show(usual.value, 'dose')}",
                f"{show(dose.value, 'dose')}, {dose.value / usual.value:.2g} times the usual",
                "too little leaves a skin in the clear places, too much moves every edge",
                "look for a slip of ten or of the unit; then run a dose series on a dummy",
                str(usual.source),
                removes(case, state, "dose"),
            )


RULE = Rule(
    name="dose off the range",
    loses="line width, or the pattern",
    quantity="dose of the plan / range of the resist",
    source="ranges of the resists, each with its source",
    answers=("dose", "typed"),
    check=check,
)
