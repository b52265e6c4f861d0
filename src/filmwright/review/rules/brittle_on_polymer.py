"""A brittle film on something soft."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Thickness of insulators and stiff metals on a polymer against the thickness from which they crack."""
    for state in case.trace.states:
        if state.step.kind != "deposit" or (state.thickness or 0.0) <= case.limit("brittle on polymer"):
            continue
        modulus = case.facts.material(state.step.material).values.get("modulus")
        soft = sorted(name for name in _soft(case, state) if modulus is not None)
        if soft and modulus is not None and modulus.value > case.limit("stiff"):
            yield finding(
                state,
                "warn",
                f"the thickness of {state.step.material} on {', '.join(soft)}, {step_named(state)}",
                f"at most {case.limit_text('brittle on polymer')}",
                f"{show(state.thickness or 0.0, 'length')} of {show(modulus.value, 'stress')}",
                "the polymer swells, shrinks and bends, and a stiff film on it cracks",
                "thin it, split it with a soft layer between, or deposit it at the temperature of use",
                case.limit_source("brittle on polymer"),
            )


def _soft(case: Case, state: State) -> frozenset[str]:
    """Polymers on the wafer that are there to stay."""
    there = case.materials(case.before(state))
    return frozenset(
        name
        for name in there & case.materials_at_the_end
        if case.kind(name) == "organic" or "organic" in case.facts.material(name).families
    )


RULE = Rule(
    name="brittle film on polymer",
    loses="leads and barriers",
    quantity="thickness of a stiff film on a polymer that stays",
    limits=(
        "brittle on polymer",
        "stiff",
    ),
    source="cracks of oxides on foils (common practice)",
    answers=("stress",),
    because_of=(
        "forgotten strip",
        "bath leaves resist",
        "organic in heat",
    ),
    check=check,
)
