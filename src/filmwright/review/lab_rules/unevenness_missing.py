"""A tool whose unevenness nobody wrote down."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.finding import Finding
from filmwright.review.lab_case import LabCase, LabRule, told


def check(case: LabCase) -> Iterator[Finding]:
    """Tools that deposit, etch with a plasma or expose, without a non-uniformity."""
    without = [
        tool
        for tool in case.lab.tools.values()
        if tool.non_uniformity is None
        and (case.methods(tool) or "expose" in tool.does or "plasma etch" in tool.does)
    ]
    if without:
        yield told(
            "note",
            "the non-uniformity, (max − min)/(2 × mean)",
            "measured of every tool that deposits, etches dry or exposes",
            "nothing of " + ", ".join(f"{tool.name} (line {tool.line})" for tool in without),
            "edge and middle of a wafer are judged by the usual value of the method, or not at all",
            'measure five places of a wafer and write "non-uniformity: 4 %"',
            "the lab's own file",
            without[0].line,
        )


RULE = LabRule(
    name="unevenness not known",
    loses="the edge or the middle of a wafer",
    quantity="tools that deposit, etch or expose − those with a non-uniformity",
    source="the lab's own file",
    check=check,
)
