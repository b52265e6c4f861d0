"""Terminals that must be apart, or joined."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Connectivity read off the emulated wafer against the pairs of the plan."""
    expect = case.flow.expect
    if expect is None:
        return
    last = case.trace.states[-1] if case.trace.states else None
    nets = case.trace.nets
    for first, second in expect.apart:
        bad = sorted(
            {
                one.partition(":")[0]
                for one, other in nets.shorted
                if {_end(one), _end(other)} == {first, second}
            }
        )
        if bad:
            yield finding(
                last,
                "stop",
                f"terminals {first} and {second}",
                "not connected",
                f"connected in {_some(bad)}",
                "a film joins them: over an edge, through an opening or along a fence",
                "find the joining film in the sections; cover the edge or etch longer",
                "read off the emulated wafer",
                line=expect.line,
            )
    for first, second in expect.joined:
        bad = [name for name in _devices(case) if not nets.joined(f"{name}:{first}", f"{name}:{second}")]
        if bad:
            yield finding(
                last,
                "stop",
                f"terminals {first} and {second}",
                "connected",
                f"apart in {_some(bad)}",
                "a film is interrupted, or an opening is missing",
                "look at the opening and at the step that the film climbs",
                "read off the emulated wafer",
                line=expect.line,
            )


def _end(label: str) -> str:
    return label.partition(":")[2]


def _devices(case: Case) -> list[str]:
    return sorted({label.partition(":")[0] for net in case.trace.nets.nets for label in net.labels})


def _some(names: list[str]) -> str:
    return ", ".join(names[:4]) + (f" and {len(names) - 4} more" if len(names) > 4 else "")


RULE = Rule(
    name="terminals joined or apart",
    loses="the device",
    quantity="nets read off the wafer against the pairs expected",
    source="the plan's expect block",
    check=check,
)
