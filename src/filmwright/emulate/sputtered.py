"""What follows from a sputtering: power density, the rate that yields let one expect, slowed atoms, film over the wafer."""

from __future__ import annotations

import math
from collections.abc import Iterator

from filmwright.emulate.context import Context, from_value
from filmwright.emulate.follows import Followed, between, chosen, follows
from filmwright.emulate.geometry import measured_unevenness, over_wafer, placed, uneven_by_geometry
from filmwright.emulate.heated import heat_of_guns, wafer_temperature
from filmwright.emulate.magnetron import Gun, asked, atoms_per_ion, power_density, rate_by_yield, slowed_atoms
from filmwright.emulate.reactive import reactive_numbers
from filmwright.flow import Step
from filmwright.knowledge import Belief, Method
from filmwright.process import (
    SHUTTER,
    TARGET_CLEANED,
    Derivation,
    Input,
    Setting,
    ion_current_density,
    shutter_error,
    target_rate,
)


def sputtered(
    step: Step, ctx: Context, method: Method, film: Input, rate: Belief | None, time: float
) -> Followed:
    """What a sputtering from one target does to target, atoms and wafer."""
    return Followed(numbers=tuple(_numbers(step, ctx, method, film, rate, time)))


def before_the_film(step: Step, ctx: Context, method: Method) -> tuple[Setting, ...]:
    """The usual time behind a shut shutter, which cleans the target; none where the plan sets it."""
    if "pre-sputter time" not in method.settings or "pre-sputter time" in step.asked:
        return ()
    return (
        from_value("pre-sputter time", ctx.facts.models["magnetron"]["pre-sputter time"], "shutter shut"),
    )


def _numbers(
    step: Step, ctx: Context, method: Method, film: Input, rate: Belief | None, time: float
) -> Iterator[Setting]:
    where = placed(step, ctx, method)
    if where is None:
        return
    radius = ctx.flow.body.diameter / 2
    gun = Gun(
        material=ctx.facts.material(step.material),
        where=where,
        power=asked(step, "power", "P", "power"),
        pressure=asked(step, "pressure", "p", "pressure"),
        wafer_radius=radius,
        radio_frequency="radio-frequency" in method.name,
    )
    yield from _named("power on the target", power_density(gun))
    if gun.has_law and gun.power is not None:
        yield follows("sputter yield", atoms_per_ion(gun, ctx))
        yield follows("rate to be expected", rate_by_yield(gun, ctx, rate))
    yield from cleaned_target(gun, ctx)
    yield from reactive_numbers(step, ctx)
    yield from _named("atoms slowed down by the gas", slowed_atoms(gun, ctx))
    yield from over_wafer(where, film, radius)
    yield uneven_by_geometry(where, radius, measured_unevenness(step, ctx))
    heat = heat_of_guns(ctx, {step.material: (where, gun.power)}, radius)
    yield from wafer_temperature(step, ctx, heat, time)
    yield from shutter(ctx, time)


def cleaned_target(gun: Gun, ctx: Context) -> Iterator[Setting]:
    """The least time behind the shutter after the target has seen air."""
    power = gun.power
    if power is None or not gun.has_law or "radius" not in gun.where.inputs:
        return
    facts, chamber, values = (
        ctx.facts.models["magnetron"],
        ctx.facts.models["reactive chamber"],
        gun.material.values,
    )

    def time(**g: float) -> float:
        area = math.pi * g["radius"] ** 2 * g["eroded"]
        current = ion_current_density(g["power"], area, g["voltage"], g["electrons"])
        return g["skin"] / (g["slower"] * target_rate(current, g["atoms"], g["mass"], g["density"]))

    yield follows(
        "skin of the target gone after",
        TARGET_CLEANED.derive(
            time,
            {
                "skin": Input.known("d_s", "skin of the target", facts["target skin"]),
                "radius": gun.where.inputs["radius"],
                "eroded": Input.known("s", "racetrack over the target", chamber["eroded share"]),
                "voltage": Input.known("V", "discharge voltage", facts["discharge voltage"]),
                "electrons": Input.known("γ", "electrons per ion", facts["electrons per ion"]),
                "density": Input.known("ρ", "density", values["density"]),
                "slower": Input.known("k", "yield of the oxide over the metal's", chamber["compound yield"]),
                "atoms": between("Y", "atoms per ion", atoms_per_ion(gun, ctx)),
                "power": power,
                "mass": Input.known("M", "molar mass", values["molar mass"]),
            },
            unit="s",
        ),
    )


def shutter(ctx: Context, time: float) -> Iterator[Setting]:
    """Part of a film that the way of the shutter leaves open."""
    if time > 0:
        facts = ctx.facts.models["magnetron"]
        shut = {
            "time": chosen("t", "time of the film", time, "s", "the setting above"),
            "travel": Input.known("τ", "travel of the shutter", facts["shutter travel"]),
        }
        yield follows("error of the shutter", SHUTTER.derive(shutter_error, shut, unit="%"))


def _named(name: str, derived: Derivation | None) -> Iterator[Setting]:
    if derived is not None:
        yield follows(name, derived)
