"""Gases that need an interlock and an alarm."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate import State
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding

_HARMLESS = {"argon", "oxygen", "nitrogen", "air", "helium"}


def check(case: Case) -> Iterator[Finding]:
    """Steps with a toxic, corrosive or self-igniting gas, on tools whose note names no interlock."""
    seen: set[str] = set()
    for state in case.trace.states:
        tool = case.lab.tools.get(state.step.tool)
        if (
            not _gas(case, state)
            or state.step.tool in seen
            or (tool is not None and "interlock" in tool.note.lower())
        ):
            continue
        seen.add(state.step.tool)
        yield finding(
            state,
            "note",
            f"interlock and alarm of {step_named(state)}",
            state.safety.interlock or "named",
            "not named in the lab file",
            "its gas is toxic, corrosive or burns in air",
            "write the interlock and its alarm level into the note of the tool",
            "hazard entry of the step; the site's own rules go first",
        )


def _gas(case: Case, state: State) -> bool:
    if state.step.kind == "deposit":
        return "hydrogen-bearing plasma" in case.facts.method(state.step.method).families
    if not state.step.medium or state.step.medium not in case.facts.media:
        return False
    return bool(set(case.facts.medium(state.step.medium).gases) - _HARMLESS)


RULE = Rule(
    name="interlock not named",
    loses="people",
    quantity="toxic, corrosive or self-igniting gas without a named interlock",
    source="hazard entries",
    answers=("alarms",),
    check=check,
)
