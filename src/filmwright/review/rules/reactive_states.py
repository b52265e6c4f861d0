"""A flow of reactive gas at which the target has two states."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Flow of the plan between the flow that poisons the target and the one at which it clears again."""
    for state in case.trace.states:
        said = next((each for each in state.settings if each.name == "state of the target"), None)
        ratio = next((each for each in state.follows if each.name == "rate, poisoned over metal-like"), None)
        if said is None or not said.text.startswith("two states") or ratio is None or ratio.value is None:
            continue
        yield finding(
            state,
            "note",
            f"the flow of oxygen in {step_named(state)}",
            "outside the flows between which the target has two states, or held by its voltage",
            said.text.partition(":")[0],
            f"which of the two it is in depends on the way there; the poisoned one runs at {ratio.value:.0%} of the other",
            "go above or below, or come from the same side each time and write down the discharge voltage",
            str(said.source),
        )


RULE = Rule(
    name="gas flow between two states",
    loses="rate and composition",
    quantity="flow of the plan / flows at which the target is poisoned and clears",
    source="S. Berg, T. Nyberg, Thin Solid Films 476, 215 (2005) (from memory)",
    check=check,
    answers=("target",),
)
