"""A medium touches a material and nothing is on file about the two."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Uncovered materials without any entry for the step's medium; unknown is never taken for safe."""
    for state in case.trace.states:
        stays = [material for material in state.unknown if _matters(case, material)]
        if not stays:
            continue
        kept = case.kept is not None and any(material in case.kept for material in stays)
        hard = state.step.kind in {"etch", "clean"} and kept
        yield finding(
            state,
            "warn" if hard or kept else "note",
            f"what {state.step.medium} does to {', '.join(stays)} in {step_named(state)}",
            "known",
            "nothing on file",
            "an unknown pair is not a safe pair, and the film is uncovered here",
            "send a witness chip along and measure before and after, then write the rate (or zero) into the lab file",
            "no entry for the pair in the shipped facts or in the lab file",
        )


def _matters(case: Case, material: str) -> bool:
    return material in case.materials_at_the_end and case.kind(material) not in {"organic", "substrate"}


RULE = Rule(
    name="unknown pair",
    loses="whatever the medium turns out to attack",
    quantity="pairs of medium and uncovered material without an entry",
    source="unknown is a value (house rule)",
    answers=("known",),
    check=check,
)
