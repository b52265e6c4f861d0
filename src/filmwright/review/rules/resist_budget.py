"""Resist left after a plasma etch."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import NOMINAL, THIN_FAST, State
from filmwright.review.case import Case, Rule, far_end, finding, percent, step_named
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Resist left after main and over-etch over its thickness, with thin films and fast etches."""
    for state in case.trace.states:
        step = state.step
        if step.kind != "etch" or case.facts.medium(step.medium).kind != "plasma":
            continue
        lost = [
            loss
            for loss in state.losses.get(THIN_FAST.name, ())
            if case.kind(loss.material) == "organic" and loss.where == "open" and loss.before > 0
        ]
        if not lost:
            continue
        worst = min(lost, key=lambda loss: loss.after / loss.before)
        left = worst.after / worst.before
        most, typical = case.limit("resist left"), _typical(case, state)
        if left < most:
            tripped = (
                "already the typical rate passes"
                if typical < most
                else "only the far end of the spread passes"
            )
            there = f"{percent(left)} ({show(worst.after, 'length')} of {show(worst.before, 'length')})"
            yield finding(
                state,
                "stop" if typical < most else "warn",
                f"the resist after {step_named(state)}",
                f"at least {case.limit_text('resist left')} left",
                f"{percent(typical)} typical, {there} with {far_end(THIN_FAST.name)}: {tripped} the limit",
                "edges retreat and the film beneath is attacked where the resist is gone",
                "use thicker resist or a more selective recipe"
                if typical < most
                else "measure the rate of the resist on a witness first: it may last; else use thicker resist or a more selective recipe",
                case.limit_source("resist left"),
            )


def _typical(case: Case, state: State) -> float:
    """Part of the resist left, nominal."""
    lost = [
        loss
        for loss in state.losses.get(NOMINAL.name, ())
        if case.kind(loss.material) == "organic" and loss.where == "open" and loss.before > 0
    ]
    return min((loss.after / loss.before for loss in lost), default=1.0)


RULE = Rule(
    name="resist budget",
    loses="line width, then the film under the resist",
    quantity="resist left after main and over-etch / before",
    limits=("resist left",),
    source="30 % left (common practice)",
    answers=("resist lasts",),
    spoils=("stop",),
    check=check,
)
