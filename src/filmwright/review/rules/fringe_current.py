"""Channel film wider than the contacts."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Transistors whose semiconductor is wider than its contacts, as read off the wafer."""
    wide = sorted(device.name for device in case.transistors if device.fringe)
    if wide:
        shown = ", ".join(wide[:5]) + (f" and {len(wide) - 5} more" if len(wide) > 5 else "")
        yield finding(
            case.trace.states[-1],
            "note",
            "the channel film",
            "no wider than the contacts",
            f"wider in {shown}",
            "current flows around the contacts and the mobility comes out too high",
            "narrow the island, or correct the width",
            "read off the emulated wafer",
        )


RULE = Rule(
    name="fringe current",
    loses="the mobility",
    quantity="width of the semiconductor − width of the contacts",
    source="common practice",
    answers=("fringe",),
    check=check,
)
