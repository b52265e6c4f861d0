"""Hydrofluoric baths and titanium."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Titanium that is uncovered before or at the end of a hydrofluoric bath."""
    for state in case.trace.states:
        if state.step.kind not in {"etch", "clean"} or state.step.material == "titanium":
            continue
        if "hydrofluoric" not in case.facts.medium(state.step.medium).families:
            continue
        eaten = any(loss.material == "titanium" for lost in state.losses.values() for loss in lost)
        if (
            eaten
            or "titanium" in case.uncovered(case.before(state))
            or "titanium" in case.uncovered(state.wafer.plan)
        ):
            yield finding(
                state,
                "stop",
                f"the loss of titanium in {step_named(state)}",
                "none: no titanium where the bath reaches",
                "titanium uncovered" if not eaten else "titanium eaten",
                "hydrofluoric baths dissolve titanium within seconds, also sideways under what it holds",
                "open the insulator with a plasma that stops on titanium, or change the metal",
                "titanium dissolves in hydrofluoric acid (published widely; Williams 2003)",
            )


RULE = Rule(
    name="fluoride bath on titanium",
    loses="gates, pads and what titanium holds",
    quantity="titanium uncovered × hydrofluoric bath",
    source="K. R. Williams et al., J. Microelectromech. Syst. 12, 761 (2003), from memory",
    answers=("titanium and chlorine",),
    spoils=("stop",),
    check=check,
)
