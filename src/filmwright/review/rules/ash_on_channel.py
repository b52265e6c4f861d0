"""Oxygen plasma on molybdenum or on a bare oxide semiconductor."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Ashing with molybdenum or an oxide semiconductor uncovered, before or after it."""
    for state in case.trace.states:
        if state.step.kind not in {"strip", "clean"}:
            continue
        medium = case.facts.medium(state.step.medium)
        if medium.kind != "plasma" or "oxygen" not in medium.families:
            continue
        seen = case.uncovered(case.before(state)) | case.uncovered(state.wafer.plan)
        bare = sorted(m for m in seen if m == "molybdenum" or case.kind(m) == "semiconductor")
        if bare:
            yield finding(
                state,
                "warn",
                f"what {step_named(state)} reaches",
                "no molybdenum and no bare oxide semiconductor",
                ", ".join(bare),
                "ashing leaves oxide on molybdenum contacts and changes the channel",
                "strip in a solvent stripper, or record power and time and check a witness",
                "common practice",
            )


RULE = Rule(
    name="ash on channel or contact",
    loses="contact resistance, threshold",
    quantity="uncovered molybdenum or semiconductor × oxygen plasma",
    source="common practice",
    answers=("ashing", "channel in plasma"),
    check=check,
)
