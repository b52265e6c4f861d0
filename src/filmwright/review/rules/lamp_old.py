"""A lamp reading of another week."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show, to_si


def check(case: Case) -> Iterator[Finding]:
    """Age of the lamp reading behind the exposures, each tool once."""
    told: set[str] = set()
    for state in case.trace.states:
        rate = state.rate
        if state.step.kind != "expose" or rate is None or rate.age_days is None or state.step.done:
            continue
        age = to_si(rate.age_days, "day")
        if age > case.limit("lamp age") and state.step.tool not in told:
            told.add(state.step.tool)
            yield finding(
                state,
                "warn",
                f"the lamp reading behind {step_named(state)}",
                f"younger than {case.limit_text('lamp age')}",
                f"{show(age, 'time')} old ({rate.evidence})",
                "a lamp loses some per cent a week and jumps when it is changed",
                "read the lamp today, at the line of the resist, and write it into the lab file",
                case.limit_source("lamp age"),
            )


RULE = Rule(
    name="lamp reading old",
    loses="line width",
    quantity="today − date of the lamp reading",
    limits=("lamp age",),
    source="lamps age (common practice)",
    answers=("dose",),
    check=check,
)
