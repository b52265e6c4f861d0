"""Field in the gate insulator at its thinnest place."""

from __future__ import annotations

import math
from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding
from filmwright.review.changes import replaces_value
from filmwright.review.finding import Change, Finding
from filmwright.units import show, to_si


def probe_voltage(case: Case) -> tuple[float | None, int | None]:
    """The highest voltage across the insulator [V] and its line: expected, else the highest that a probe step asks for."""
    expect = case.flow.expect
    if expect and expect.probe_voltage is not None:
        return expect.probe_voltage, expect.lines.get("probe voltage")
    asked = [
        (step.asked[key].value, step.line)
        for step in case.flow.steps
        if step.kind == "probe"
        for key in ("gate", "drain")
        if key in step.asked
    ]
    return max(asked, default=(None, None))


def check(case: Case) -> Iterator[Finding]:
    """Highest probe voltage over the thinnest insulator between the gate and what lies above it."""
    voltage, line = probe_voltage(case)
    thinnest = _thinnest(case)
    if voltage is None or thinnest is None:
        return
    thickness, where = thinnest
    field = voltage / thickness
    if field <= case.limit("gate field want"):
        return
    stop = field > case.limit("gate field stop")
    limit = "gate field stop" if stop else "gate field want"
    yield finding(
        case.trace.states[-1],
        "stop" if stop else "warn",
        "the field in the gate insulator",
        f"at most {case.limit_text(limit)}",
        f"{show(field, 'field')} ({voltage:g} V over {show(thickness, 'length')} {where})",
        "insulators break down at their thinnest place",
        "lower the voltage, thicken the insulator, or taper the gate edge",
        case.limit_source(limit),
        _thicker(case, field),
        line=line,
    )


def _thicker(case: Case, field: float) -> Change | None:
    """A single insulator so thick that its field is what is wanted, in steps of five nanometres."""
    names = {
        name
        for device in (*case.trace.devices.transistors, *case.trace.devices.capacitors)
        for name, _ in device.dielectric
    }
    made = [
        each
        for each in case.trace.states
        if each.step.kind == "deposit" and each.step.material in names and "thickness" in each.step.asked
    ]
    if len(names) != 1 or len(made) != 1:
        return None
    asked = made[0].step.asked["thickness"]
    needed = asked.value * field / case.limit("gate field want")
    step = to_si(5, "nm")
    part = (asked.spread or 0.0) / asked.value
    # What the steps take off it, and what it is thinner at an edge, stays as it is.
    return replaces_value(case, made[0], "thickness", step * math.ceil(needed / step), "nm", part)


def _thinnest(case: Case) -> tuple[float, str] | None:
    """Thinnest gate insulator [m] and where: on the section over the gate edge, else in the columns of the devices."""
    stacks = [
        device.dielectric for device in (*case.trace.devices.transistors, *case.trace.devices.capacitors)
    ]
    flat = min((sum(thickness for _, thickness in stack) for stack in stacks if stack), default=None)
    if flat is None:
        return None
    section = case.trace.final.section
    single = {stack[0][0] for stack in stacks if len(stack) == 1}
    if section is None or len(single) != 1:
        return flat, "over flat ground"
    material = single.pop()
    films = {
        layer.film
        for column in case.stacks(case.trace.final.plan)
        for layer in column.layers
        if layer.material == material
    }
    edges = [
        found.thickness
        for film in films
        if (found := section.thinnest(film)) is not None and found.thickness > 0
    ]
    worst = min((*edges, flat))
    return (worst, "at its thinnest place on the cut") if worst < flat else (flat, "over flat ground")


RULE = Rule(
    name="gate field",
    loses="the insulator, device by device",
    quantity="highest probe voltage / thinnest insulator",
    limits=("gate field want", "gate field stop"),
    source="2 MV/cm wanted, 4 MV/cm at most (common practice)",
    answers=("gate edge",),
    because_of=(
        "film not cleared",
        "etch attacks film",
        "developer attacks film",
    ),
    check=check,
)
