"""Terminals that must be apart, or joined."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding


def check(case: Case) -> Iterator[Finding]:
    """Connectivity read off the emulated wafer against the pairs of the plan."""
    expect = case.flow.expect
    if expect is None or not case.finished:
        return
    joined = {pair: bad for pair in expect.apart if (bad := _shorted(case, pair))}
    if joined:
        yield finding(
            case.last,
            "stop",
            "terminals that the plan wants apart",
            " and ".join(f"{first} apart from {second}" for first, second in joined),
            "; ".join(
                f"{first} and {second} joined in {_some(bad)}" for (first, second), bad in joined.items()
            ),
            "a film joins them: over an edge, through an opening or along a fence",
            "find the joining film in the sections; cover the edge or etch longer",
            "read off the emulated wafer",
            line=expect.lines.get("apart"),
        )
    parted = {pair: bad for pair in expect.joined if (bad := _parted(case, pair))}
    if parted:
        yield finding(
            case.last,
            "stop",
            "terminals that the plan wants joined",
            " and ".join(f"{first} joined to {second}" for first, second in parted),
            "; ".join(
                f"{first} and {second} apart in {_some(bad)}" for (first, second), bad in parted.items()
            ),
            "a film is interrupted, or an opening is missing",
            "look at the opening and at the step that the film climbs",
            "read off the emulated wafer",
            line=expect.lines.get("joined"),
        )


def _shorted(case: Case, pair: tuple[str, str]) -> list[str]:
    """Devices in which the two terminals are on one net."""
    shorted = case.trace.nets.shorted
    return sorted({one.partition(":")[0] for one, other in shorted if {_end(one), _end(other)} == set(pair)})


def _parted(case: Case, pair: tuple[str, str]) -> list[str]:
    """Devices that have both terminals, on different nets."""
    nets, labels = case.trace.nets, {label for net in case.trace.nets.nets for label in net.labels}
    ends = [(f"{name}:{pair[0]}", f"{name}:{pair[1]}") for name in _devices(case)]
    both = [(one, other) for one, other in ends if one in labels and other in labels]
    return [one.partition(":")[0] for one, other in both if not nets.joined(one, other)]


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
    answers=("leads and gate",),
    follows=True,
    check=check,
)
