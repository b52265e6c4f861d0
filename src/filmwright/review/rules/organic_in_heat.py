"""An organic on the wafer when it gets hot."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import strips_before
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Organics that lie on the wafer before a hot step, bakes of the lithography apart; each coat once."""
    told: set[str] = set()
    for state in case.trace.states:
        if state.step.kind not in {"deposit", "anneal"}:
            continue
        hot = case.temperature(state)
        if hot <= case.limit("organic heat"):
            continue
        organics = {
            layer.film: layer.material
            for column in case.stacks(case.before(state))
            for layer in column.layers
            if case.kind(layer.material) == "organic" and layer.film not in told
        }
        told |= set(organics)
        if organics:
            yield finding(
                state,
                "stop",
                f"the wafer before {step_named(state)}",
                f"free of organics above {case.limit_text('organic heat')}",
                f"{', '.join(sorted(set(organics.values())))} at {show(hot, 'temperature')}",
                "resist chars, flows and soils the chamber, and cannot be stripped afterwards",
                "add a strip, a rinse and an inspection before this step",
                case.limit_source("organic heat"),
                strips_before(case, state, organics.values()),
            )


RULE = Rule(
    name="organic in heat",
    loses="the wafer and a clean chamber",
    quantity="organics on the wafer × step temperature",
    limits=("organic heat",),
    source="novolak resists flow from about 120 °C (common practice)",
    answers=("organic in heat",),
    spoils=("stop",),
    because_of=(
        "forgotten strip",
        "bath leaves resist",
    ),
    check=check,
)
