"""A chamber that does not admit what is, or becomes, exposed."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.knowledge import Tool
from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import strips_before
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Families of the materials that are uncovered before or after the step, against the tool's admission list."""
    for state in case.trace.states:
        tool = case.lab.tools.get(state.step.tool)
        if tool is None or not tool.refuses:
            continue
        before, end = set(case.uncovered(case.before(state))), set(case.uncovered(state.wafer.plan))
        for moment, seen in (("before", before), ("at the end of", end - before)):
            refused = _refused(case, tool, seen - {state.step.material})
            organic = {name: why for name, why in refused.items() if case.kind(name) == "organic"}
            for what, found in (
                (f"the wafer {moment}", organic),
                (f"what is uncovered {moment}", {k: v for k, v in refused.items() if k not in organic}),
            ):
                if found:
                    yield finding(
                        state,
                        "stop",
                        f"{what} {step_named(state)}",
                        f"free of {', '.join(sorted(tool.refuses))} in {tool.name}",
                        ", ".join(f"{name} ({why})" for name, why in found.items()),
                        "it contaminates the chamber and everybody's next wafer",
                        "strip the resist before this step"
                        if found is organic
                        else "use a tool that admits it, cover it, or ask the owner of the tool and change the lab file",
                        f"admission list of {tool.name}, {case.lab.file or case.lab.name}:{tool.line}",
                        strips_before(case, state, found) if found is organic else None,
                    )


def _refused(case: Case, tool: Tool, seen: set[str]) -> dict[str, str]:
    """Material → its families that the tool refuses, for those that have one."""
    found = {}
    for name in sorted(seen):
        facts = case.facts.material(name)
        families = (facts.families | ({"organic"} if facts.kind == "organic" else set())) & tool.refuses
        if families:
            found[name] = ", ".join(sorted(families))
    return found


RULE = Rule(
    name="chamber refuses",
    loses="a chamber, for everybody",
    quantity="families uncovered before or at the end of the step ∩ the tool's list",
    source="the site's own admission rules (lab file)",
    answers=("heat and chambers",),
    check=check,
)
