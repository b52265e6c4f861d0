"""A sheet resistance that another film shares."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from filmwright.review.case import Case, Rule, finding, percent, step_named
from filmwright.review.finding import Finding
from filmwright.wafer import Column


def check(case: Case) -> Iterator[Finding]:
    """Sheet conductance of conductors that lie on or under the measured film, over its own."""
    for state in case.trace.states:
        if state.step.kind != "measure" or "resistance" not in state.step.medium or not state.step.material:
            continue
        shares = [
            found
            for column in case.stacks(case.before(state))
            if (found := _beside(case, column, state.step.material)) is not None
        ]
        share, others = min(shares, default=(0.0, ""))
        # Where the film lies alone somewhere, a structure there can be measured.
        if share <= case.limit("parallel film"):
            continue
        yield finding(
            state,
            "warn",
            f"what carries the current in {step_named(state)}",
            f"{state.step.material}, and at most {case.limit_text('parallel film')} beside it",
            f"{others} carry {percent(share)} of what it carries",
            "films that lie on each other are measured in parallel",
            "measure it before the next film, on a witness, or take the other film's conductance off",
            case.limit_source("parallel film"),
        )


def _beside(case: Case, column: Column, material: str) -> tuple[float, str] | None:
    """Conductance of the neighbours over the film's own, and their names; None where the film does not lie."""
    sheets = {layer.film: _sheet(case, layer.material, layer.thickness) for layer in column.layers}
    own = sum(sheets[layer.film] for layer in column.layers if layer.material == material)
    if own == 0.0:
        return None
    others = {
        other.film: other.material
        for lower, upper in pairwise(column.layers)
        for layer, other in ((lower, upper), (upper, lower))
        if layer.material == material != other.material and sheets[other.film] > 0
    }
    return sum(sheets[film] for film in others) / own, ", ".join(sorted(set(others.values())))


def _sheet(case: Case, material: str, thickness: float) -> float:
    """Sheet conductance [S] of a conductor; 0 for anything else."""
    value = case.facts.material(material).values.get("resistivity")
    return thickness / value.value if value is not None and case.kind(material) == "conductor" else 0.0


RULE = Rule(
    name="sheet resistance of two films",
    loses="a resistivity, and what is computed from it",
    quantity="Σ thickness / resistivity of the neighbours over that of the film",
    limits=("parallel film",),
    source="conductors in parallel (Ohm's law)",
    answers=("measured",),
    check=check,
)
