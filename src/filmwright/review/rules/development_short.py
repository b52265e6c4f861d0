"""A development that ends before the worst window is clear."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import clearing_of, lit
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Time to clear after a dose or in a time that the plan fixes itself, at the window that takes up least light."""
    typed = {s.step.name for s in case.trace.states if {"dose", "develop time"} & set(s.step.asked)}
    exposures = [s for s in case.trace.states if s.step.kind == "expose" and s.step.name in typed]
    optics = lit(case.trace, case.facts, [s.step.number for s in exposures]) if exposures else {}
    for one in optics.values():
        step = one.state.step
        develop = next(
            (s for s in case.after(one.state) if s.step.kind == "develop" and s.step.name == step.name), None
        )
        cleared = clearing_of(one, case.facts.resist(step.resist), case.facts, deep=False)
        if develop is None or not cleared:
            continue
        needs, has = max(each.value or 0.0 for each in cleared), case.time(develop)
        if needs <= has * case.limit("clearing"):
            continue
        yield finding(
            develop,
            "warn",
            f"the time of {step_named(develop)}",
            f"longer than the resist takes to clear over {one.least_lit.named}",
            f"{show(has, 'time')}, and it takes about {show(needs, 'time')} after this dose",
            "a skin of resist stays in the windows; the etch stops on it, a contact lies on it",
            "give the usual dose or the usual time, or look for the end of clearing on a dummy and develop half as long again",
            case.limit_source("clearing"),
        )


RULE = Rule(
    name="developed before it is clear",
    loses="the windows over films that take light from the resist",
    quantity="∫ dz / R(M) over the latent image at the worst window / time in the developer",
    limits=("clearing",),
    source="C. A. Mack, J. Electrochem. Soc. 134, 148 (1987) (from memory)",
    answers=("dose", "typed"),
    check=check,
)
