"""Two terminals of one device on one net, of which the plan says nothing."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding

_SHOWN = 4


def check(case: Case) -> Iterator[Finding]:
    """Labels of one device on one net, but for pairs that the plan wants joined or apart."""
    if not case.finished:
        return
    expect = case.flow.expect
    said = {frozenset(pair) for pair in (*expect.apart, *expect.joined)} if expect is not None else set()
    shorted = [
        (one, other)
        for one, other in case.trace.nets.shorted
        if frozenset((one.partition(":")[2], other.partition(":")[2])) not in said
    ]
    if not shorted:
        return
    named = ", ".join(f"{one} and {other}" for one, other in shorted[:_SHOWN])
    yield finding(
        case.last,
        "warn",
        "terminals of one device",
        "apart, or joined because the plan says so",
        named + (f" and {len(shorted) - _SHOWN} pairs more joined" if len(shorted) > _SHOWN else " joined"),
        "a film joins them: over an edge, through an opening or along a fence",
        'cover the edge, or write the pair under "joined" in the plan\'s expect block if it is meant',
        "read off the emulated wafer",
    )


RULE = Rule(
    name="terminals shorted",
    loses="the device",
    quantity="labels of one device on one net",
    source="read off the emulated wafer",
    answers=("leads and gate",),
    follows=True,
    check=check,
)
