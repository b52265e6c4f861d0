"""A film too thin to be closed."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import replaces
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Thickness put down against the thickness from which a film is closed; noble metals bead up longer than others."""
    for state in case.trace.states:
        if state.step.kind != "deposit" or not state.thickness:
            continue
        noble = case.facts.material(state.step.material).needs_adhesion_layer
        name = "closed noble film" if noble else "closed film"
        if state.thickness < case.limit(name):
            yield finding(
                state,
                "warn",
                f"the thickness of the film of {step_named(state)}",
                f"at least {case.limit_text(name)}",
                show(state.thickness, "length"),
                "below it the film is islands: it neither conducts nor covers nor keeps its place",
                "thicken it, or seed it with titanium or chromium",
                case.limit_source(name),
                replaces(case, state, "thickness", case.limit_text(name)),
            )


RULE = Rule(
    name="film not closed",
    loses="the film",
    quantity="thickness put down / thickness of a closed film",
    limits=(
        "closed film",
        "closed noble film",
    ),
    source="growth by islands (common practice)",
    answers=("adhesion",),
    spoils=("warn",),
    check=check,
)
