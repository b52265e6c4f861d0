"""A bath that is too old, or has had too much put through it."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from filmwright.knowledge import Bath
from filmwright.review.finding import Finding
from filmwright.review.lab_case import LabCase, LabRule, told
from filmwright.units import show, to_si


def check(case: LabCase) -> Iterator[Finding]:
    """Age, wafers and area of every bath against what the lab allows it."""
    for bath in case.lab.baths:
        worn = tuple(_worn(bath, case.on))
        if worn:
            yield told(
                "warn",
                f"the bath {bath.name} ({bath.medium})",
                "; ".join(most for most, _ in worn),
                "; ".join(now for _, now in worn),
                "a spent bath etches slower, unevenly, and leaves what it took before",
                "make it anew by the site's procedure, and write the new date into the lab file",
                "the lab's own file",
                bath.line,
            )


def _worn(bath: Bath, on: str) -> Iterator[tuple[str, str]]:
    """What is allowed, and what it has come to, for each limit that is passed."""
    days = (datetime.date.fromisoformat(on) - datetime.date.fromisoformat(bath.made)).days
    age = to_si(days, "day")
    if bath.longest_age is not None and age > bath.longest_age:
        yield f"younger than {show(bath.longest_age, 'time')}", f"{show(age, 'time')} old"
    if bath.most_wafers and bath.wafers_done >= bath.most_wafers:
        yield f"for fewer than {bath.most_wafers} wafers", f"{bath.wafers_done} wafers"
    if bath.most_area is not None and (bath.area_done or 0.0) >= bath.most_area:
        yield f"for less than {show(bath.most_area, 'area')}", show(bath.area_done or 0.0, "area")


RULE = LabRule(
    name="bath spent",
    loses="a film that is not cleared",
    quantity="age, wafers and area of a bath − what the lab allows it",
    source="the lab's own file",
    check=check,
)
