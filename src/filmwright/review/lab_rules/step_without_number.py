"""A step of the plan whose time rests on no reading of this lab."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.finding import Finding
from filmwright.review.lab_case import LabCase, LabRule, told

_RATED = {"deposit", "etch", "expose"}


def check(case: LabCase) -> Iterator[Finding]:
    """What stands behind the time of each step of the plan, each tool, material and bath once."""
    seen: set[tuple[str, str, str, str]] = set()
    for state in case.trace.states if case.trace is not None else ():
        step = state.step
        key = (step.kind, step.tool, step.material, step.medium or step.recipe)
        measured = state.rate is not None and state.rate.age_days is not None
        if step.kind not in _RATED or measured or key in seen or "time" in step.asked:
            continue
        seen.add(key)
        tool = case.lab.tools.get(step.tool)
        yield told(
            "warn",
            f'the number behind step {step.number} "{step.title}" of the plan',
            f"measured on {step.tool or 'a tool of this lab'}",
            "nothing" if state.rate is None else f"a value of the book ({state.rate.source})",
            "a rate of another tool is off by tens of per cent",
            "run a dummy, measure it and write the reading under calibrations",
            "rates apply to a recipe on a tool (common practice)",
            tool.line if tool is not None else None,
        )


RULE = LabRule(
    name="step without a number",
    loses="a film of another thickness",
    quantity="steps of the plan whose rate is no reading of this lab",
    source="rates apply to a recipe on a tool (common practice)",
    check=check,
)
