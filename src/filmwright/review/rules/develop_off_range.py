"""A development far from what the resist takes."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import removes
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Development time of the plan against the range of the resist."""
    for state in case.trace.states:
        time = state.step.asked.get("develop time")
        if state.step.kind != "develop" or time is None:
            continue
        usual = case.facts.resist(state.step.resist).values["develop time"]
        if not usual.low <= time.value <= usual.high:
            yield finding(
                state,
                "warn",
                f"the time of {step_named(state)}",
                f"{show(usual.low, 'time')} to {show(usual.high, 'time')}, usually {show(usual.value, 'time')}",
                f"{show(time.value, 'time')}, {time.value / usual.value:.2g} times the usual",
                "too short leaves residue, too long takes the edges and what lies beneath",
                "look for a slip of minutes and seconds; then look at a dummy under the microscope",
                str(usual.source),
                removes(case, state, "develop time"),
            )


RULE = Rule(
    name="development off the range",
    loses="line width, or what lies beneath",
    quantity="development time of the plan / range of the resist",
    source="ranges of the resists, each with its source",
    answers=("dose", "typed"),
    check=check,
)
