"""A pocket that does not hold what the lot takes from it."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Mass that the films of the lot take from a pocket against the usable part of its charge; once for each material."""
    told: set[str] = set()
    for state in case.trace.states:
        used = next((each for each in state.follows if each.name == "charge of the pocket used"), None)
        if used is None or used.value is None or state.step.material in told:
            continue
        if used.value > case.limit("charge used"):
            told.add(state.step.material)
            yield finding(
                state,
                "warn",
                f"the charge of {state.step.material} for {step_named(state)}",
                f"at most {case.limit_text('charge used')} of what its pocket gives",
                f"{used.value:.0%} with the films of the lot before it",
                "the beam meets the bottom of the crucible: the rate wanders, it spits, and the film ends too thin",
                "top the pocket up on the way, use a larger one, or halve the throw",
                f"{used.derivation.law.source}; {case.limit_source('charge used')}",
            )


RULE = Rule(
    name="charge too small",
    loses="the end of the film",
    quantity="mass for the films of the lot / (usable part × density × volume of the pocket)",
    limits=("charge used",),
    source="conservation of mass",
    check=check,
    answers=("source lasts",),
)
