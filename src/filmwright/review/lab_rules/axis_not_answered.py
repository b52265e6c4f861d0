"""A chamber that says nothing of an axis of admission."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.knowledge import FAMILY_AXIS
from filmwright.review.finding import Finding
from filmwright.review.lab_case import LabCase, LabRule, told

_CHAMBERS = {"anneal", "plasma etch"}


def check(case: LabCase) -> Iterator[Finding]:
    """Tools with a chamber less those that say whom they admit, for each axis of the site."""
    for axis, classes in case.lab.admission.items():
        silent = [
            tool.name
            for tool in case.lab.tools.values()
            if axis not in tool.admits
            and (case.methods(tool) or _CHAMBERS & set(tool.does) or any(map(case.etchant, tool.does)))
        ]
        if silent and axis != FAMILY_AXIS:
            yield told(
                "note",
                f"the admission by {axis}",
                "answered by every tool with a chamber",
                f"nothing of {', '.join(silent)}",
                "a tool that says nothing is open to all wafers",
                f"write admits: {{{axis}: [{', '.join(each.name for each in classes)}]}} with the classes that may enter",
                "the site's own admission rules",
                classes[0].line if classes else None,
            )


RULE = LabRule(
    name="axis that a chamber does not answer",
    loses="a chamber, for everybody",
    quantity="tools with a chamber − those that name the axis",
    source="the site's own admission rules",
    check=check,
)
