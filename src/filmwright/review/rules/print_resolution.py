"""A line, a window or a space finer than contact printing resolves."""

from __future__ import annotations

import math
from collections.abc import Iterator

from filmwright.emulate import State
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
        gap = _gap(case, state)
        least = shadow_print_width(lamp.value, gap, coat.thickness)
        line, space = case.narrowest(printed), case.narrowest_space(printed, least)
        found = min(line or math.inf, space or math.inf)
        if found < least:
            yield finding(
                state,
                "warn",
                f"the narrowest {'line or window' if found == line else 'space'} of {state.step.mask}, {step_named(state)}",
                f"at least {show(least, 'length')} at a gap of {show(gap, 'length')}",
                show(found, "length"),
                "light bends into the shadow over the gap that edge bead and bow leave",
                "draw it wider, thin the resist, take the bead off (bead removed: yes), or press harder and write the gap in the lab file",
                f"W = 3/2 √(λ (gap + resist / 2)); {case.limit_source('contact gap')}",
            )


def _gap(case: Case, develop: State) -> float:
    """Gap [m] at the exposure before a development: of the plan, of the lab, else computed; the limit where nothing was."""
    before = case.trace.states[: case.places[id(develop)]]
    exposure = next((s for s in reversed(before) if s.step.kind == "expose"), None)
    told = [each.value for each in (exposure.follows if exposure is not None else ()) if each.name == "gap"]
    return told[0] if told and told[0] is not None else case.limit("contact gap")


RULE = Rule(
    name="line below resolution",
    loses="lines, windows and spaces, all over the die",
    quantity="narrowest line, window or space of a level / 3/2 √(λ (gap + resist / 2))",
    limits=("contact gap",),
    source="M. J. Madou, Fundamentals of Microfabrication (from memory)",
    answers=("resolution",),
    check=check,
)
