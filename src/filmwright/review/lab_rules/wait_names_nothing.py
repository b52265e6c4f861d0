"""A longest wait whose words are no kind of step."""

from __future__ import annotations

from collections.abc import Iterator
from typing import get_args

from filmwright.flow import StepKind
from filmwright.review.finding import Finding
from filmwright.review.lab_case import LabCase, LabRule, told


def check(case: LabCase) -> Iterator[Finding]:
    """Words of every wait against the kinds of step, and the names of steps of the plan where there is one."""
    names = {step.name for step in case.trace.flow.steps} if case.trace is not None else set()
    for wait in case.lab.waits:
        strange = [word for word in (wait.after, wait.before) if word not in {*get_args(StepKind), *names}]
        if strange:
            yield told(
                "note",
                f"the wait from {wait.after} to {wait.before}",
                "between kinds of step" + (", or named steps of the plan" if names else ""),
                f"no kind of step: {', '.join(strange)}",
                "a wait that names no step is never watched; one with the name of a step only in that plan",
                "write a kind of step, such as coat or etch; check with --plan for names of steps",
                "the lab's own waits",
                wait.line,
            )


RULE = LabRule(
    name="wait that names nothing",
    loses="a limit that nobody watches",
    quantity="words of the waits − kinds of step",
    source="the lab's own file",
    check=check,
)
