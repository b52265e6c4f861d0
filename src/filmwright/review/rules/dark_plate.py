"""A plate through which nobody sees the marks."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.wafer import Print


def check(case: Case) -> Iterator[Finding]:
    """Clear share of each plate but the first, from what its print leaves and the tone of the resist."""
    first = next((state.step.mask for state in case.trace.states if state.step.kind == "develop"), "")
    for state in case.trace.states:
        printed = next((action for action in state.actions if isinstance(action, Print)), None)
        if printed is None or state.step.mask == first:
            continue
        share = printed.keep.area / case.trace.start.plan.die.area
        clear = share if case.facts.resist(state.step.resist).tone == "negative" else 1 - share
        if clear < case.limit("clear plate"):
            yield finding(
                state,
                "warn",
                f"the clear part of the plate {state.step.mask}, {step_named(state)}",
                f"at least {case.limit_text('clear plate')} of the die",
                f"{max(clear, 0.0):.2%}",
                "the operator aligns by what is seen through the plate, and through this one nothing is",
                "draw windows over the marks of the level below, or use the other tone of resist and plate",
                case.limit_source("clear plate"),
            )


RULE = Rule(
    name="plate hides the wafer",
    loses="overlay",
    quantity="clear share of the plate by its print and the tone of the resist",
    limits=("clear plate",),
    source="common practice",
    answers=("tone",),
    check=check,
)
