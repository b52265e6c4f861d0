"""Resist too thin for the steps that it must cover."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Resist over flat ground against the highest step of the wafer."""
    for state in case.trace.states:
        # Resist that a forgotten strip left is told by its own rule.
        if state.step.kind != "coat" or not state.thickness or case.organics(case.before(state)):
            continue
        heights = [column.height for column in case.stacks(case.before(state))]
        step = max(heights) - min(heights)
        if step and state.thickness / step < case.limit("resist over steps"):
            yield finding(
                state,
                "warn",
                f"the resist of {step_named(state)}",
                f"at least {case.limit_text('resist over steps')} times the highest step",
                f"{state.thickness / step:.2g} times ({show(state.thickness, 'length')} over {show(step, 'length')})",
                "resist runs off the edges, and their rims are etched or lifted with the rest",
                "use a thicker resist, or taper and flatten the steps first",
                case.limit_source("resist over steps"),
            )


RULE = Rule(
    name="resist thin over steps",
    loses="the rims of every island",
    quantity="resist thickness / highest step",
    limits=("resist over steps",),
    source="common practice",
    answers=("resist lasts",),
    follows=True,
    check=check,
)
