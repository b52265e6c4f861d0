"""A number of which every reading was set aside."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.finding import Finding
from filmwright.review.lab_case import LabCase, LabRule, reading_text, told


def check(case: LabCase) -> Iterator[Finding]:
    """Readings of each number less those that were set aside."""
    for number in case.numbers:
        if all(each.set_aside for each in number.readings):
            yield told(
                "warn",
                f"the {number.name}",
                "known from at least one reading that counts",
                "; ".join(f"{reading_text(each)}: {each.set_aside}" for each in number.readings),
                "a tool with bad readings only is a tool without any",
                "measure it again",
                "the lab's own file",
                number.line,
            )


RULE = LabRule(
    name="every reading set aside",
    loses="thickness",
    quantity="readings − those set aside",
    source="the lab's own file",
    check=check,
)
