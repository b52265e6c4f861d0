"""Heat, measurement, probing and waiting."""

from __future__ import annotations

import math
from dataclasses import replace

from filmwright.emulate.context import Context, Planned, acted, asked_settings, nothing
from filmwright.emulate.film_results import stresses_of_runs
from filmwright.emulate.follows import chosen, follows
from filmwright.emulate.trace import Corner
from filmwright.flow import Step
from filmwright.process import (
    BOW,
    FOUR_POINTS,
    Input,
    Setting,
    film_force,
    four_point_factor,
    sheet_resistance,
)
from filmwright.units import show
from filmwright.wafer import Action, Column, Heat, Plan


def plan_anneal(step: Step, ctx: Context, now: Plan) -> Planned:
    """Hold at a temperature in an atmosphere."""
    hot = acted(step, "temperature", step.asked["temperature"].value)
    long = acted(step, "time", step.asked["time"].value)

    def actions(corner: Corner, there: Plan) -> tuple[Action, ...]:
        return (Heat(temperature=hot, time=long, atmosphere=step.medium),)

    return Planned(
        settings=asked_settings(step), time=step.asked["time"].value, actions=actions, hazards=("hot plate",)
    )


def plan_measure(step: Step, ctx: Context, now: Plan) -> Planned:
    """What to expect, so that a wrong value is seen at the bench."""
    depth = max(
        (
            layer.thickness
            for column in now.columns
            for layer in column.layers
            if layer.material == step.material
        ),
        default=0.0,
    )
    look = (_expected(step, depth),) if depth else ()
    return Planned(
        settings=asked_settings(step),
        time=0.0,
        actions=nothing,
        look=look,
        follows=_readings(step, ctx, now, depth),
    )


def _expected(step: Step, depth: float) -> str:
    """The thickness that is expected, and from where to where the plan accepts it."""
    said = f"expect {show(depth, 'length')} of {step.material}"
    tolerance = step.asked.get("tolerance")
    if tolerance is None:
        return said
    ends = (show(depth * (1 + way * tolerance.value), "length") for way in (-1, 1))
    return f"{said}; the plan accepts {' to '.join(ends)}"


def _readings(step: Step, ctx: Context, now: Plan, depth: float) -> tuple[Setting, ...]:
    """What the instrument should show, for the quantities that have a law."""
    if step.medium == "sheet resistance" and depth:
        return _four_points(step, ctx, depth)
    return _bow(ctx, now) if step.medium == "bow" else ()


def _four_points(step: Step, ctx: Context, depth: float) -> tuple[Setting, ...]:
    known = ctx.facts.material(step.material).values.get("resistivity")
    if known is None:
        return ()
    inputs = {
        "resistivity": Input.known("ρ", f"resistivity of {step.material}", known),
        "thickness": chosen("d", "film", depth, "nm", "the emulated wafer"),
        "spacing": Input.known("s", "probe spacing", ctx.facts.models["four-point probe"]["spacing"]),
        "diameter": chosen("D", "wafer", ctx.flow.body.diameter, "mm", "the plan"),
    }
    derived = FOUR_POINTS.derive(
        lambda resistivity, thickness, spacing, diameter: (
            sheet_resistance(resistivity, thickness) / four_point_factor(spacing, diameter)
        ),
        inputs,
        unit="ohm",
    )
    sheet = sheet_resistance(known.value, depth)
    said = f"sheet resistance {show(sheet, 'resistance')} per square, so V/I of four probes in the middle"
    return (replace(follows("V/I of four probes", derived), evidence=said),)


def _bow(ctx: Context, now: Plan) -> tuple[Setting, ...]:
    """Bow by the typical stresses of the films over the field."""
    body = ctx.facts.material(ctx.flow.body.material).values
    if "modulus" not in body or "Poisson ratio" not in body:
        return ()
    areas: dict[Column, float] = {}
    for cell in now.once.cells:
        areas[cell.column] = areas.get(cell.column, 0.0) + cell.region.area
    force, variance, own = 0.0, 0.0, stresses_of_runs(ctx)
    for column, area in areas.items():
        for layer in column.layers[1:]:
            stress = own.get(layer.film) or ctx.facts.material(layer.material).values.get("stress")
            if stress is not None:
                share = area / sum(areas.values())
                force += share * film_force(stress.value, layer.thickness)
                variance += share * (stress.std * layer.thickness) ** 2
    total = chosen(
        "S",
        "Σ stress × thickness of the films",
        force,
        "N/m",
        f"typical stresses of the films, {len(own)} of the lab's own runs"
        if own
        else "typical stresses of the films",
    )
    modulus = body["modulus"].value / (1 - body["Poisson ratio"].value)
    inputs = {
        "force": replace(total, std=math.sqrt(variance)),
        "diameter": chosen("D", "wafer", ctx.flow.body.diameter, "mm", "the plan"),
        "modulus": chosen("M", "biaxial modulus of the wafer", modulus, "GPa", str(body["modulus"].source)),
        "wafer": chosen("h", "wafer", ctx.flow.body.thickness, "um", "the plan"),
    }
    derived = BOW.derive(
        lambda force, diameter, modulus, wafer: 3 * force * diameter**2 / (4 * modulus * wafer**2),
        inputs,
        unit="um",
    )
    return (follows("bow", derived),)


def plan_probe(step: Step, ctx: Context, now: Plan) -> Planned:
    """Sweep the devices within the voltages that spare the insulator."""
    return Planned(
        settings=asked_settings(step),
        time=0.0,
        actions=nothing,
        hazards=("high voltage probing",),
        look=("dark wait before each sweep; gate current far below drain current",),
    )


def plan_park(step: Step, ctx: Context, now: Plan) -> Planned:
    """A place where the wafer may wait."""
    return Planned(settings=asked_settings(step), time=0.0, actions=nothing)
