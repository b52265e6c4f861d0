"""A wafer too bent for contact printing."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.process import bow, film_force
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show
from filmwright.wafer import Column


def check(case: Case) -> Iterator[Finding]:
    """Bow by the typical stress of all films, front less back, before each exposure; the first that is too much."""
    body = case.facts.material(case.flow.body.material).values
    if "modulus" not in body or "Poisson ratio" not in body:
        return
    biaxial = body["modulus"].value / (1 - body["Poisson ratio"].value)
    for state in case.trace.states:
        if state.step.kind != "expose":
            continue
        force = _force(case, state)
        if force == 0.0:
            continue
        # Stoney's radius for a film of force σ·h; the law takes any split of the product.
        radius = biaxial * case.flow.body.thickness**2 / (6 * force)
        height = abs(bow(case.flow.body.diameter, radius))
        if height > case.limit("bow"):
            yield finding(
                state,
                "warn",
                f"the bow of the wafer before {step_named(state)}",
                f"at most {case.limit_text('bow')}",
                f"{show(height, 'length')} ({force:.3g} N/m over {show(case.flow.body.diameter, 'length')})",
                "plate and resist do not meet all over, and the pattern widens where they do not",
                "thin the stressed film, deposit it on both faces, or use soft contact and wider lines",
                f"{case.limit_source('bow')}; Stoney's law with typical stresses",
            )
            return


def _force(case: Case, state: State) -> float:
    """Force per width [N/m] of the films on the front, weighted by area, less those on the back."""
    wafer = (
        case.trace.states[case.places[id(state)] - 1].wafer if case.places[id(state)] else case.trace.start
    )
    stacks = case.stacks(wafer.plan)
    front = sum(area * _of(case, column) for column, area in stacks.items()) / sum(stacks.values())
    return front - (_of(case, wafer.places["back"]) if "back" in wafer.places else 0.0)


def _of(case: Case, column: Column) -> float:
    stresses = ((layer, case.stress(layer.material, layer.film)) for layer in column.layers[1:])
    return sum(film_force(stress.value, layer.thickness) for layer, stress in stresses if stress is not None)


RULE = Rule(
    name="wafer bow",
    loses="line width at the rim, or the wafer on the chuck",
    quantity="D² / 8R with R = M h² / 6 Σσh, front less back",
    limits=("bow",),
    source="G. G. Stoney, Proc. R. Soc. A 82, 172 (1909)",
    answers=("stress",),
    check=check,
)
