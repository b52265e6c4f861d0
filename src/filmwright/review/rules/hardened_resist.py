"""Resist that a plasma hardened, in an ordinary solvent."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import replaces, stripper
from filmwright.review.finding import Change, Finding


def check(case: Case) -> Iterator[Finding]:
    """Strips in a plain solvent after the resist went through a plasma etch."""
    hardened = ""
    for state in case.trace.states:
        step = state.step
        if step.kind == "coat":
            hardened = ""
        elif step.kind == "etch" and case.facts.medium(step.medium).kind == "plasma":
            hardened = step.number
        elif step.kind == "strip" and hardened and case.facts.medium(step.medium).kind == "solvent":
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


def _stronger(case: Case, state: State) -> Change | None:
    """A stripper instead of the solvent, where one takes the resist."""
    bath = stripper(case, case.organics(case.before(state)))
    return replaces(case, state, "in", bath) if bath and bath != state.step.medium else None


RULE = Rule(
    name="hardened resist",
    loses="a clean surface under the next film",
    quantity="plasma etch between coat and solvent strip",
    source="common practice",
    check=check,
)
