"""Light before the sweep."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Probe steps on oxide semiconductors; a reminder that folds into the sheet."""
    channel = any(case.kind(material) == "semiconductor" for material in case.materials_at_the_end)
    for state in case.trace.states:
        if state.step.kind == "probe" and channel:
            yield finding(
                state,
                "note",
                f"the light before {step_named(state)}",
                "off, with a dark wait that is written down",
                "not said in the plan",
                "photoconductivity stays for hours and shifts the threshold",
                "log the dark wait with the sweep",
                "persistent photoconductivity of oxide semiconductors (common practice)",
            )


RULE = Rule(
    name="dark wait",
    loses="a comparable threshold",
    quantity="probe step on an oxide semiconductor",
    source="common practice",
    answers=("light",),
    check=check,
)
