"""What a lift-off or a strip left behind, or took with it."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Resist sealed under a film and films that stayed bridged, as emulated; each once."""
    told: set[str] = set()
    for state in case.trace.states:
        torn = [each for each in state.torn if each not in told]
        told |= set(torn)
        if torn:
            yield finding(
                state,
                "warn",
                f"what {step_named(state)} leaves",
                "clean edges",
                "; ".join(torn[:3]),
                "bridged films tear into fences, sealed resist stays",
                "use a resist with undercut and a film in line of sight",
                "emulated",
            )


RULE = Rule(
    name="lift-off bridged",
    loses="gaps between contacts",
    quantity="films that bridge resist and substrate",
    source="emulated",
    answers=("lift-off",),
    follows=True,
    check=check,
)
