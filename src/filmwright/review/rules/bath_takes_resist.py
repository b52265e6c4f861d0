"""A bath that takes the resist which the next step needs."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Resists that a clean, a rinse or an etch dissolves, while a later step still needs their pattern."""
    for state in case.trace.states:
        medium = case.medium(state)
        if medium is None or state.step.kind not in {"clean", "rinse", "etch"}:
            continue
        taken = sorted(medium.dissolves & case.organics(case.before(state)))
        ends = (later.step.kind for later in case.after(state) if later.step.kind in _USES | _ENDS)
        needs = next(ends, "") in _USES
        if taken and (needs or state.step.kind == "etch"):
            yield finding(
                state,
                "stop",
                f"the resist in {step_named(state)}",
                f"left alone by {medium.name}",
                f"{', '.join(taken)} dissolved over {show(sum(state.exposed.get(name, 0.0) for name in taken), 'area')}",
                "the pattern is gone, and the next step works on the whole wafer",
                "leave this bath out, or do it before the lithography",
                "what the bath dissolves",
            )


_USES = {"etch", "lift off", "deposit"}
_ENDS = {"strip", "coat"}


RULE = Rule(
    name="bath takes resist",
    loses="the pattern",
    quantity="resists that the bath dissolves before the step that they mask",
    source="what the bath dissolves",
    answers=("resist lasts",),
    spoils=("stop",),
    check=check,
)
