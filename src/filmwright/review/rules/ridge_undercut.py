"""A line that the etch eats from both sides."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import NOMINAL
from filmwright.process import undercut_foot
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.review.rules.undercut_against_length import over_etch
from filmwright.units import show
from filmwright.wafer import Print


def check(case: Case) -> Iterator[Finding]:
    """Narrowest printed line against twice the foot undercut of an etch that goes sideways."""
    printed: Print | None = None
    for state in case.trace.states:
        printed = next((action for action in state.actions if isinstance(action, Print)), printed)
        if state.step.kind != "etch" or printed is None or not case.organics(case.before(state)):
            continue
        sideways = case.facts.medium(state.step.medium).rate(state.step.material).sideways
        depth = max(
            (loss.before for loss in state.losses[NOMINAL.name] if loss.material == state.step.material),
            default=0.0,
        )
        both = 2 * undercut_foot(depth, over_etch(case, state, depth)) * sideways if depth else 0.0
        found = case.narrowest(printed) if both else None
        if found is not None and found < both:
            yield finding(
                state,
                "stop",
                f"the narrowest line under resist in {step_named(state)}",
                f"wider than both undercuts, {show(both, 'length')}",
                show(found, "length"),
                "both undercuts meet and the line is gone, with its resist",
                "shorten the over-etch, draw the line wider, or etch with a plasma",
                "undercut at the foot d √((1 + over-etch)² − 1) on both sides (geometry)",
            )


RULE = Rule(
    name="ridge undercut",
    loses="fine lines, whole",
    quantity="narrowest line / (2 × d × √((1 + over-etch)² − 1))",
    limits=("usual over-etch",),
    source="isotropic front (geometry)",
    answers=("ridges",),
    spoils=("stop",),
    check=check,
)
