"""A bake far from what the resist takes."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import removes
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Temperature and time of the bake in the plan against the range of the resist, and what the heat leaves of its compound."""
    for state in case.trace.states:
        for what in ("temperature", "time"):
            asked = state.step.asked.get(f"softbake {what}")
            if state.step.kind != "bake" or asked is None:
                continue
            usual = case.facts.resist(state.step.resist).values[f"softbake {what}"]
            if usual.low <= asked.value <= usual.high:
                continue
            yield finding(
                state,
                "warn",
                f"the {what} of {step_named(state)}",
                f"{show(usual.low, what)} to {show(usual.high, what)}, usually {show(usual.value, what)}",
                f"{show(asked.value, what)}{_left(state)}",
                "too much heat destroys what light acts on, too little leaves solvent: soft, thick, and eaten where it is dark",
                "bake as usual, or run a dose series on a dummy that was baked so",
                str(usual.source),
                removes(case, state, f"softbake {what}"),
            )


def _left(state: State) -> str:
    """What the heat leaves of the compound, where it is known."""
    found = next((each for each in state.follows if each.name == "compound that the bake leaves"), None)
    return (
        ""
        if found is None or found.value is None
        else f": it leaves {100 * found.value:.3g} % of the compound"
    )


RULE = Rule(
    name="bake off the range",
    loses="line width, or the pattern",
    quantity="temperature and time of the bake / range of the resist; exp(−k t) of its compound",
    source="ranges of the resists, each with its source; F. H. Dill, J. M. Shaw (1977) (from memory)",
    answers=("dose", "typed"),
    check=check,
)
