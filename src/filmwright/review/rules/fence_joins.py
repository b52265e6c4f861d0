"""A fence: what a steep etch leaves of a film along the walls that it climbed."""

from __future__ import annotations

import math
from collections.abc import Iterator

from filmwright.emulate import EdgeSeen, State
from filmwright.review.case import Case, Rule, finding, percent, step_named
from filmwright.review.finding import Finding
from filmwright.review.places import at
from filmwright.units import show
from filmwright.wafer import Fence, Remove

_SHOWN = 6


def check(case: Case) -> Iterator[Finding]:
    """Fences of conductors on the finished die: their height, what they join, and the over-etch that clears them."""
    if not case.finished:
        return
    tallest: dict[str, tuple[Fence, EdgeSeen]] = {}
    for seen in case.trace.edges.seen:
        for fence in seen.profile.fences:
            if case.kind(fence.material) != "conductor":
                continue
            if fence.film not in tallest or fence.height > tallest[fence.film][0].height:
                tallest[fence.film] = fence, seen
    joined = case.trace.fenced
    for fence, seen in tallest.values():
        state = _etch(case, fence.material)
        if state is None:
            continue
        yield finding(
            state,
            "stop" if joined else "note",
            f"{fence.material} along the walls after {step_named(state)}",
            "none",
            f"a fence {show(fence.height, 'length')} high and {show(fence.width, 'length')} wide along a wall of "
            f"{fence.beside or 'the step'} {at(seen.kind.place)}"
            + (f"; it joins {_named(joined)}" if joined else ""),
            "a film that covers walls is as high there as film and step together; a fence runs all round its island and conducts",
            f"{_cleared(state, fence)}; then look at what that takes from the film beneath",
            "emulated as a section across the edge",
        )


def _etch(case: Case, material: str) -> State | None:
    """The etch that left a fence of a material."""
    return next(
        (s for s in reversed(case.trace.states) if s.step.kind == "etch" and s.step.material == material),
        None,
    )


def _cleared(state: State, fence: Fence) -> str:
    """The over-etch after which a fence is gone: from above, or from its side where the etch goes sideways."""
    etch = next((action for action in state.actions if isinstance(action, Remove)), None)
    if etch is None or fence.material not in etch.rates:
        return "etch longer"
    rate = etch.rates[fence.material]
    aside = fence.width / rate.sideways if rate.sideways > 0 else float("inf")
    total = etch.time + min(fence.height / rate.down, aside)
    over = state.step.end.extra if state.step.end is not None else None
    if over is None:
        return f"etch {show(total, 'time')} instead of {show(etch.time, 'time')}"
    needed = math.ceil((total / etch.time * (1 + over) - 1) * 20) / 20
    return f"over-etch at least {percent(needed)} instead of {percent(over)}, {show(total, 'time')} in all"


def _named(joined: tuple[tuple[str, str], ...]) -> str:
    labels = sorted({label for pair in joined for label in pair})
    return ", ".join(labels[:_SHOWN]) + (f" and {len(labels) - _SHOWN} more" if len(labels) > _SHOWN else "")


RULE = Rule(
    name="fence along walls",
    loses="isolation of source, drain and gate lead",
    quantity="height left = step + film − rate × time, and the nets that it joins",
    source="geometry, emulated",
    answers=("fences",),
    follows=True,
    check=check,
)
