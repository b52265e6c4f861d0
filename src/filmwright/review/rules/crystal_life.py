"""A quartz crystal that ends before the lot does."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Life that the crystal has used after each film, as the lab file had it before the lot; once for each tool."""
    told: set[str] = set()
    for state in case.trace.states:
        used = next((each for each in state.follows if each.name == "crystal life used by the lot"), None)
        tool = state.step.tool or state.step.method
        if used is None or used.value is None or tool in told:
            continue
        if used.value > case.limit("crystal life"):
            told.add(tool)
            yield finding(
                state,
                "warn",
                f"the crystal of the quartz monitor in {step_named(state)}",
                f"at most {case.limit_text('crystal life')} of its life",
                f"{used.value:.0%} at the end of the film",
                "it jumps or stops in the middle of the film, and nobody knows how thick it is",
                "put in a fresh crystal before the lot, and write crystal life used: 0 % in the lab file",
                f"{used.derivation.law.source}; {case.limit_source('crystal life')}",
            )


RULE = Rule(
    name="crystal at its end",
    loses="thickness",
    quantity="life used before the lot + Σ frequency shift / (frequency × usable part)",
    limits=("crystal life",),
    source="limit by which crystals are changed (common practice)",
    check=check,
    answers=("monitor", "source lasts"),
)
