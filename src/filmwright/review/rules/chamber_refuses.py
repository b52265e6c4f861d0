"""A chamber that does not admit what is, or becomes, exposed."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, exposed, finding, step_named
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Families of the materials that are uncovered before or after the step, against the tool's admission list."""
    for state in case.trace.states:
        tool = case.lab.tools.get(state.step.tool)
        if tool is None or not tool.refuses:
            continue
        seen: dict[str, str] = {}
        for moment, plan in (("before", case.before(state)), ("at the end of", state.wafer.plan)):
            for material in exposed(plan):
                seen.setdefault(material, moment)
        for material, moment in sorted(seen.items()):
            facts = case.facts.material(material)
            families = (facts.families | ({"organic"} if facts.kind == "organic" else set())) & tool.refuses
            own = material in {state.step.material}
            if not families or own:
                continue
            yield finding(
                state,
                "stop",
                f"what is uncovered {moment} {step_named(state)}",
                f"free of {', '.join(sorted(tool.refuses))} in {tool.name}",
                f"{material} ({', '.join(sorted(families))})",
                "it contaminates the chamber and everybody's next wafer",
                "use a tool that admits it, cover it, or ask the owner of the tool and change the lab file",
                f"admission list of {tool.name}, {case.lab.file or case.lab.name}:{tool.line}",
            )


RULE = Rule(
    name="chamber refuses",
    loses="a chamber, for everybody",
    quantity="families uncovered before or at the end of the step ∩ the tool's list",
    source="the site's own admission rules (lab file)",
    check=check,
)
