"""What follows from a sputtering: power density, the rate that yields let one expect, slowed atoms, film over the wafer."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

from filmwright.emulate.context import Context, from_value
from filmwright.emulate.follows import Followed, between, chosen, follows
from filmwright.emulate.reactive import FIT, reactive_limits, yield_fit
from filmwright.flow import Step
from filmwright.knowledge import Belief, Material, Method
from filmwright.process import (
    POWER_DENSITY,
    RING_OVER_WAFER,
    SHUTTER,
    SPUTTER_RATE,
    SPUTTER_YIELD,
    THERMALISED,
    Derivation,
    Input,
    Noted,
    Setting,
    ion_current_density,
    keller_simmons_share,
    range_over_twice_mean,
    ring_share,
    shutter_error,
    target_rate,
    thermalised_share,
    thermalising_collisions,
    yamamura_yield,
)
from filmwright.sources import Value
from filmwright.units import AVOGADRO, BOLTZMANN, ELEMENTARY_CHARGE, write

_PLACES = 11
"""Places along the radius of the wafer at which the film is compared."""


def sputtered(step: Step, ctx: Context, rate: Belief | None, time: float) -> Followed:
    """What a sputtering does to target, atoms and wafer."""
    facts = ctx.facts.models["magnetron"]
    return Followed(numbers=tuple(_numbers(step, ctx, facts, rate, time)))


def before_the_film(ctx: Context, method: Method) -> tuple[Setting, ...]:
    """The usual time behind a shut shutter, which cleans the target."""
    if "pre-sputter time" not in method.settings:
        return ()
    return (
        from_value("pre-sputter time", ctx.facts.models["magnetron"]["pre-sputter time"], "shutter shut"),
    )


def _numbers(
    step: Step, ctx: Context, facts: Mapping[str, Value], rate: Belief | None, time: float
) -> Iterator[Setting]:
    material = ctx.facts.material(step.material)
    power = step.asked.get("power")
    if power is not None:
        given = chosen("P", "power", power.value, power.unit, f"the plan, line {step.line}")
        yield follows("power on the target", _density(given, facts))
        if FIT in material.sputtering and "molar mass" in material.values:
            atoms = _yield(ctx, material, facts)
            yield follows("sputter yield", atoms)
            yield follows("rate to be expected", _rate(step, ctx, material, given, atoms, rate))
    yield from reactive_limits(step, ctx)
    if _flies(step, material):
        yield follows("atoms slowed down by the gas", _thermalised(step, ctx, material))
    tool = ctx.lab.tools.get(step.tool)
    if tool is None or tool.non_uniformity is None:
        yield follows("unevenness from the geometry", _over_wafer(ctx, facts))
    if time > 0:
        shut = {
            "time": chosen("t", "time of the film", time, "s", "the setting above"),
            "travel": Input.known("τ", "travel of the shutter", facts["shutter travel"]),
        }
        yield follows("error of the shutter", SHUTTER.derive(shutter_error, shut, unit="%"))


def _flies(step: Step, material: Material) -> bool:
    """Whether single atoms of the material fly, and through a known gas."""
    return (
        "pressure" in step.asked
        and bool(material.sputtering)
        and {"density", "molar mass"} <= material.values.keys()
    )


def _density(power: Input, facts: Mapping[str, Value]) -> Derivation:
    return POWER_DENSITY.derive(
        lambda power, radius: power / (math.pi * radius**2),
        {"power": power, "radius": Input.known("a", "radius of the target", facts["target radius"])},
        unit="W/cm^2",
    )


def _yield(ctx: Context, material: Material, facts: Mapping[str, Value]) -> Derivation:
    """Atoms per ion at the energy of the discharge."""
    known, fit = material.sputtering[FIT], yield_fit(ctx, material)

    def scattered(voltage: float, scatter: float) -> Noted:
        found = yamamura_yield(voltage * ELEMENTARY_CHARGE, fit)
        return Noted(value=scatter * found.value, notes=found.notes)

    said = f"U = {write(fit.binding, 'eV')}, Q = {fit.q:g}, W = {fit.w:g}, s = {fit.s:g}; {known.source}"
    return SPUTTER_YIELD.derive(
        scattered,
        {
            "voltage": Input.known("E/e", "ion energy, the discharge voltage", facts["discharge voltage"]),
            "scatter": Input.known("k", "measured over computed yields", facts["yield scatter"]),
        },
        unit="",
        notes=(said,),
    )


def _rate(
    step: Step, ctx: Context, material: Material, power: Input, atoms: Derivation, known: Belief | None
) -> Derivation:
    """Rate on the wafer, and what the one on file is beside it."""
    facts = ctx.facts.models["magnetron"]
    through = _through(step, ctx, material)

    def rate(**given: float) -> float:
        current = ion_current_density(given["power"], 1.0, given["voltage"], given["electrons"])
        depth = target_rate(current, given["atoms"], given["mass"], given["density"])
        share = ring_share(0.0, given["throw"], given["ring"] * given["radius"])
        return depth * share * through

    derived = SPUTTER_RATE.derive(
        rate,
        {
            "power": power,
            "voltage": Input.known("V", "discharge voltage", facts["discharge voltage"]),
            "electrons": Input.known("γ", "electrons per ion", facts["electrons per ion"]),
            "atoms": between("Y", "atoms per ion", atoms),
            "mass": Input.known("M", "molar mass", material.values["molar mass"]),
            "density": Input.known("ρ", "density", material.values["density"]),
            "throw": Input.known("h", "target to wafer", facts["throw"]),
            "radius": Input.known("a_t", "radius of the target", facts["target radius"]),
            "ring": Input.known("r", "ring over target radius", facts["ring radius"]),
        },
        unit="nm/min",
        notes=(f"c of a ring of r·a_t at h; F = {through:.2f} of the atoms get through the gas",),
    )
    if known is None or not derived.result:
        return derived
    beside = f"the rate on file, {write(known.value, known.unit)}, is {known.value / derived.result:.2g} times this"
    return replace(derived, notes=(*derived.notes, beside))


def _slowing(ctx: Context, material: Material, pressure: float) -> tuple[float, float]:
    """Collisions until an atom is slow, and the way between two [m]."""
    facts, argon = ctx.facts.models["magnetron"], ctx.facts.models["argon"]
    warm = facts["gas temperature"].value
    collisions = thermalising_collisions(
        facts["starting energy"].value, material.values["molar mass"].value, argon["molar mass"].value, warm
    )
    return collisions, _path(pressure, warm, argon["molecule diameter"].value, _size(material))


def _size(material: Material) -> float:
    """Diameter of an atom [m]: edge of the cube that it has in the solid."""
    return float(
        (material.values["molar mass"].value / (material.values["density"].value * AVOGADRO)) ** (1 / 3)
    )


def _path(pressure: float, temperature: float, gas: float, atom: float) -> float:
    """Way of a fast atom between two collisions [m]: k·T/(p·π·D²), D the mean of both diameters."""
    return BOLTZMANN * temperature / (pressure * math.pi * ((gas + atom) / 2) ** 2)


def _through(step: Step, ctx: Context, material: Material) -> float:
    """Part of the atoms that get through the gas; all where nothing is known of them."""
    if not _flies(step, material):
        return 1.0
    collisions, path = _slowing(ctx, material, step.asked["pressure"].value)
    throw = ctx.facts.models["magnetron"]["throw"].value
    return keller_simmons_share(throw, collisions * path) if collisions else 1.0


def _thermalised(step: Step, ctx: Context, material: Material) -> Derivation:
    facts, argon = ctx.facts.models["magnetron"], ctx.facts.models["argon"]
    pressure = step.asked["pressure"]

    def slowed(**given: float) -> float:
        collisions = thermalising_collisions(
            given["energy"], given["mass"], argon["molar mass"].value, given["temperature"]
        )
        path = _path(given["pressure"], given["temperature"], argon["molecule diameter"].value, given["size"])
        return thermalised_share(given["throw"], path, collisions)

    size = Input(
        symbol="d",
        name="diameter of the atom",
        value=_size(material),
        unit="nm",
        source=material.values["density"].source,
        evidence="edge of its cube in the solid; D is the mean of this and of argon's",
    )
    return THERMALISED.derive(
        slowed,
        {
            "throw": Input.known("h", "target to wafer", facts["throw"]),
            "pressure": chosen("p", "pressure", pressure.value, pressure.unit, f"the plan, line {step.line}"),
            "temperature": Input.known("T", "gas temperature", facts["gas temperature"]),
            "energy": Input.known("E_0", "starting energy", facts["starting energy"]),
            "mass": Input.known("m", "molar mass of the atom", material.values["molar mass"]),
            "size": size,
        },
        unit="%",
    )


def _over_wafer(ctx: Context, facts: Mapping[str, Value]) -> Derivation:
    """Film over the wafer from the eroded ring."""
    edge = ctx.flow.body.diameter / 2

    def uneven(throw: float, radius: float, ring: float) -> float:
        return range_over_twice_mean(
            [ring_share(edge * place / (_PLACES - 1), throw, ring * radius) for place in range(_PLACES)]
        )

    return RING_OVER_WAFER.derive(
        uneven,
        {
            "throw": Input.known("h", "target to wafer", facts["throw"]),
            "radius": Input.known("a_t", "radius of the target", facts["target radius"]),
            "ring": Input.known("r", "ring over target radius, a = r·a_t", facts["ring radius"]),
        },
        unit="%",
    )
