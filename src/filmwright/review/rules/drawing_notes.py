"""Something odd in the drawing that was read with a choice: off its grid, crossing itself, without area, several top cells."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """What was decided in reading the drawing, at the line of the level that it concerns."""
    levels = tuple(case.flow.masks.values())
    told: dict[str, list[str]] = {}
    for note in case.trace.drawing_notes:
        about, _, said = note.partition(": ") if note.startswith("layer ") else ("", "", note)
        told.setdefault(about, []).append(said)
    for about, notes in told.items():
        mine = [each for each in levels if about == f"layer {each.layer}/{each.datatype}"]
        if about and not mine:
            continue  # a layer that is on no plate
        yield finding(
            None,
            "note",
            f"{about} of {case.flow.drawing}" if about else f"the drawing {case.flow.drawing}",
            "shapes with area, on the grid, that do not cross themselves, under one top cell",
            "; ".join(notes),
            "the plate writer may choose otherwise, and then the plate is not what is emulated here",
            "mend the drawing, or ask the plate's maker how it is read",
            "what was decided in reading it",
            line=(mine or levels)[0].line,
        )


RULE = Rule(
    name="drawing read with a choice",
    loses="a plate that is not what was meant",
    quantity="shapes and corners of the drawing that can be read in more than one way",
    source="layout formats leave these cases to who reads them (common practice)",
    answers=("expected",),
    check=check,
)
