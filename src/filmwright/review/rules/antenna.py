"""A gate charged by a plasma."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Conductor on the net of a gate over the area of its channel, where a plasma meets metal of that net."""
    etches = [state for state in case.trace.states if state.step.kind == "etch" and case.plasma(state)]
    etches = [state for state in etches if _meets_metal(case, state)]
    if not etches or not case.transistors:
        return
    areas = _areas(case)
    worst, name = max(
        (areas.get(device.nets.get("gate", -1), 0.0) / device.area, device.name or "a transistor")
        for device in case.transistors
        if device.area > 0
    )
    if worst > case.limit("antenna"):
        yield finding(
            etches[-1],
            "warn",
            f"the metal that gathers charge in {step_named(etches[-1])}",
            f"at most {case.limit_text('antenna')} times its gate",
            f"{worst:.3g} times at {name}",
            "charge gathered by a large pad leaves through the thin insulator of a small gate",
            "open pads in a bath, lower the power, tie gates together with a strap that is cut at the end, or anneal and check the leakage",
            case.limit_source("antenna"),
        )


def _meets_metal(case: Case, state: State) -> bool:
    uncovered = {*case.uncovered(case.before(state)), *case.uncovered(state.wafer.plan)}
    return any(case.kind(name) == "conductor" for name in uncovered)


def _areas(case: Case) -> Mapping[int, float]:
    """Net → area [m²] of the pieces of the die that carry it."""
    return case.trace.nets.map.areas


RULE = Rule(
    name="gate charged by plasma",
    loses="gate insulators, here and there",
    quantity="conductor on the net of the gate / area of its channel",
    limits=("antenna",),
    source="antenna rule (common practice)",
    answers=("channel in plasma",),
    check=check,
)
