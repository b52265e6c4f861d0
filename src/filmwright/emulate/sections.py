"""The section along a cut, from what was done to the wafer: any line, once the die has been walked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from filmwright.emulate.trace import State
from filmwright.numerics import Polyline
from filmwright.wafer import Section, Wafer

_HANGING = {"bridged", "torn"}
"""Events of a section that tell of what a solvent left."""


def along(line: Polyline, start: Wafer, states: Sequence[State]) -> tuple[Wafer, list[State]]:
    """The wafer as bought and every state with a section along a line, and what lift-offs left on it.

    Parameters
    ----------
    line : Polyline [nm]
    start : Wafer
    states : sequence of State
        Of the nominal walk; their actions are applied to the section in turn.
    """
    body, *films = start.plan.columns[0].layers
    section = Section.start(
        line, body.material, [(layer.material, layer.film, layer.thickness) for layer in films]
    )
    begun = replace(start, section=section)
    found = []
    for state in states:
        left = []
        for action in state.actions:
            section = section.apply(action)
            left += [f"{e.material} {e.kind} on the cut" for e in section.events if e.kind in _HANGING]
        torn = tuple(dict.fromkeys((*state.torn, *left)))
        found.append(replace(state, wafer=replace(state.wafer, section=section), torn=torn))
    return begun, found
