"""A parking place in the middle of what must not wait."""

from __future__ import annotations

import math
from collections.abc import Iterator

from filmwright.emulate import State, parkings
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import replaces
from filmwright.review.finding import Change, Finding
from filmwright.units import convert, show


def check(case: Case) -> Iterator[Finding]:
    """Longest time that a park step allows against the waits of the lab and the usual ones that hold there."""
    if not any(state.step.kind == "park" for state in case.trace.states):
        return
    for state, parking in zip(case.trace.states, parkings(case.trace.states, case.lab), strict=True):
        if state.step.kind != "park":
            continue
        asked = state.step.asked.get("longest")
        if parking.longest is None or (asked is not None and asked.value <= parking.longest):
            continue
        yield finding(
            state,
            "warn",
            f"the wait in {step_named(state)}",
            f"at most {show(parking.longest, 'time')}",
            "as long as one likes" if asked is None else show(asked.value, "time"),
            parking.why or "the surface ages",
            "park before the step that must not wait, or shorten the longest wait",
            parking.source,
            _shorter(case, state, parking.longest),
        )


def _shorter(case: Case, state: State, longest: float) -> Change | None:
    """The longest wait in whole hours, where there is one."""
    hours = math.floor(convert(longest, "h"))
    return replaces(case, state, "longest", f"{hours} h") if hours > 0 else None


RULE = Rule(
    name="parked too long",
    loses="adhesion, line width, contact resistance",
    quantity="longest wait of the parking place − waits that hold there, less the steps within them",
    source="waits of the lab, and usual ones, each with its source",
    answers=("waits",),
    check=check,
)
