"""A metal that climbs a step."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Thickness of a conductor over the highest step of conductors and semiconductors that it runs over."""
    states = case.trace.states
    for state in states:
        if state.step.kind != "deposit" or case.kind(state.step.material) != "conductor" or not state.thickness:
            continue
        if _under_resist_only(case, state) or _followed_by_conductor(case, state):
            continue
        step = _highest_step(case, state)
        total = _stack(case, state)
        if step <= 0 or total / step >= case.limit("climb"):
            continue
        yield finding(
            state, "warn", f"the metal over the step that it climbs, {step_named(state)}", f"at least {case.limit_text('climb')} times the step",
            f"{total / step:.1f} ({show(total, 'length')} over {show(step, 'length')})", "a film in line of sight thins or breaks on a steep wall",
            "thicken it, taper the edge beneath, or lead it around the step", case.limit_source("climb"),
        )  # fmt: skip


def _followed_by_conductor(case: Case, state) -> bool:  # type: ignore[no-untyped-def]
    later = case.after(state)
    return bool(later) and later[0].step.kind == "deposit" and case.kind(later[0].step.material) == "conductor"


def _stack(case: Case, state) -> float:  # type: ignore[no-untyped-def]
    """Thickness of the metals put down in a row up to this one [m]."""
    total, place = 0.0, case.places[id(state)]
    while place >= 0 and case.trace.states[place].step.kind == "deposit":
        total += case.trace.states[place].thickness or 0.0
        place -= 1
    return total


def _under_resist_only(case: Case, state) -> bool:  # type: ignore[no-untyped-def]
    return all(case.kind(cell.column[-1].material) == "organic" for cell in case.before(state).cells)


def _highest_step(case: Case, state) -> float:  # type: ignore[no-untyped-def]
    """Highest difference in height [m] between places where the metal of this step stays and whose films were etched."""
    labels = {layer.film for cell in state.wafer.plan.cells for layer in cell.column[-1:] if layer.material == state.step.material}
    tops = []
    for cell in case.trace.final.plan.cells:
        heights = [layer.film for layer in cell.column]
        mine = [place for place, film in enumerate(heights) if film in labels]
        if mine:
            tops.append(sum(layer.thickness for layer in cell.column[1 : mine[0]]))
    return max(tops) - min(tops) if tops else 0.0


RULE = Rule(name="metal climbs a step", loses="leads, at every edge", quantity="metal thickness / step height", limits=("climb",), source="about 1.5 times the step (common practice)", check=check)
