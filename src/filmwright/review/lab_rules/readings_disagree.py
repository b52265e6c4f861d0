"""Two readings of one thing on one day that contradict each other."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

from filmwright.review.finding import Finding
from filmwright.review.lab_case import LabCase, LabRule, reading_text, told


def check(case: LabCase) -> Iterator[Finding]:
    """Difference of two readings of one day over the standard deviation of that difference."""
    for number in case.numbers:
        kept = [each for each in number.readings if not each.set_aside]
        for one, other in itertools.combinations(kept, 2):
            std = math.hypot(one.std, other.std)
            apart = abs(one.value - other.value) / std if std else math.inf
            if one.date != other.date or one.value == other.value or apart <= case.limit("readings apart"):
                continue
            yield told(
                "warn",
                f"the readings of the {number.name}",
                f"within {case.limit_text('readings apart')} standard deviations of each other on one day",
                f"{reading_text(one)} and {reading_text(other)}, {apart:.2g} apart",
                "one of the two is wrong, or the spread of both is too small",
                "measure a third time, and set one aside with the reason",
                case.limit_source("readings apart"),
                other.line,
            )


RULE = LabRule(
    name="readings that contradict each other",
    loses="thickness",
    quantity="|a − b| / √(σa² + σb²) of two readings of one day",
    limits=("readings apart",),
    source="statistics of two readings",
    check=check,
)
