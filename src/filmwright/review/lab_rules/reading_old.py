"""A lamp or a hot plate that nobody read lately."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.finding import Finding
from filmwright.review.lab_case import LabCase, LabRule, told
from filmwright.units import show

_LIMITS = {"lamp intensity": "lamp age", "hot-plate offset": "plate age"}
_REMEDY = {
    "lamp intensity": "read the lamp at that line, centre and edge, and write it into the lab file",
    "hot-plate offset": "read a thermocouple on a wafer with the plate at that temperature",
}


def check(case: LabCase) -> Iterator[Finding]:
    """Age of every lamp reading and every offset of a plate."""
    for number in case.numbers:
        name = _LIMITS.get(number.of)
        if name is None or number.age is None or number.age <= case.limit(name):
            continue
        yield told(
            "warn",
            f"the {number.name}",
            f"younger than {case.limit_text(name)}",
            f"{show(number.age, 'time')} old",
            "lamps lose some per cent a week, plates drift and are exchanged",
            _REMEDY[number.of],
            case.limit_source(name),
            number.line,
        )


RULE = LabRule(
    name="lamp or plate not read lately",
    loses="line width, a resist too cold or too hot",
    quantity="today − date of the reading",
    limits=(
        "lamp age",
        "plate age",
    ),
    source="lamps age (common practice)",
    check=check,
)
