"""How warm the wafer gets by the step itself: glow, condensation and plasma against what it radiates."""

from __future__ import annotations

from collections.abc import Mapping

from filmwright.emulate.context import Context
from filmwright.emulate.follows import between, chosen, follows
from filmwright.emulate.geometry import Placed
from filmwright.flow import Step
from filmwright.knowledge import Belief, Material, Method, VapourCurve
from filmwright.process import (
    HEAT_EVAPORATED,
    HEAT_SPUTTERED,
    WAFER_HEATED,
    Derivation,
    Input,
    Setting,
    condensing_heat,
    evaporation_enthalpy,
    film_over_wafer,
    heated_wafer,
    source_glow,
)
from filmwright.units import ROOM_TEMPERATURE

HEATED = "wafer temperature, touching nothing"
"""What the estimate is called among the numbers that follow."""


def heat_of_evaporation(
    ctx: Context,
    method: Method,
    material: Material,
    rate: Belief | None,
    place: Derivation,
    source: tuple[Derivation | None, VapourCurve | None],
) -> Derivation | None:
    """Heat at the wafer while the film grows; None where the rate or the source's temperature is not known."""
    hot, curve = source
    if rate is None or hot is None or curve is None or "source radius" not in method.arrival:
        return None
    facts = ctx.facts.models

    def heat(**g: float) -> float:
        glow = g["taken"] * source_glow(g["hot"], g["emissivity"], g["radius"], g["share"])
        enthalpy = evaporation_enthalpy(g["hot"], curve.coefficients)
        return glow + condensing_heat(g["rate"], g["density"], g["mass"], enthalpy)

    return HEAT_EVAPORATED.derive(
        heat,
        {
            "taken": Input.known(
                "α", "part of the light that the wafer takes up", facts["wafer in vacuum"]["emissivity"]
            ),
            "emissivity": Input.known(
                "ε", "emissivity of the source", facts["evaporation"]["source emissivity"]
            ),
            "hot": between("T", "source temperature", hot),
            "radius": Input.known("a", "radius of the source", method.arrival["source radius"]),
            "share": between("c", "part that arrives on unit area", place),
            "rate": Input.known("R", "rate on the wafer", rate),
            "density": Input.known("ρ", "density", material.values["density"]),
            "mass": Input.known("M", "molar mass", material.values["molar mass"]),
        },
        unit="mW/cm^2",
        notes=(f"H of the {curve.phase} from its vapour pressure; σ of Stefan and Boltzmann",),
    )


def heat_of_guns(
    ctx: Context, guns: Mapping[str, tuple[Placed, Input | None]], wafer_radius: float
) -> Derivation | None:
    """Heat at the wafer of all targets that burn; None where a power is not known."""
    powers = {name: power for name, (_, power) in guns.items() if power is not None}
    if not guns or len(powers) < len(guns):
        return None
    shares = {
        name: film_over_wafer(wafer_radius, where.emitter(where.values), where.stage(where.values)).share
        for name, (where, _) in guns.items()
    }
    whole = sum(power.value for power in powers.values())
    mean = sum(powers[name].value * shares[name] for name in guns) / whole
    return HEAT_SPUTTERED.derive(
        lambda part, power, share: part * power * share,
        {
            "part": Input.known(
                "f",
                "part of the power that leaves for the wafer",
                ctx.facts.models["magnetron"]["heat share"],
            ),
            "power": chosen("P", "power of all targets", whole, "W", "the settings above"),
            "share": chosen(
                "c", "part that arrives on unit area, mean", mean, "1/m^2", "geometry of the guns"
            ),
        },
        unit="mW/cm^2",
    )


def wafer_temperature(step: Step, ctx: Context, heat: Derivation | None, time: float) -> tuple[Setting, ...]:
    """The heat and how warm it makes a wafer that touches nothing; nothing where the body's specific heat is not on file."""
    body = ctx.facts.material(ctx.flow.body.material)
    specific = ctx.facts.models["specific heat"].get(body.name)
    if heat is None or specific is None or time <= 0 or "density" not in body.values:
        return ()
    asked = step.asked.get("temperature")
    start = asked.value if asked is not None else ROOM_TEMPERATURE
    derived = WAFER_HEATED.derive(
        lambda heat, time, emissivity, start, density, specific, thickness: heated_wafer(
            heat, time, density * specific * thickness, emissivity, start
        ),
        {
            "heat": between("q", "heat at the wafer", heat),
            "time": chosen("t", "time of the film", time, "s", "the setting above"),
            "emissivity": Input.known(
                "ε", "emissivity of either face", ctx.facts.models["wafer in vacuum"]["emissivity"]
            ),
            "start": chosen(
                "T_0", "wafer and walls before", start, "°C", "the plan" if asked else "room temperature"
            ),
            "density": Input.known("ρ", f"density of {body.name}", body.values["density"]),
            "specific": Input.known("c_p", f"specific heat of {body.name}", specific),
            "thickness": chosen("d_w", "thickness of the wafer", ctx.flow.body.thickness, "µm", "the plan"),
        },
        unit="°C",
        notes=(
            "C = ρ·c_p·d_w; between this and the temperature of its holder lies a wafer that is clamped to it",
        ),
    )
    return follows("heat at the wafer", heat), follows(HEATED, derived)
