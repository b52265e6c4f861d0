"""A strip or a lift-off in a bath that does not take the resist."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import replaces, stripper
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Resists on the wafer of which the bath of a strip or a lift-off is no stripper; those made to stay are not meant."""
    for state in case.trace.states:
        if state.step.kind not in {"strip", "lift off"}:
            continue
        medium = case.facts.medium(state.step.medium)
        there = case.materials(case.before(state))
        resists = [each for each in case.facts.resists.values() if each.material in there]
        left = {each.material: each.strippers for each in resists if medium.name not in each.strippers}
        for material in [name for name in left if name in medium.dissolves]:
            del left[material]
        if left:
            names, takes = sorted(left), sorted(set.intersection(*(set(found) for found in left.values())))
            yield finding(
                state,
                "stop",
                f"the bath of {step_named(state)}",
                "a stripper of " + ", ".join(names),
                medium.name,
                "the resist stays, whole or in part, and goes into the next step",
                "use " + (" or ".join(takes) or "one bath after another, each for its own resist"),
                "strippers of each resist (common practice)",
                replaces(case, state, "in", bath) if (bath := stripper(case, left)) else None,
            )


RULE = Rule(
    name="bath leaves resist",
    loses="the next film, and the chamber that gets the resist",
    quantity="resists on the wafer that the bath does not dissolve",
    source="strippers of each resist (common practice)",
    answers=("hardened resist",),
    spoils=("stop",),
    check=check,
)
