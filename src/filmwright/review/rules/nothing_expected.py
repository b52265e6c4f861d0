"""A plan that does not say what must be there at the end."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Devices read off the wafer of a plan with masks that expects none."""
    expect = case.flow.expect
    if not case.flow.masks or not case.finished or (expect is not None and expect.devices):
        return
    counts = {
        "transistors": len(case.transistors),
        "capacitors": len(case.trace.devices.capacitors),
    }
    found = ", ".join(f"{count} {name}" for name, count in counts.items() if count) or "no device at all"
    yield finding(
        case.last,
        "note" if any(counts.values()) else "warn",
        "the devices that the plan expects",
        "named and counted",
        f"nothing said; {found} on the finished wafer",
        "without it an inverted mask or a missing level gives no device and no complaint",
        "write transistors or capacitors with their count and labels into the plan's expect block",
        "the plan's expect block",
    )


RULE = Rule(
    name="nothing expected",
    loses="the warning of a mask of the wrong tone",
    quantity="devices read off the wafer of a plan that expects none",
    source="what is not expected cannot be missed (house rule)",
    answers=("expected", "tone"),
    check=check,
)
