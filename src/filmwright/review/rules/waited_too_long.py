"""A wait between two steps that was longer than the lab allows."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Time from the end of the earlier step to the start of the later one, from the record's clocks."""
    for wait in case.lab.waits:
        earlier = None
        for state in case.trace.states:
            if wait.after in {state.step.kind, state.step.name} and state.step.finished:
                earlier = state
            if (
                earlier is None
                or wait.before not in {state.step.kind, state.step.name}
                or not state.step.started
            ):
                continue
            began = datetime.datetime.fromisoformat(state.step.started)
            ended = datetime.datetime.fromisoformat(earlier.step.finished)
            waited = (began - ended).total_seconds()
            if waited > wait.longest:
                yield finding(
                    state,
                    "warn",
                    f"the wait before {step_named(state)}",
                    f"at most {show(wait.longest, 'time')} after step {earlier.step.number}",
                    show(waited, "time"),
                    wait.why or "the surface ages",
                    f"go back to step {earlier.step.number} and do it again, or accept it with a reason",
                    f"waits of {case.lab.file or case.lab.name}",
                )
            earlier = None


RULE = Rule(
    name="waited too long",
    loses="adhesion, line width",
    quantity="start of the later − end of the earlier step",
    source="the lab's own waits",
    answers=("waits",),
    check=check,
)
