"""What the settings of a flow take: every planner with its derivations, on wafers that a walk has left already."""

from __future__ import annotations

from filmwright.emulate import Trace
from filmwright.emulate.context import Context
from filmwright.emulate.walk import PLANNERS
from filmwright.knowledge import Book
from filmwright.numerics import Region
from filmwright.wafer import Print


def dialled_in(trace: Trace, facts: Book) -> int:
    """Plan each step again on the wafer before it, with every law written out and every band; answers how many numbers there are.

    Nothing is put on the wafer, etched or drawn: that is the walk, which gave the wafers.
    """
    ctx = Context(
        flow=trace.flow, lab=trace.lab, facts=facts, on=trace.on, remaining=_remaining(trace, facts)
    )
    before, shown = trace.start, []
    for state in trace.states:
        planned = PLANNERS[state.step.kind](state.step, ctx, before.plan)
        told = [each.derivation for each in (*planned.settings, *planned.follows)]
        shown += [(each.shown, each.worked, each.band) for each in told]
        before = state.wafer
    return len(shown)


def _remaining(trace: Trace, facts: Book) -> dict[tuple[str, str], Region]:
    """Where the resist of each level stays, as the walk printed it."""
    return {
        (state.step.mask, facts.resist(state.step.resist).tone): action.keep
        for state in trace.states
        for action in state.actions
        if isinstance(action, Print)
    }
