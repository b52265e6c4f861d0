"""Sodium or potassium on the gate insulator."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import removes
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Uncovered area of the insulators of transistors in baths that bring alkali ions."""
    insulators = {name for device in case.transistors for name, _ in device.dielectric}
    for state in case.trace.states:
        medium = case.medium(state)
        if medium is None or "alkali" not in medium.families:
            continue
        reached = {name: area for name, area in state.exposed.items() if name in insulators}
        if reached:
            yield finding(
                state,
                "warn",
                f"what {step_named(state)} reaches",
                "no gate insulator, or a bath without alkali",
                ", ".join(f"{name} over {show(area, 'area')}" for name, area in sorted(reached.items()))
                + f" in {medium.name}",
                "sodium and potassium wander in the insulator and the threshold wanders with them",
                "use a developer or an etch without metal ions, or cover the insulator first",
                "mobile ions in gate insulators (B. E. Deal, IEEE Trans. Electron Devices 27, 606 (1980), from memory)",
                removes(case, state, "developer") if state.step.kind == "develop" else None,
            )


RULE = Rule(
    name="alkali at the gate",
    loses="a threshold that stays",
    quantity="uncovered gate insulator × bath with alkali",
    source="mobile ions (published widely)",
    answers=("channel in plasma",),
    check=check,
)
