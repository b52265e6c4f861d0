"""Resist that a plasma hardened, in an ordinary solvent."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import replaces, stripper
from filmwright.review.finding import Change, Finding


def check(case: Case) -> Iterator[Finding]:
    """Strips and lift-offs in a plain solvent after the resist went through a plasma, of an etch, a clean or a film."""
    hardened = ""
    for state in case.trace.states:
        step = state.step
        if step.kind == "coat":
            hardened = ""
        elif _hardens(case, state):
            hardened = step.number
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
                f"{step.medium} after the plasma of step {hardened}",
                "plasma hardens the resist's skin and the solvent leaves veils",
                "use a warm stripper, or ash shortly first where the films beneath allow it",
                "plasma-hardened resist is not taken by the ordinary strip (common practice)",
                _stronger(case, state),
            )


def _hardens(case: Case, state: State) -> bool:
    """Whether ions or ultraviolet light of a plasma reach resist in a step; oxygen takes the skin off as it hardens it."""
    step = state.step
    if step.kind in {"etch", "clean"}:
        medium = case.medium(state)
        return medium is not None and medium.kind == "plasma" and medium.families != {"oxygen"}
    plasma = step.kind == "deposit" and "plasma" in case.method(state).families
    return plasma and bool(case.organics(case.before(state)))


def _stronger(case: Case, state: State) -> Change | None:
    """A stripper instead of the solvent, where one takes the resist."""
    bath = stripper(case, case.organics(case.before(state)))
    return replaces(case, state, "in", bath) if bath and bath != state.step.medium else None


RULE = Rule(
    name="hardened resist",
    loses="a clean surface under the next film",
    quantity="plasma of an etch, a clean or a film between coat and solvent strip",
    source="common practice",
    answers=("hardened resist",),
    check=check,
)
