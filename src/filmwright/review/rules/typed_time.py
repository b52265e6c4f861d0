"""A time in the plan that does not fit the film: often a slip of minutes and seconds, or of a factor of ten."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import instead, removes
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Time of the plan against the time that the film and the believed rate ask for; too short an etch is told by what it leaves."""
    for state in case.trace.states:
        asked, needed = state.step.asked.get("time"), _needed(case, state)
        if asked is None or needed is None:
            continue
        ratio = asked.value / needed
        etch = state.step.kind == "etch"
        limit = "typed etch time" if etch else "typed deposition time"
        most = case.limit(limit)
        if ratio <= most and (etch or ratio >= 1 / most):
            continue
        yield finding(
            state,
            "warn",
            f"the time of {step_named(state)}",
            f"about {show(needed, 'time')}, by thickness and rate",
            f"{show(asked.value, 'time')}, {ratio:.2g} times that",
            "a long over-etch goes under the resist and into what lies beneath"
            if etch
            else "time and thickness of the plan contradict each other, and the run sheet prints the computed time",
            "look for a slip of minutes and seconds or of a factor of ten; "
            + ("or write until: end point + 25 %" if etch else "or leave the time out"),
            case.limit_source(limit) + (f"; rate: {state.rate.evidence}" if state.rate else ""),
            instead(case, state, "time", "until", "end point + 25 %")
            if etch
            else removes(case, state, "time"),
        )


def _needed(case: Case, state: State) -> float | None:
    """Time [s] to put the film down or to etch through it; None when no rate is on file or the step does neither."""
    step, rate = state.step, state.rate
    if rate is None or rate.value <= 0 or step.kind not in {"etch", "deposit"}:
        return None
    if step.kind == "deposit":
        # Cycles decide the thickness of an atomic-layer film; a time says nothing about it.
        by_cycles = any(setting.name == "cycles" for setting in state.settings)
        return None if by_cycles else step.asked["thickness"].value / rate.value
    tops = [column.top for column in case.stacks(case.before(state))]
    depth = max((top.thickness for top in tops if top.material == step.material), default=0.0)
    return depth / rate.value or None


RULE = Rule(
    name="time does not fit the film",
    loses="line width, and the film beneath",
    quantity="time of the plan / (thickness / rate)",
    limits=("typed etch time", "typed deposition time"),
    source="a unit slip of ten (common practice)",
    answers=("typed",),
    check=check,
)
