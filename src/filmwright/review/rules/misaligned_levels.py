"""A transistor that works only when every level lies on the first."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding
from filmwright.units import show

_SHOWN = 3


def check(case: Case) -> Iterator[Finding]:
    """The transistors that bear it least, read off again with the later levels two standard deviations off."""
    if not case.finished:
        return
    bad = [corner for corner in case.trace.misaligned if corner.failures]
    if not bad:
        return
    said = [
        f"{corner.way}: " + ", ".join(f"{each.device}, {each.what}" for each in corner.failures[:_SHOWN])
        for corner in bad
    ]
    yield finding(
        case.last,
        "warn",
        "the transistors when the levels lie off",
        f"working with the levels {show(bad[0].shift, 'length')} off along both axes",
        "; ".join(said),
        "an alignment misses by so much once in twenty along each axis",
        "draw more overlap and more clearance, or show an overlay of the aligner in the lab file that is smaller",
        case.limit_source("overlay"),
    )


RULE = Rule(
    name="fails when misaligned",
    loses="transistors of whole wafers",
    quantity="devices read off with every level after the first moved by two standard deviations of the overlay",
    limits=("overlay",),
    source="95 % of one alignment (normal distribution)",
    answers=("overlay",),
    follows=True,
    check=check,
)
