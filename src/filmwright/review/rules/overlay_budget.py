"""Overlap that the alignment may use up."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.process import overlay
from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Least overlap of gate and contact against three standard deviations of two alignments and the run-out."""
    overlaps = {
        device.name or "a transistor": min(device.overlaps.values())
        for device in case.transistors
        if device.overlaps
    }
    if not overlaps or not case.finished:
        return
    one = case.limit("overlay")
    need = 3 * overlay([one, one]) + case.limit("run-out")
    worst = min(overlaps, key=lambda name: overlaps[name])
    if overlaps[worst] < need:
        yield finding(
            case.last,
            "warn",
            "the overlap of gate and contacts",
            f"at least {show(need, 'length')}: 3 σ of two levels on one reference, and the run-out",
            f"{show(overlaps[worst], 'length')} at {worst}",
            "one bad alignment leaves a stretch of channel that no gate reaches",
            "draw more overlap, or align both levels to each other and change the overlay in the lab file",
            f"{case.limit_source('overlay')}; {case.limit_source('run-out')}",
        )


RULE = Rule(
    name="overlap below overlay",
    loses="transistors, at one side of the wafer first",
    quantity="least overlap / (3 √2 σ of one overlay + run-out)",
    limits=(
        "overlay",
        "run-out",
    ),
    source="levels on a common reference differ by √2 of one overlay (independent variances)",
    answers=("overlay",),
    follows=True,
    check=check,
)
