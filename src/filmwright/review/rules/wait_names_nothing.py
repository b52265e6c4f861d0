"""A longest wait that no step can break."""

from __future__ import annotations

from collections.abc import Iterator
from typing import get_args

from filmwright.flow import StepKind
from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Waits of the lab whose words are neither a kind of step nor the name of a step of this plan."""
    known = {
        *get_args(StepKind),
        *(step.name for step in case.flow.steps),
        *(step.kind for step in case.flow.steps),
    }
    idle = {f"{wait.after} → {wait.before}": {wait.after, wait.before} - known for wait in case.lab.waits}
    idle = {name: words for name, words in idle.items() if words}
    if idle and case.trace.states:
        yield finding(
            case.trace.states[0],
            "note",
            "the waits of the lab",
            "between kinds of step, or named steps of the plan",
            "; ".join(f"{name}: no {', '.join(sorted(words))}" for name, words in idle.items()),
            "a wait that names no step is never watched",
            "write a kind of step, such as coat or etch, or the name of a step",
            f"waits of {case.lab.file or case.lab.name}",
        )


RULE = Rule(
    name="wait names no step",
    loses="a limit that nobody watches",
    quantity="words of the waits − kinds and names of steps",
    source="the lab's own waits",
    answers=("waits",),
    check=check,
)
