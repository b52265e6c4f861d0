"""A channel that the sweep cannot empty."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.review.case import Case, Rule, finding
from filmwright.review.finding import Finding
from filmwright.review.rules.gate_field import probe_voltage
from filmwright.units import ELEMENTARY_CHARGE, VACUUM_PERMITTIVITY, show
from filmwright.wafer import Device


def check(case: Case) -> Iterator[Finding]:
    """Voltage that empties the whole channel, from its carriers, its thickness and the insulator, against the sweep."""
    sweep, line = probe_voltage(case)
    worst: tuple[float, float, str] | None = None
    for device in case.transistors:
        needed = _full_depletion(case, device)
        if needed is not None and (worst is None or needed[0] > worst[0]):
            worst = (*needed, device.name or "a transistor")
    if sweep is None or worst is None or not case.finished or worst[0] <= sweep:
        return
    yield finding(
        case.last,
        "warn",
        "the voltage that empties the channel",
        f"within the sweep of {show(sweep, 'voltage')}",
        f"{show(worst[0], 'voltage')} typical, up to {show(worst[1], 'voltage')} at {worst[2]}",
        "the transistor cannot be turned off, whatever its anneal",
        "thin the channel or the insulator, or lower the carriers by oxygen and anneal; measure them on a witness",
        "V = q N t (1 / C + t / 2ε), carriers of the book",
        line=line,
    )


def _full_depletion(case: Case, device: Device) -> tuple[float, float] | None:
    """Depletion voltage [V] with the typical carriers and with the most."""
    if not device.semiconductor or not device.dielectric:
        return None
    material, thickness = device.semiconductor[0][0], sum(each for _, each in device.semiconductor)
    values = case.facts.material(material).values
    permittivities = [case.facts.material(name).values.get("permittivity") for name, _ in device.dielectric]
    carriers, own = values.get("carrier density"), values.get("permittivity")
    if carriers is None or own is None or any(each is None for each in permittivities):
        return None
    per_capacitance = sum(
        depth / (VACUUM_PERMITTIVITY * each.value)
        for (_, depth), each in zip(device.dielectric, permittivities, strict=True)
        if each is not None
    )
    per_carrier = (
        ELEMENTARY_CHARGE * thickness * (per_capacitance + thickness / (2 * VACUUM_PERMITTIVITY * own.value))
    )
    return carriers.value * per_carrier, carriers.high * per_carrier


RULE = Rule(
    name="channel not depleted",
    loses="the off state",
    quantity="q N t (1 / C + t / 2ε) against the sweep",
    source="depletion of a uniformly doped film (textbook)",
    answers=("turn off",),
    check=check,
)
