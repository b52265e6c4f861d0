"""What follows from a sputtering: power density, the rate that yields let one expect, slowed atoms, film over the wafer."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate.context import Context, from_value
from filmwright.emulate.follows import Followed, chosen, follows
from filmwright.emulate.geometry import measured_unevenness, over_wafer, placed, uneven_by_geometry
from filmwright.emulate.magnetron import Gun, asked, atoms_per_ion, power_density, rate_by_yield, slowed_atoms
from filmwright.emulate.reactive import reactive_limits
from filmwright.flow import Step
from filmwright.knowledge import Belief, Method
from filmwright.process import SHUTTER, Derivation, Input, Setting, shutter_error


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
    yield from reactive_limits(step, ctx)
    yield from _named("atoms slowed down by the gas", slowed_atoms(gun, ctx))
    yield from over_wafer(where, film, radius)
    yield uneven_by_geometry(where, radius, measured_unevenness(step, ctx))
    yield from shutter(ctx, time)


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
