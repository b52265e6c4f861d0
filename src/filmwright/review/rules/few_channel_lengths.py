"""Too few channel lengths to tell contacts from channel."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding
from filmwright.units import convert


def check(case: Case) -> Iterator[Finding]:
    """Different channel lengths at the most frequent width."""
    devices = case.transistors
    if not devices:
        return
    by_width: dict[int, set[int]] = {}
    for device in devices:
        if device.width is None or device.length is None:
            continue
        by_width.setdefault(round(convert(device.width, "um")), set()).add(
            round(convert(device.length, "um"))
        )
    most = max((len(lengths) for lengths in by_width.values()), default=0)
    if most < case.limit("channel lengths"):
        yield finding(
            case.trace.states[-1],
            "note",
            "channel lengths at one width",
            f"at least {case.limit_text('channel lengths')}",
            str(most),
            "with fewer, contact resistance and channel cannot be told apart and the mobility is only apparent",
            "draw a transfer-length set",
            case.limit_source("channel lengths"),
        )


RULE = Rule(
    name="few channel lengths",
    loses="the mobility",
    quantity="different L at one W",
    limits=("channel lengths",),
    source="at least four lengths (common practice)",
    answers=("lengths",),
    check=check,
)
