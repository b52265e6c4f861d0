"""A film on resist that nobody meant to lift off."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import strips_before
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Depositions onto resist that are not followed by a lift-off before the next lithography."""
    for state in case.trace.states:
        if state.step.kind != "deposit" or not _on_resist(case, state):
            continue
        ends = [later for later in case.after(state) if later.step.kind in {"lift off", "strip", "coat"}]
        if ends and ends[0].step.kind == "lift off":
            continue
        yield finding(
            state,
            "stop",
            f"the wafer before {step_named(state)}",
            "free of resist, or followed by a lift-off",
            "resist beneath the new film"
            + (f", then {ends[0].step.kind} in step {ends[0].step.number}" if ends else ""),
            "the film floats off with the resist, or the resist stays buried",
            "add the forgotten strip before this step, or a lift-off after it",
            "read off the emulated wafer",
            strips_before(case, state, case.organics(case.before(state))),
        )


def _on_resist(case: Case, state: State) -> bool:
    return any(case.kind(name) == "organic" for name in case.uncovered(case.before(state)))


RULE = Rule(
    name="forgotten strip",
    loses="the film, in flakes over the whole wafer",
    quantity="organics uncovered before a deposition that no lift-off follows",
    source="a missing strip before a cold deposition is as deadly as before a hot one (common practice)",
    answers=("organic in heat",),
    check=check,
)
