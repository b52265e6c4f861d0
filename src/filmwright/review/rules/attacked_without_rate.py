"""A medium that is known to attack a film, nobody wrote down how fast."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.knowledge import believe
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding

_BATHS = {"etch", "clean"}
"""Steps whose medium is chosen for what it attacks; a developer, a rinse or a stripper only gives a warning."""


def check(case: Case) -> Iterator[Finding]:
    """Uncovered films that are meant to stay and that the medium attacks at a rate that is not on file."""
    for state in case.trace.states:
        if not state.exposed:
            continue
        attacked = {
            material: film for material in state.exposed if (film := _attacked(case, state, material))
        }
        if attacked:
            medium = case.facts.medium(state.step.medium)
            hints = [
                f"{name} ({rate})" if (rate := medium.rate(name).condition) else name for name in attacked
            ]
            yield finding(
                state,
                "stop" if state.step.kind in _BATHS else "warn",
                f"what {step_named(state)} reaches",
                f"no film that {medium.name} attacks",
                ", ".join(hints),
                "the film is uncovered and meant to stay, and how fast it goes is not on file",
                "cover it or choose another medium; if you know better, write the measured rate into the lab file",
                "; ".join(str(medium.rate(name).source) for name in list(attacked)[:1]),
            )


def _attacked(case: Case, state: State, material: str) -> str:
    """Label of an uncovered film of a material that is attacked at an unknown rate and meant to stay; else empty."""
    step, medium = state.step, case.facts.medium(state.step.medium)
    meant = material == step.material or material in medium.dissolves
    if meant or case.kind(material) in {"organic", "substrate"} or medium.rate(material).verdict != "attacks":
        return ""
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
    if known is not None:
        return ""
    for cell in case.before(state).once.cells:
        top = cell.column.top
        if top.material == material and case.meant_to_stay(state, top.film, material, cell.region):
            return top.film
    return ""


RULE = Rule(
    name="attacked, rate not on file",
    loses="the film, at a speed that nobody knows",
    quantity="uncovered films × media that attack them without a rate",
    source="strong cleans after metals and oxide semiconductors are forbidden unless the film is covered (common practice)",
    answers=("acid", "strong cleans"),
    spoils=("stop",),
    check=check,
)
