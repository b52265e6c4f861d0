"""Chlorine left on aluminium."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import adds_after
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Steps between a chlorine plasma that leaves aluminium uncovered, at its edges too, and the next water or stripper."""
    for state in case.trace.states:
        medium = case.medium(state)
        if medium is None or not case.plasma(state) or "chlorine" not in medium.families:
            continue
        metals = sorted(
            name
            for name in case.materials(state.wafer.plan)
            if case.kind(name) == "conductor" and "aluminium" in case.facts.material(name).families
        )
        etched = state.step.material in metals
        bare = [name for name in metals if name in case.uncovered(state.wafer.plan)]
        later = case.after(state)
        if not (etched or bare) or (later and _wet(case, later[0])):
            continue
        yield finding(
            state,
            "warn",
            f"what follows {step_named(state)}",
            "a rinse or a strip at once",
            f"{later[0].step.title.lower()} with {', '.join(metals)} on the wafer" if later else "nothing",
            "chlorides take up water from the air and eat aluminium overnight",
            "rinse in plenty of water, or strip, before the wafer stands in air",
            "chlorine residues corrode aluminium until rinsed (common practice)",
            adds_after(
                case, state, "clean: water rinse", f"name: rinse after {state.step.name or 'the plasma'}"
            ),
        )


def _wet(case: Case, state: State) -> bool:
    medium = case.medium(state)
    return medium is not None and medium.kind in {"rinse", "stripper", "solvent"}


RULE = Rule(
    name="chlorine on aluminium",
    loses="leads, overnight",
    quantity="next step after a chlorine plasma with aluminium uncovered",
    source="common practice",
    answers=("titanium and chlorine",),
    check=check,
)
