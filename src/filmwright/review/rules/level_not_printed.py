"""A mask level that no step prints."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Levels of the plan less those that are printed."""
    printed = {state.step.mask for state in case.trace.states if state.step.kind == "develop"}
    for name, level in case.flow.masks.items():
        if name not in printed and case.finished:
            yield finding(
                case.last,
                "warn",
                f"the mask level {name}",
                "printed by a step",
                f"printed by none; {len(printed)} of {len(case.flow.masks)} levels are",
                "a lithography was forgotten, or the plan names a level that it does not need",
                f"add  pattern: {name}, or take the level out of the plan",
                "the plan's masks block",
                line=level.line,
            )


RULE = Rule(
    name="level never printed",
    loses="a layer of the device",
    quantity="levels of the plan − levels printed",
    source="the plan's masks block",
    answers=("tone",),
    spoils=(
        "stop",
        "warn",
    ),
    follows=True,
    check=check,
)
