"""Hydrogen-bearing plasma on an oxide semiconductor."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding, Severity

_PLASMAS = {"fluorine", "argon", "hydrogen-bearing plasma"}


def _families(case: Case, state: State) -> frozenset[str]:
    if state.step.kind == "deposit":
        return case.facts.method(state.step.method).families
    if (
        state.step.kind in {"etch", "strip", "clean"}
        and case.facts.medium(state.step.medium).kind == "plasma"
    ):
        return case.facts.medium(state.step.medium).families
    return frozenset()


def check(case: Case) -> Iterator[Finding]:
    """Oxide semiconductors uncovered in a plasma that dopes or damages them; worse when no anneal follows."""
    if not case.transistors:
        return
    for state in case.trace.states:
        harmful = _families(case, state) & _PLASMAS
        channels = sorted(m for m in case.uncovered(case.before(state)) if case.kind(m) == "semiconductor")
        if not harmful or not channels:
            continue
        healed = any(later.step.kind == "anneal" for later in case.after(state))
        hydrogen = "hydrogen-bearing plasma" in harmful
        severity: Severity = "note" if healed and not hydrogen else "warn"
        yield finding(
            state,
            severity,
            f"the surface of {', '.join(channels)} in {step_named(state)}",
            "covered, or annealed afterwards",
            f"bare in a plasma with {', '.join(sorted(harmful))}"
            + (", an anneal follows" if healed else ", no anneal follows"),
            "hydrogen and fluorine dope the channel and ions reduce it: the threshold moves",
            "cover the channel first, or add an anneal in air",
            "hydrogen acts as a donor in oxide semiconductors (published widely, from memory)",
        )


RULE = Rule(
    name="plasma on bare channel",
    loses="the off state",
    quantity="uncovered oxide semiconductor × plasma family",
    source="common practice",
    answers=("hydrogen", "channel in plasma"),
    check=check,
)
