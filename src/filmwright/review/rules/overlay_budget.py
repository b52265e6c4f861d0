"""Overlap that the alignment may use up."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.process import overlay
from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding
from filmwright.review.levels import alignments, levels_of_overlap
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Least overlap of gate and contact against three standard deviations of the alignments between their levels, and run-out."""
    devices = [device for device in case.transistors if device.overlaps]
    if not devices or not case.finished:
        return
    worst = min(devices, key=lambda each: min(each.overlaps.values()))
    least = min(worst.overlaps.values())
    gate, contact = levels_of_overlap(case, worst)
    # Levels that cannot be told are taken to stand on one reference: two alignments.
    count = alignments(case, gate, contact) if gate and contact else 2
    need = 3 * overlay([case.limit("overlay")] * count) + case.limit("run-out")
    if least < need:
        way = (
            f"{count} alignment{'s' if count != 1 else ''} between {gate} and {contact}"
            if gate and contact
            else "two levels on one reference"
        )
        yield finding(
            case.last,
            "warn",
            "the overlap of gate and contacts",
            f"at least {show(need, 'length')}: 3 σ of {way}, and the run-out",
            f"{show(least, 'length')} at {worst.name or 'a transistor'}",
            "one bad alignment leaves a stretch of channel that no gate reaches",
            "draw more overlap, or align the one level to the other",
            f"{case.limit_source('overlay')}; {case.limit_source('run-out')}",
        )


RULE = Rule(
    name="overlap below overlay",
    loses="transistors, at one side of the wafer first",
    quantity="least overlap / (3 √n σ of one overlay + run-out), n alignments between the levels of gate and contacts",
    limits=(
        "overlay",
        "run-out",
    ),
    source="along the alignment tree variances add: levels on a common reference differ by √2 of one overlay",
    answers=("overlay",),
    follows=True,
    check=check,
)
