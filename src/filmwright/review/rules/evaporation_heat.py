"""Too much metal evaporated onto resist in one go."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Thickness evaporated in a row onto resist, against what resist bears without a pause."""
    row = 0.0
    for state in case.trace.states:
        heats = state.step.kind == "deposit" and "evaporation" in case.method(state).families
        row = row + (state.thickness or 0.0) if heats and case.organics(case.before(state)) else 0.0
        if row > case.limit("evaporated on resist") >= row - (state.thickness or 0.0):
            yield finding(
                state,
                "warn",
                f"what is evaporated onto resist up to {step_named(state)}",
                f"at most {case.limit_text('evaporated on resist')} without a pause",
                show(row, "length"),
                "the glow of the source and the heat of condensation round the resist and close its undercut",
                "evaporate in parts with pauses to cool, farther from the source, or on a cooled holder",
                case.limit_source("evaporated on resist"),
            )


RULE = Rule(
    name="evaporated onto resist",
    loses="the lift-off",
    quantity="thickness evaporated in a row onto resist",
    limits=("evaporated on resist",),
    source="radiant heat of evaporation softens resist (common practice)",
    answers=("source heat",),
    check=check,
)
