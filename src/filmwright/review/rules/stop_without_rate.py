"""An etch that ends on a film of which nobody knows how fast it goes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from filmwright.emulate import State
from filmwright.knowledge import believe, halide_leaves_at
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import write


def check(case: Case) -> Iterator[Finding]:
    """Films that an etch uncovers, that are meant to stay, and whose rate in its medium is not on file."""
    for state in case.trace.states:
        if state.step.kind != "etch":
            continue
        new = _uncovered(case, state)
        blind = [
            name
            for name in sorted(new)
            if _stays(case, state, name, new[name]) and _unrated(case, state, name)
        ]
        if blind:
            hints = [hint for name in blind if (hint := _hint(case, state, name))]
            yield finding(
                state,
                "warn",
                f"the stop of {step_named(state)} on {', '.join(blind)}",
                "a rate on file, or known not to be attacked",
                "nothing on file" + (f"; {'; '.join(hints)}" if hints else ""),
                "the over-etch goes into it at a speed that nobody knows; how volatile a product is warns, and proves nothing",
                "etch a witness of it for ten minutes first, and write the rate (or zero) into the lab file",
                "a stop layer needs a rate on file (common practice)",
            )


def _uncovered(case: Case, state: State) -> Mapping[str, str]:
    """Material → film of what lies open after a step and did not before it."""
    before = case.uncovered(case.before(state))
    return {
        column.top.material: column.top.film
        for column in case.stacks(state.wafer.plan)
        if column.top.material not in before
        and case.kind(column.top.material) not in {"organic", "substrate"}
        and len(column.layers) > 1
    }


def _stays(case: Case, state: State, material: str, film: str) -> bool:
    return any(
        case.meant_to_stay(state, film, material, cell.region)
        for cell in state.wafer.plan.once.cells
        if cell.column.top.film == film
    )


def _unrated(case: Case, state: State, material: str) -> bool:
    step, medium = state.step, case.facts.medium(state.step.medium)
    rate = medium.rate(material)
    if rate.verdict == "does not attack" or rate.value is not None:
        return False
    known = believe(
        case.lab,
        case.facts,
        of="etch rate",
        tool=step.tool,
        material=material,
        medium=medium.name,
        recipe=step.recipe,
        on=case.trace.on,
    )
    return known is None


def _hint(case: Case, state: State, material: str) -> str:
    """At what temperature its fluoride or chloride boils, as a hint."""
    medium = case.facts.medium(state.step.medium)
    for family in ("fluorine", "chlorine"):
        found = halide_leaves_at(material, family) if family in medium.families else None
        if found is not None:
            name, kelvin = found
            return f"{name} leaves at {write(kelvin, 'degC')}"
    return ""


RULE = Rule(
    name="stop without a rate",
    loses="the film on which the etch should stop",
    quantity="films that an etch uncovers × rates on file",
    source="a stop layer needs a rate on file; boiling points of halides are a hint (CRC Handbook, from memory)",
    answers=("stop on file",),
    check=check,
)
