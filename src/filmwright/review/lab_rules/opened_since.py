"""A number that was read before its tool was last opened."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.finding import Finding
from filmwright.review.lab_case import LabCase, LabRule, told


def check(case: LabCase) -> Iterator[Finding]:
    """Newest maintenance of each tool against the newest reading that counts, one finding for a tool."""
    for tool in case.lab.tools.values():
        opened = [each for each in tool.maintenance if each.date <= case.on]
        if not opened:
            continue
        last = opened[-1]
        old = [
            number
            for number in case.numbers
            if number.tool == tool.name
            and number.belief is not None
            and "opened since" in number.belief.reason
        ]
        if old:
            yield told(
                "warn",
                f"what is known of {tool.name}",
                f"measured since it was opened on {last.date} ({last.done})",
                "only before it: " + ", ".join(f"{each.name} (line {each.line})" for each in old),
                "what was measured before a maintenance is the state of another tool",
                "measure it again before a wafer that matters, and say after maintenance: yes",
                "a calibration after maintenance outdates what came before (common practice)",
                last.line,
            )


RULE = LabRule(
    name="not measured since maintenance",
    loses="thickness",
    quantity="date of the last maintenance − date of the newest reading",
    source="tools change when they are opened (common practice)",
    check=check,
)
