"""A class of admission that nobody uses, or that no wafer can be in."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.knowledge import FAMILY_AXIS, AdmissionClass
from filmwright.review.finding import Finding, Severity
from filmwright.review.lab_case import LabCase, LabRule, told


def check(case: LabCase) -> Iterator[Finding]:
    """Classes that no tool speaks of, and classes that nothing puts a wafer into."""
    tools = case.lab.tools.values()
    for axis, classes in case.lab.admission.items():
        asked = [tool for tool in tools if axis in tool.admits]
        for each in classes:
            refused = any(each.name not in tool.admits[axis] for tool in asked)
            if not _reachable(case, each):
                yield _found(
                    each,
                    "stop" if refused else "note",
                    "put on a wafer by some material, bath or tool",
                    "nothing that is known: "
                    + (
                        ", ".join(sorted(each.families)) or "no materials, families, baths or tools are named"
                    ),
                    "the tools that refuse it are open to all wafers",
                    "name the materials or families, or take the class away",
                )
            elif not _named(case, each):
                yield _found(
                    each,
                    "note",
                    "named by some tool",
                    "named by none",
                    "a class that no tool speaks of shuts no wafer out",
                    "write admits: at the tools that it matters to",
                )


def _named(case: LabCase, each: AdmissionClass) -> bool:
    if each.axis == FAMILY_AXIS:
        return True
    return any(
        each.name in tool.admits.get(each.axis, ()) or tool.leaves.get(each.axis) == each.name
        for tool in case.lab.tools.values()
    )


def _reachable(case: LabCase, each: AdmissionClass) -> bool:
    by_film = any(
        material.name in each.materials
        or material.families & each.families
        or ("organic" in each.families and material.kind == "organic")
        for material in case.facts.materials.values()
    )
    by_tool = any(tool.leaves.get(each.axis) == each.name for tool in case.lab.tools.values())
    return each.otherwise or bool(each.baths) or by_film or by_tool


def _found(
    each: AdmissionClass, severity: Severity, expected: str, got: str, why: str, remedy: str
) -> Finding:
    name = (
        f'the family "{each.name}" that is refused'
        if each.axis == FAMILY_AXIS
        else f'the class "{each.name}" of {each.axis}'
    )
    return told(severity, name, expected, got, why, remedy, "the site's own admission rules", each.line)


RULE = LabRule(
    name="class of admission without effect",
    loses="a chamber, for everybody",
    quantity="classes that no wafer can be in, and classes that no tool names",
    source="the site's own admission rules",
    check=check,
)
