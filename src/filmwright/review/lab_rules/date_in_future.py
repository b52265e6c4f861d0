"""Something that is said to have been measured or done later than today."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.finding import Finding
from filmwright.review.lab_case import LabCase, LabRule, told


def check(case: LabCase) -> Iterator[Finding]:
    """Dates of readings, runs, maintenance and baths against today."""
    dated = [
        (each.date, f"the {each.of} of {each.tool or 'any tool'}", each.line)
        for each in case.lab.calibrations
    ]
    dated += [(each.date, f"the run of {each.tool}", each.line) for each in case.lab.runs]
    dated += [
        (each.date, f"the maintenance of {tool.name}", each.line)
        for tool in case.lab.tools.values()
        for each in tool.maintenance
    ]
    dated += [(each.made, f"the bath {each.name}", each.line) for each in case.lab.baths]
    for date, what, line in dated:
        if date > case.on:
            yield told(
                "warn",
                f"the date of {what}",
                f"not after {case.on}",
                date,
                "it does not count before that day",
                "correct the date, year-month-day",
                "a calendar",
                line,
            )


RULE = LabRule(
    name="date in the future",
    loses="a reading that does not count",
    quantity="date − today",
    source="a calendar",
    check=check,
)
