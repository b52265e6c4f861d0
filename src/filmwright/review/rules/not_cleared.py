"""An etch that leaves some of its film where it should be gone."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import NOMINAL, THICK_SLOW
from filmwright.review.case import Case, Rule, far_end, finding, step_named
from filmwright.review.changes import instead
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """What is left of the film in the clear places, nominal and where it is thickest and the etch slowest."""
    for state in case.trace.states:
        if state.step.kind != "etch":
            continue
        left = {
            corner: max((loss.after for loss in lost if loss.material == state.step.material), default=0.0)
            for corner, lost in state.losses.items()
        }
        nominal, slow = left.get(NOMINAL.name, 0.0), left.get(THICK_SLOW.name, 0.0)
        by_eye = state.step.end is not None and state.step.end.rule == "end point"
        if state.step.material not in state.exposed:
            yield finding(
                state,
                "stop",
                f"{state.step.material} in {step_named(state)}",
                "uncovered somewhere",
                "nowhere uncovered",
                "nothing would be etched",
                "check the order of steps and the tone of the mask before it",
                "read off the emulated wafer",
            )
        elif nominal > 0:
            yield finding(
                state,
                "stop",
                f"{state.step.material} left in the clear places after {step_named(state)}",
                "0 nm",
                show(nominal, "length"),
                "conductors stay joined and the next film lies on residue",
                "etch longer, or to the end point with over-etch",
                "rate × time against thickness",
                instead(case, state, "time", "until", "end point + 25 %"),
            )
        elif slow > 0 and not by_eye:
            yield finding(
                state,
                "warn",
                f"{state.step.material} left in the clear places after {step_named(state)}",
                "0 nm at every corner",
                f"{show(slow, 'length')} with {far_end(THICK_SLOW.name)}",
                "the slowest place of the wafer clears last",
                "etch to the end point seen and then on, or lengthen the time; then look at the loss beneath",
                "95 % bounds of thickness and rate",
            )


RULE = Rule(
    name="film not cleared",
    loses="isolation between devices",
    quantity="thickness left in the clear places, nominal and with thick films and slow etches",
    source="rate × time against thickness (common practice)",
    answers=("expected",),
    spoils=("stop",),
    follows=True,
    check=check,
)
