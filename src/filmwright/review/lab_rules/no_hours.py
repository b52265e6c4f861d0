"""A lab of which nobody knows when it is open."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.finding import Finding
from filmwright.review.lab_case import LabCase, LabRule, told


def check(case: LabCase) -> Iterator[Finding]:
    """Hours of the lab, or else of each tool."""
    if case.lab.hours is not None:
        return
    without = [tool for tool in case.lab.tools.values() if tool.hours is None]
    if without:
        yield told(
            "note",
            "the opening hours",
            "said of the lab, or of every tool",
            "nothing of " + ", ".join(tool.name for tool in without),
            "no day can be planned, and no step that is longer than a day is found",
            'write "open: 08:00-18:00" and "days: Mon-Fri" beside the name of the lab',
            "the lab's own file",
            without[0].line,
        )


RULE = LabRule(
    name="no opening hours",
    loses="a wafer in a closed tool",
    quantity="tools without hours where the lab has none",
    source="the lab's own file",
    check=check,
)
