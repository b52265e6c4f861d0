"""A film of several sources that is not the material that it is called."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Part of each metal against what the plan wants, else against what is on file for the material."""
    for state in case.trace.states:
        parts = {
            each.name.removeprefix("part of "): each.value
            for each in state.follows
            if each.name.startswith("part of ") and each.value is not None
        }
        usual = case.facts.material(state.step.material).composition if parts else {}
        off = []
        for element, part in parts.items():
            wanted = state.step.composition.get(element)
            if wanted is not None:
                band = case.limit("composition off")
                low, high = max(wanted - band, 0.0), wanted + band
            elif element in usual:
                low, high = usual[element].low, usual[element].high
            else:
                continue
            if not low <= part <= high:
                off.append((element, part, low, high))
        if off:
            source = (
                case.limit_source("composition off")
                if state.step.composition
                else str(next(iter(usual.values())).source)
            )
            yield finding(
                state,
                "warn",
                f"the composition of {step_named(state)}",
                ", ".join(
                    f"{e} {show(low, 'fraction')} to {show(high, 'fraction')}" for e, _, low, high in off
                ),
                ", ".join(f"{e} {show(part, 'fraction')}" for e, part, _, _ in off)
                + " of the metals by number",
                f"carriers, mobility and etch rate of {state.step.material} hang on it: the film is another material",
                "change the powers, or leave them out and write composition: so that they are computed",
                source,
            )


RULE = Rule(
    name="composition off",
    loses="the material",
    quantity="part of each metal by number, from the rates of its sources",
    limits=("composition off",),
    source="counting of arrivals; composition of the material, with its source",
    answers=("target",),
    check=check,
)
