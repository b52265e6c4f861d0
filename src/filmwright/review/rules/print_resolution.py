"""A line, a window or a space finer than contact printing resolves."""

from __future__ import annotations

import math
from collections.abc import Iterator

from filmwright.process import shadow_print_width
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show
from filmwright.wafer import Print


def check(case: Case) -> Iterator[Finding]:
    """Narrowest line, window and space of each printed level against the smallest width at the gap of the lab."""
    lamp = case.facts.models["mercury lamp"]["g line"]
    for state in case.trace.states:
        printed = next((action for action in state.actions if isinstance(action, Print)), None)
        coat = case.coat_before(state)
        if printed is None or coat is None or not coat.thickness:
            continue
        least = shadow_print_width(lamp.value, case.limit("contact gap"), coat.thickness)
        line, space = case.narrowest(printed), case.narrowest_space(printed, least)
        found = min(line or math.inf, space or math.inf)
        if found < least:
            yield finding(
                state,
                "warn",
                f"the narrowest {'line or window' if found == line else 'space'} of {state.step.mask}, {step_named(state)}",
                f"at least {show(least, 'length')} at a gap of {case.limit_text('contact gap')}",
                show(found, "length"),
                "light bends into the shadow over the gap that edge bead and bow leave",
                "draw it wider, thin the resist, take off the edge bead, or press harder and change the gap in the lab file",
                f"W = 3/2 √(λ (gap + resist / 2)); {case.limit_source('contact gap')}",
            )


RULE = Rule(
    name="line below resolution",
    loses="lines, windows and spaces, all over the die",
    quantity="narrowest line, window or space of a level / 3/2 √(λ (gap + resist / 2))",
    limits=("contact gap",),
    source="M. J. Madou, Fundamentals of Microfabrication (from memory)",
    answers=("resolution",),
    check=check,
)
