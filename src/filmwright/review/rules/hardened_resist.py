"""Resist that a plasma or a hot bake hardened, in an ordinary solvent."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State, ashes, hardens
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import replaces, stripper
from filmwright.review.finding import Change, Finding


def check(case: Case) -> Iterator[Finding]:
    """Strips and lift-offs in a plain solvent after a plasma or a hot bake hardened the resist, and no oxygen plasma took its skin."""
    hardened = ""
    for state in case.trace.states:
        step = state.step
        if step.kind == "coat" or ashes(step, case.facts):
            hardened = ""
        elif what := _hardens(case, state):
            hardened = f"the {what} of step {step.number}"
        elif (
            step.kind in {"strip", "lift off"}
            and hardened
            and case.facts.medium(step.medium).kind == "solvent"
        ):
            yield finding(
                state,
                "warn",
                f"the bath of {step_named(state)}",
                "a stripper or an ashing plasma",
                f"{step.medium} after {hardened}",
                f"{hardened} hardens the resist's skin and the solvent leaves veils",
                "use a warm stripper, or ash shortly first where the films beneath allow it",
                "hardened resist is not taken by the ordinary strip (common practice)",
                _stronger(case, state),
            )


def _hardens(case: Case, state: State) -> str:
    """What of a step hardens resist that is there, in words; empty for nothing."""
    what = hardens(state.step, case.facts)
    return what if what and case.organics(case.before(state)) else ""


def _stronger(case: Case, state: State) -> Change | None:
    """A stripper instead of the solvent, where one takes the resist."""
    bath = stripper(case, case.organics(case.before(state)))
    return replaces(case, state, "in", bath) if bath and bath != state.step.medium else None


RULE = Rule(
    name="hardened resist",
    loses="a clean surface under the next film",
    quantity="plasma other than oxygen, or heat that cross-links, between coat and solvent strip; an ash takes the skin off",
    source="common practice",
    answers=("hardened resist",),
    check=check,
)
