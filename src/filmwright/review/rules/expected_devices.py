"""The devices that the plan expects."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding, Severity
from filmwright.wafer import DeviceKind

_TONE = "look first at the tone of the masks (drawn, plate, resist), then for a missing strip, lift-off or opening"


def check(case: Case) -> Iterator[Finding]:
    """Devices read off the emulated wafer against the count and the terminals that the plan expects."""
    expect = case.flow.expect
    for wanted in expect.devices if expect and case.finished else ():
        kind: DeviceKind = "transistor" if wanted.kind == "transistors" else "capacitor"
        found = case.trace.devices.of_kind(kind)
        fitting = case.trace.devices.working(kind, wanted.terminals)
        if len(fitting) == wanted.count:
            continue
        severity: Severity = "stop" if len(fitting) < wanted.count else "warn"
        got = f"{len(fitting)}" + (
            f" ({len(found)} without regard to terminals)" if len(found) != len(fitting) else ""
        )
        terms = ", ".join(f"{role} {label}" for role, label in wanted.terminals.items())
        yield finding(
            case.last,
            severity,
            f"the {wanted.kind} on the finished wafer",
            f"{wanted.count}" + (f" with {terms}" if terms else ""),
            got,
            "a device is read off the wafer: conductors, insulator and semiconductor in the right order, joined to their labels",
            _TONE,
            "read off the emulated wafer",
            line=wanted.line,
        )


RULE = Rule(
    name="expected devices",
    loses="the run",
    quantity="devices read off the wafer − devices expected",
    source="the plan's expect block",
    answers=("tone", "expected"),
    spoils=("stop",),
    follows=True,
    check=check,
)
