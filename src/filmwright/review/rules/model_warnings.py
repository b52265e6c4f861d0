"""What the models themselves warn of."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Numbers computed outside the range of their model, or not computed for want of a rate; each want once."""
    steps: dict[str, list[str]] = {}
    for state in case.trace.states:
        for text in state.warnings:
            steps.setdefault(text, []).append(state.step.number)
    for state in case.trace.states:
        first = [text for text in state.warnings if steps[text][0] == state.step.number]
        if first:
            missing = any("on file" in text for text in first)
            yield finding(
                state,
                "warn" if missing else "note",
                f"the numbers of {step_named(state)}",
                "inside the range of their models",
                "; ".join(text + _again(steps[text][1:]) for text in first),
                "outside it the printed setting is a guess",
                "measure first, or stay inside the range",
                "valid range of the model",
            )


def _again(numbers: list[str]) -> str:
    return f" (also in step {', '.join(numbers)})" if numbers else ""


RULE = Rule(
    name="outside the model",
    loses="a setting",
    quantity="valid range of each model against its inputs",
    source="the models' own ranges",
    answers=("known",),
    same_step=(
        "bath does not etch",
        "lift-off profile",
        "no tool for the step",
        "tool does not serve",
        "metal in furnace",
    ),
    check=check,
)
