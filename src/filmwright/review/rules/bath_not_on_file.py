"""A standing bath of which nobody wrote down when it was made."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import bath_of
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import to_si

_STANDS = to_si(1, "day")
"""A bath that keeps for less is mixed for the step itself."""


def check(case: Case) -> Iterator[Finding]:
    """Wet etches in a bath that keeps for days, in a lab that lists its baths, without an entry for it; each bath once."""
    told: set[str] = set()
    for state in case.trace.states:
        medium = case.medium(state)
        if not case.lab.baths or state.step.kind != "etch" or medium is None or medium.kind == "plasma":
            continue
        keeps = case.facts.baths.get(medium.name, {}).get("longest age")
        mixed = keeps is not None and keeps.value <= _STANDS
        if mixed or medium.name in told or bath_of(state.step, case.lab, case.trace.on) is not None:
            continue
        told.add(medium.name)
        yield finding(
            state,
            "note",
            f"the bath of {step_named(state)}",
            "among the baths of the lab file",
            f"no bath of {medium.name} made by {case.trace.on}",
            "how old it is and what it has dissolved decide its rate",
            f"add it under baths: with medium: {medium.name} and the date on which it was made",
            "the lab file lists its baths, so a missing one is a gap",
        )


RULE = Rule(
    name="bath not on file",
    loses="the reason why an etch took twice as long",
    quantity="standing baths without a date, in a lab that lists its baths",
    source="house rule",
    answers=("baths",),
    check=check,
)
