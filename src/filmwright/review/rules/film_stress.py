"""A film whose stress peels or cracks it."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.process import energy_release, film_force
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show
from filmwright.wafer import Grow


def check(case: Case) -> Iterator[Finding]:
    """Energy release of every film against its adhesion; where only the far end of the stress passes the limit, one note."""
    limit, doubtful = case.limit("stress energy"), []
    for state in case.trace.states:
        values = case.facts.material(state.step.material).values if state.step.kind == "deposit" else {}
        film = next((each.film for each in state.actions if isinstance(each, Grow)), "")
        stress = case.stress(state.step.material, film) if values else None
        if stress is None or "modulus" not in values or not state.thickness:
            continue
        modulus = values["modulus"].value
        typical = energy_release(stress.value, state.thickness, modulus)
        worst = max(energy_release(each, state.thickness, modulus) for each in (stress.low, stress.high))
        if typical > limit:
            yield finding(
                state,
                "warn",
                f"the stress of the film of {step_named(state)}",
                f"at most {limit:g} J/m²",
                f"{typical:.2g} J/m² typical, up to {worst:.2g} ({show(stress.value, 'stress')} in {show(state.thickness, 'length')},"
                f" {film_force(stress.value, state.thickness):.3g} N/m)",
                "a film gives back more energy than holds it: it cracks or peels from its edges",
                "thin the film, lower its stress by pressure or temperature, or grow a layer beneath that sticks",
                f"{case.limit_source('stress energy')}; stress: {stress.source}",
            )
        elif worst > limit:
            doubtful.append(f"{state.step.material} of step {state.step.number} ({worst:.2g} J/m²)")
    if doubtful:
        yield finding(
            case.last,
            "note",
            "the stress of the films at the far end of its range",
            f"at most {limit:g} J/m²",
            ", ".join(doubtful),
            "their typical stress is harmless, but nobody measured it here",
            "measure the bow of a witness before and after, and write the stress down",
            case.limit_source("stress energy"),
        )


RULE = Rule(
    name="film stress",
    loses="films, in flakes",
    quantity="stress² × thickness / modulus, typical and at the far end",
    limits=("stress energy",),
    source="energy release G = σ² h / E (J. W. Hutchinson, Z. Suo, 1992, from memory)",
    answers=("stress",),
    check=check,
)
