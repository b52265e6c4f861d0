"""A wafer as bought that goes into the first step without a clean."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import adds_before
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Whether a clean comes before the first film or the first resist."""
    for state in case.trace.states:
        if state.step.kind == "clean":
            return
        if state.step.kind in {"deposit", "dehydrate", "prime", "coat"}:
            yield finding(
                state,
                "warn",
                f"the wafer before {step_named(state)}",
                "cleaned",
                "as bought",
                "dust and what the box gives off lift the first film, and make pinholes in the second",
                "begin with a clean that the films on the wafer bear",
                "common practice",
                adds_before(case, state, "clean: solvent clean", "name: clean as bought"),
            )
            return


RULE = Rule(
    name="no clean at the start",
    loses="adhesion of the first film, and devices on every grain of dust",
    quantity="cleans before the first film or resist",
    source="common practice",
    answers=("adhesion",),
    check=check,
)
