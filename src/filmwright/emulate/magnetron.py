"""One gun of a sputter tool: its ions, what they knock out, and what of it reaches the wafer."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from filmwright.emulate.context import Context
from filmwright.emulate.follows import between, chosen
from filmwright.emulate.geometry import Placed
from filmwright.emulate.reactive import FIT, yield_fit
from filmwright.flow import Step
from filmwright.knowledge import Belief, Material
from filmwright.process import (
    POWER_DENSITY,
    SPUTTER_RATE,
    SPUTTER_YIELD,
    THERMALISED,
    Derivation,
    Input,
    Noted,
    film_over_wafer,
    ion_current_density,
    keller_simmons_share,
    target_rate,
    thermalised_share,
    thermalising_collisions,
    yamamura_yield,
)
from filmwright.units import AVOGADRO, BOLTZMANN, ELEMENTARY_CHARGE, write


@dataclass(frozen=True, kw_only=True)
class Gun:
    """A target at a power before a wafer.

    Attributes
    ----------
    material : Material
        Of the target.
    where : Placed
    power, pressure : Input or None
        As the plan says; None where it does not.
    wafer_radius : float [m]
    radio_frequency : bool
        Half of each swing does little: a metal comes slower than at the same direct power.
    """

    material: Material
    where: Placed
    power: Input | None
    pressure: Input | None
    wafer_radius: float
    radio_frequency: bool = False

    @property
    def has_law(self) -> bool:
        """Whether a yield is on file for its target."""
        return FIT in self.material.sputtering and {"molar mass", "density"} <= self.material.values.keys()

    @property
    def flies(self) -> bool:
        """Whether single atoms of its target fly, through a gas of known pressure."""
        return (
            self.pressure is not None
            and bool(self.material.sputtering)
            and {"density", "molar mass"} <= self.material.values.keys()
        )


def asked(step: Step, name: str, symbol: str, words: str) -> Input | None:
    """A setting of the plan as an input."""
    found = step.asked.get(name)
    if found is None:
        return None
    return chosen(symbol, words, found.value, found.unit, f"the plan, line {step.line}")


def power_density(gun: Gun) -> Derivation | None:
    """Power over the area of the target."""
    if gun.power is None or "radius" not in gun.where.inputs:
        return None
    return POWER_DENSITY.derive(
        lambda power, radius: power / (math.pi * radius**2),
        {"power": gun.power, "radius": replace(gun.where.inputs["radius"], symbol="a")},
        unit="W/cm^2",
    )


def atoms_per_ion(gun: Gun, ctx: Context) -> Derivation:
    """Atoms per ion at the energy of the discharge."""
    known, fit, facts = (
        gun.material.sputtering[FIT],
        yield_fit(ctx, gun.material),
        ctx.facts.models["magnetron"],
    )

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


def rate_by_yield(gun: Gun, ctx: Context, known: Belief | None = None) -> Derivation:
    """Rate on the wafer, mean by area, and what the one on file is beside it."""
    facts = ctx.facts.models["magnetron"]
    through, values = _through(gun, ctx), gun.material.values

    def rate(**given: float) -> float:
        current = ion_current_density(given["power_in"], 1.0, given["voltage"], given["electrons"])
        depth = target_rate(current, given["atoms"], given["mass"], given["density"])
        shape = film_over_wafer(gun.wafer_radius, gun.where.emitter(given), gun.where.stage(given))
        return depth * shape.share * through * given.get("useful", 1.0)

    inputs = {
        "power_in": gun.power,
        "voltage": Input.known("V", "discharge voltage", facts["discharge voltage"]),
        "electrons": Input.known("γ", "electrons per ion", facts["electrons per ion"]),
        "atoms": between("Y", "atoms per ion", atoms_per_ion(gun, ctx)),
        "mass": Input.known("M", "molar mass", values["molar mass"]),
        "density": Input.known("ρ", "density", values["density"]),
        **gun.where.inputs,
    }
    if gun.radio_frequency:
        inputs["useful"] = Input.known(
            "u", "rate over that at direct current", facts["radio-frequency share"]
        )
    derived = SPUTTER_RATE.derive(
        rate,
        {name: each for name, each in inputs.items() if each is not None},
        unit="nm/min",
        notes=(
            f"c, mean over the wafer, from the geometry; F = {through:.2f} of the atoms get through the gas",
            *(() if gun.radio_frequency else ("u = 1, direct current",)),
            *gun.where.said,
        ),
    )
    if known is None or not derived.result:
        return derived
    beside = f"the rate on file, {write(known.value, known.unit)}, is {known.value / derived.result:.2g} times this"
    return replace(derived, notes=(*derived.notes, beside))


def slowed_atoms(gun: Gun, ctx: Context) -> Derivation | None:
    """Part of the atoms that the gas has slowed down before the wafer."""
    if not gun.flies or gun.pressure is None:
        return None
    facts, argon = ctx.facts.models["magnetron"], ctx.facts.models["argon"]

    def slowed(**given: float) -> float:
        collisions = thermalising_collisions(
            given["energy"], given["mass"], argon["molar mass"].value, given["temperature"]
        )
        path = _path(given["pressure"], given["temperature"], argon["molecule diameter"].value, given["size"])
        return thermalised_share(given["throw"], path, collisions)

    size = Input(
        symbol="d",
        name="diameter of the atom",
        value=_size(gun.material),
        unit="nm",
        source=gun.material.values["density"].source,
        evidence="edge of its cube in the solid; D is the mean of this and of argon's",
    )
    return THERMALISED.derive(
        slowed,
        {
            "throw": gun.where.inputs["throw"],
            "pressure": gun.pressure,
            "temperature": Input.known("T", "gas temperature", facts["gas temperature"]),
            "energy": Input.known("E_0", "starting energy", facts["starting energy"]),
            "mass": Input.known("m", "molar mass of the atom", gun.material.values["molar mass"]),
            "size": size,
        },
        unit="%",
    )


def _slowing(material: Material, ctx: Context, pressure: float) -> tuple[float, float]:
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


def _through(gun: Gun, ctx: Context) -> float:
    """Part of the atoms that get through the gas; all where nothing is known of them."""
    if not gun.flies or gun.pressure is None:
        return 1.0
    collisions, path = _slowing(gun.material, ctx, gun.pressure.value)
    return keller_simmons_share(gun.where.inputs["throw"].value, collisions * path) if collisions else 1.0
