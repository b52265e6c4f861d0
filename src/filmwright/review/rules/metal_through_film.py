"""A metal that heat drives through the film that keeps it away."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Diffusion length of every metal in the insulator or semiconductor film beside it, over all heats, against its thickness."""
    states = {state.step.number: state for state in case.trace.states}
    for each in case.heat.diffused:
        # What diffuses need not be a film: hydrogen is none.
        known = case.facts.materials.get(each.what)
        if (
            known is None
            or known.kind != "conductor"
            or case.kind(each.host) not in {"insulator", "semiconductor"}
        ):
            continue
        if each.share > case.limit("diffusion share"):
            yield finding(
                states[each.step],
                "warn",
                f"the way of {each.what} in {each.film} up to {step_named(states[each.step])}",
                f"at most {case.limit_text('diffusion share')} of its {show(each.thickness, 'length')}",
                f"√(Σ D·t) = {show(each.length, 'length')}, {each.share:.0%}"
                + (", outside the measured temperatures" if each.outside else ""),
                "the metal comes out on the other side: the insulator leaks and breaks down early, the channel is doped",
                "put a barrier between them, or anneal before the metal",
                f"{case.limit_source('diffusion share')}; diffusivity: {each.source}",
            )


RULE = Rule(
    name="metal through a film",
    loses="insulation, slowly",
    quantity="√(Σ D·t) over the thickness of the film",
    limits=("diffusion share",),
    source="J. Crank, The Mathematics of Diffusion (1975), ch. 7 (from memory)",
    answers=("heat and chambers",),
    check=check,
)
