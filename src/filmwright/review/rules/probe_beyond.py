"""A probe step beyond the voltage that the plan foresees."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding, step_named
from filmwright.review.changes import replaces_value
from filmwright.review.finding import Finding
from filmwright.units import show


def check(case: Case) -> Iterator[Finding]:
    """Highest voltage of a probe step against the probe voltage of the expectation."""
    expect = case.flow.expect
    if expect is None or expect.probe_voltage is None:
        return
    for state in case.trace.states:
        if state.step.kind != "probe":
            continue
        asked = {
            name: quantity.value for name, quantity in state.step.asked.items() if name in {"gate", "drain"}
        }
        beyond = {name: abs(value) for name, value in asked.items() if abs(value) > expect.probe_voltage}
        if beyond:
            yield finding(
                state,
                "warn",
                f"the voltages of {step_named(state)}",
                f"at most {show(expect.probe_voltage, 'voltage')}, as the plan expects",
                ", ".join(f"{name} {show(value, 'voltage')}" for name, value in sorted(beyond.items())),
                "the insulator was judged by the lower voltage",
                "lower it, or raise the probe voltage under expect and see what the review then says",
                f"the plan's expect block, line {expect.lines.get('probe voltage', expect.line)}",
                replaces_value(case, state, next(iter(beyond)), expect.probe_voltage, "V"),
            )


RULE = Rule(
    name="probed beyond the plan",
    loses="the insulator",
    quantity="voltages of a probe step − probe voltage expected",
    source="the plan's expect block",
    answers=("gate edge",),
    check=check,
)
