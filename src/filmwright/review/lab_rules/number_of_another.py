"""A reading of something that its tool does not do."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.finding import Finding
from filmwright.review.lab_case import LabCase, LabRule, told


def check(case: LabCase) -> Iterator[Finding]:
    """What each reading is of against what the tool serves."""
    for number in case.numbers:
        tool = case.lab.tools.get(number.tool)
        if tool is None:
            continue
        methods = case.methods(tool)
        serves = {
            "deposition rate": bool(methods),
            "growth per cycle": any("cycles" in each.settings for each in methods),
            "tooling factor": any("monitor thickness" in each.settings for each in methods),
            "etch rate": case.etches(tool) or bool({"develop", "clean", "strip", "ash"} & set(tool.does)),
            "lamp intensity": "expose" in tool.does,
            "resist thickness": "coat" in tool.does,
            "hot-plate offset": "bake" in tool.does,
        }
        if not serves.get(number.of, True):
            yield told(
                "warn",
                f"the {number.name}",
                f"of a tool that has a {number.of}",
                f"{tool.name} serves {', '.join(tool.does)}",
                "no step ever asks for it, and the tool that was meant has none",
                "name the tool that was measured, or add the word to what it does",
                "the lab's own file",
                number.line,
            )


RULE = LabRule(
    name="reading of another tool",
    loses="a reading that nobody uses",
    quantity="what a reading is of − what its tool serves",
    source="the lab's own file",
    check=check,
)
