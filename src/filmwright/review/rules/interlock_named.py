"""Gases that need an interlock and an alarm."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Steps whose hazard entry asks for an interlock, on tools whose note does not name one."""
    seen: set[str] = set()
    for state in case.trace.states:
        need, tool = state.safety.interlock, case.lab.tools.get(state.step.tool)
        if not need or (tool is not None and "interlock" in tool.note.lower()) or state.step.tool in seen:
            continue
        seen.add(state.step.tool)
        yield finding(state, "note", f"interlock and alarm of {step_named(state)}", need, "not named in the lab file", "the step's gas is toxic or burns in air",
                      "write the interlock and its alarm level into the note of the tool", "hazard entry of the step; the site's own rules go first")  # fmt: skip


RULE = Rule(name="interlock not named", loses="people", quantity="interlocks asked for − interlocks named", source="hazard entries", check=check)
