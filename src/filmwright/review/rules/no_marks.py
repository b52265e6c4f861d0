"""Several levels, and a drawing without marks to align them by."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Alignment marks of the drawing, where more than one level is printed."""
    exposures = [state for state in case.trace.states if state.step.kind == "expose"]
    levels = list(dict.fromkeys(state.step.mask for state in exposures))
    if len(levels) < 2 or case.trace.marks or not case.printed:
        return
    yield finding(
        exposures[0],
        "note",
        f"the marks that {step_named(exposures[0])} leaves",
        "marks on the first level for each that follows",
        f"none on the drawing, for {', '.join(levels[1:])}",
        "without marks an operator aligns to the devices themselves: a turn is hardly seen, and no number comes of it",
        "draw marks on the left and the right of the die, one pair for each later level",
        "two marks far apart fix shift and turn (common practice)",
    )


RULE = Rule(
    name="no marks drawn",
    loses="overlay",
    quantity="marks on the drawing, levels that are printed",
    source="common practice",
    answers=("marks", "overlay"),
    check=check,
)
