"""Field in the gate insulator at its thinnest place."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding
from filmwright.units import show


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
        line=line,
    )


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
