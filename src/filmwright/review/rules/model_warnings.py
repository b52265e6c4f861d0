"""What the models themselves warn of."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Numbers computed outside the range of their model, or not computed for want of a rate."""
    for state in case.trace.states:
        if state.warnings:
            missing = any("on file" in text for text in state.warnings)
            yield finding(
                state,
                "warn" if missing else "note",
                f"the numbers of {step_named(state)}",
                "inside the range of their models",
                "; ".join(state.warnings),
                "outside it the printed setting is a guess",
                "measure first, or stay inside the range",
                "valid range of the model",
            )


RULE = Rule(
    name="outside the model",
    loses="a setting",
    quantity="valid range of each model against its inputs",
    source="the models' own ranges",
    check=check,
)
