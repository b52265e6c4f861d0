"""A table of offsets by which a hotter plate makes a colder wafer."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from filmwright.review.finding import Finding
from filmwright.review.lab_case import LabCase, LabRule, told
from filmwright.units import show


def check(case: LabCase) -> Iterator[Finding]:
    """Temperature of the wafer at each temperature of the plate, which must rise with it."""
    for tool in case.lab.tools.values():
        table = sorted(
            (
                (number.setting, number.setting + number.belief.value, number.line)
                for number in case.numbers
                if number.of == "hot-plate offset"
                and number.tool == tool.name
                and number.setting is not None
                and number.belief is not None
            ),
        )
        for (low, cold, _), (high, hot, line) in pairwise(table):
            if hot <= cold:
                yield told(
                    "warn",
                    f"the wafer on {tool.name}",
                    "hotter where the plate is hotter",
                    f"{show(cold, 'temperature')} at {show(low, 'temperature')}, {show(hot, 'temperature')} at {show(high, 'temperature')}",
                    "between these readings no setting of the plate can be found, and none is printed",
                    "read the plate again, and set the wrong reading aside with the reason",
                    "the lab's own file",
                    line,
                )


RULE = LabRule(
    name="offsets of a plate that fall",
    loses="a resist too cold or too hot",
    quantity="Δ wafer / Δ plate between readings",
    source="the lab's own file",
    check=check,
)
