"""A lab in which anybody may accept a stop."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.finding import Finding
from filmwright.review.lab_case import LabCase, LabRule, told


def check(case: LabCase) -> Iterator[Finding]:
    """Process owners that the lab file names."""
    if not case.lab.owners:
        yield told(
            "note",
            "the process owners",
            "named, by role or name",
            "nobody",
            'every name behind "process owner" accepts a stop',
            "write process owners: [thin films, lithography]",
            "the lab's own file",
            1,
        )


RULE = LabRule(
    name="no process owner named",
    loses="a stop that the wrong person accepts",
    quantity="process owners of the lab file",
    source="the lab's own file",
    check=check,
)
