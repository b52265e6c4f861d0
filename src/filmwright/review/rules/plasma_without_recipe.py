"""A plasma etch without a recipe."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import write


def check(case: Case) -> Iterator[Finding]:
    """What a plasma etch names of recipe, power and pressure."""
    for state in case.trace.states:
        step = state.step
        missing = [name for name in ("power", "pressure") if name not in step.asked and name not in step.done]
        if step.kind == "etch" and case.plasma(state) and missing and not step.recipe:
            rate = (
                f"{write(state.rate.value, state.rate.unit)} of {state.rate.evidence}"
                if state.rate
                else "no rate"
            )
            yield finding(
                state,
                "warn",
                f"the recipe of {step_named(state)}",
                "a recipe of the tool, or power and pressure",
                f"no {' and no '.join(missing)}; {rate}",
                "a rate holds for one recipe on one tool; with another power it is another rate",
                "name the recipe, or write power and pressure into the step",
                "rates apply to a recipe on a tool (common practice)",
            )


RULE = Rule(
    name="plasma without recipe",
    loses="the depth of the etch",
    quantity="recipe, power and pressure that the plan names",
    source="common practice",
    answers=("typed",),
    check=check,
)
