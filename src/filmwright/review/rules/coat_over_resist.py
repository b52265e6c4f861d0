"""Resist coated over resist."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import strips_before
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Uncovered area of old resist before a coat of new resist."""
    for state in case.trace.states:
        if state.step.kind != "coat":
            continue
        bare = case.uncovered(case.before(state))
        old = {name: area for name, area in bare.items() if case.kind(name) == "organic"}
        old = {name: area for name, area in old.items() if name not in case.materials_at_the_end}
        if old:
            yield finding(
                state,
                "stop",
                f"the wafer before {step_named(state)}",
                "free of resist",
                ", ".join(f"{name} over {show(area, 'area')}" for name, area in sorted(old.items())),
                "the two mix, the old pattern develops again and neither sticks",
                "add the forgotten strip before this lithography",
                "read off the emulated wafer",
                strips_before(case, state, frozenset(old)),
            )


RULE = Rule(
    name="coated over resist",
    loses="two patterns",
    quantity="uncovered resist before a coat",
    source="read off the emulated wafer",
    answers=("organic in heat",),
    spoils=("stop",),
    check=check,
)
