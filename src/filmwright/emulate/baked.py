"""Dehydration, priming and the bakes of a resist: plate, time to temperature, what heat does to its sensitivity."""

from __future__ import annotations

from dataclasses import replace

from filmwright.emulate.context import (
    Context,
    Planned,
    acted,
    by_plan,
    from_value,
    in_words,
    nothing,
)
from filmwright.emulate.follows import between, chosen, follows
from filmwright.emulate.plate import plate_setting
from filmwright.emulate.trace import Corner
from filmwright.flow import Step
from filmwright.knowledge import Resist
from filmwright.process import (
    Derivation,
    Input,
    Setting,
    adhesion_work,
    baking,
    resist_laws,
)
from filmwright.sources import Source, Value
from filmwright.units import BOLTZMANN, ROOM_TEMPERATURE, show
from filmwright.wafer import Action, Heat, Plan

_LINE = "405 nm"
"""Line at which the sensitivity of a resist stands for all when its dose is corrected for a bake: the middle one."""


_TOLD = 1e-3
"""Compound lost beside the usual bake [1] from which a dose is told that makes up for it."""


def plan_dehydrate(step: Step, ctx: Context, now: Plan) -> Planned:
    """Drive water off before priming."""
    planned = _baked(step, ctx, ctx.facts.resist(step.resist), "dehydration")
    return _with(
        planned,
        look=(
            "cool on a metal block in dry air for a minute, then prime or coat at once: water comes back from the air",
        ),
    )


def plan_bake(step: Step, ctx: Context, now: Plan) -> Planned:
    """Drive the solvent out of the resist."""
    resist = ctx.facts.resist(step.resist)
    planned = _baked(step, ctx, resist, "softbake")
    hot, long = planned.settings[0], _time_of(planned)
    lost = sensitivity_after(resist, ctx, hot, long)
    thick = _rehydration(step, ctx, resist)
    return _with(planned, settings=thick, follows=lost)


def plan_reversal_bake(step: Step, ctx: Context, now: Plan) -> Planned:
    """Cross-link what was exposed."""
    return _baked(step, ctx, ctx.facts.resist(step.resist), "reversal bake")


def plan_post_exposure_bake(step: Step, ctx: Context, now: Plan) -> Planned:
    """Let the light's work go on: cross-link what was exposed."""
    planned = _baked(step, ctx, ctx.facts.resist(step.resist), "post-exposure bake")
    return _with(
        planned,
        look=(
            "a degree more or less moves the edges as some per cent of dose do: same plate, same place, same cooling each time",
            "let it cool slowly and rest some minutes before it is developed",
        ),
    )


def plan_hard_bake(step: Step, ctx: Context, now: Plan) -> Planned:
    """Make the resist hold on better before an etch."""
    planned = _baked(step, ctx, ctx.facts.resist(step.resist), "postbake")
    return _with(planned, look=("edges still straight: rounded ones were too hot",))


def _with(
    planned: Planned,
    settings: tuple[Setting, ...] = (),
    follows: tuple[Setting, ...] = (),
    look: tuple[str, ...] = (),
) -> Planned:
    return replace(
        planned,
        settings=(*planned.settings, *settings),
        follows=(*planned.follows, *follows),
        look=(*planned.look, *look),
    )


def _baked(step: Step, ctx: Context, resist: Resist, which: str) -> Planned:
    at_wafer, long = (
        _set_point(step, resist.values[f"{which} {name}"], which, name) for name in ("temperature", "time")
    )
    hot = acted(step, "temperature", at_wafer.value or 0.0)
    time = acted(step, "time", long.value or 0.0)

    def actions(corner: Corner, there: Plan) -> tuple[Action, ...]:
        return (Heat(temperature=hot, time=time, atmosphere="air"),)

    plate = plate_setting(step, ctx, at_wafer)
    return Planned(
        settings=(at_wafer, *plate, long),
        time=long.value or 0.0,
        actions=actions,
        hazards=("hot plate",),
        follows=warm_up(ctx, at_wafer),
        warnings=tuple(note for each in plate if each.derived is not None for note in each.derived.notes),
    )


def _set_point(step: Step, value: Value, which: str, name: str) -> Setting:
    asked = step.asked.get(f"{which} {name}")
    return by_plan(step, name, asked) if asked is not None else from_value(name, value)


def _time_of(planned: Planned) -> Setting:
    return next(each for each in planned.settings if each.name == "time")


def _as_input(symbol: str, name: str, setting: Setting) -> Input:
    return Input(
        symbol=symbol,
        name=name,
        value=setting.value or 0.0,
        unit=setting.unit,
        source=setting.source,
        evidence=setting.evidence,
    )


def warm_up(ctx: Context, wafer: Setting) -> tuple[Setting, ...]:
    """How long the wafer takes to be warm; nothing where the heat capacity of its body is not on file."""
    body, plate = ctx.flow.body, ctx.facts.models["hot plate"]
    capacity = ctx.facts.models["heat capacity"].get(body.material)
    if capacity is None or wafer.value is None:
        return ()
    constant = resist_laws.PLATE_CONSTANT.derive(
        baking.plate_time_constant,
        {
            "heat_capacity": Input.known("c", f"heat capacity of {body.material}", capacity),
            "thickness": chosen("h", "wafer", body.thickness, "um", "the plan, else usual for its diameter"),
            "air_gap": Input.known("g", "air beneath it", plate["air gap"]),
            "conductivity": Input.known("κ", "conductivity of air", plate["conductivity of air"]),
        },
        unit="s",
    )
    warm = resist_laws.WARM_UP.derive(
        baking.time_to_temperature,
        {
            "constant": between("τ", "time constant", constant),
            "end": _as_input("T", "at the wafer", wafer),
            "start": chosen("T_r", "room", ROOM_TEMPERATURE, "°C", "room"),
            "near": Input.known("δ", "near enough", plate["near"]),
        },
        unit="s",
        notes=("part of the time of the bake; a bake that is much longer does not feel it",),
    )
    return follows("time constant on the plate", constant), follows("time to temperature", warm)


def bake_loss(resist: Resist, ctx: Context, hot: Setting, long: Setting) -> Derivation | None:
    """Photoactive compound that a bake leaves; None for a resist that has none."""
    if "Dill A at 405 nm" not in resist.values or hot.value is None or long.value is None:
        return None
    law = ctx.facts.models["thermal decomposition of resist"]
    return resist_laws.BAKE_LOSS.derive(
        lambda time, prefactor, energy, temperature: baking.compound_after_bake(
            prefactor, energy, temperature, time
        ),
        {
            "time": _as_input("t", "time", long),
            "prefactor": Input.known(
                "K", "logarithm of the prefactor in 1/s", law["logarithm of the prefactor"]
            ),
            "energy": Input.known("E", "activation energy", law["energy"]),
            "temperature": _as_input("T", "at the resist", hot),
        },
        unit="%",
        notes=(f"k is {BOLTZMANN:.4g} J/K",),
    )


def sensitivity_after(resist: Resist, ctx: Context, hot: Setting, long: Setting) -> tuple[Setting, ...]:
    """What a bake does to the sensitivity, beside the usual bake for which the dose on file holds."""
    left = bake_loss(resist, ctx, hot, long)
    usual = bake_loss(
        resist,
        ctx,
        from_value("temperature", resist.values["softbake temperature"]),
        from_value("time", resist.values["softbake time"]),
    )
    if left is None or usual is None:
        return ()
    cooler = "a cooler or shorter bake leaves solvent: faster, softer and thicker, by how much is not on file"
    found = [follows("compound that the bake leaves", replace(left, notes=(*left.notes, cooler)))]
    lost = min((left.result or 1.0) / (usual.result or 1.0), 1.0)
    if "Dill C at 405 nm" in resist.values and lost < 1 - _TOLD:
        dose = resist_laws.BAKED_DOSE.derive(
            lambda dose, sensitivity, left: baking.dose_after_bake(dose, sensitivity, min(left, 1.0)),
            {
                "dose": Input.known("D", "dose on file, for the usual bake", resist.values["dose"]),
                "sensitivity": Input.known(
                    "C", f"sensitivity at {_LINE}", resist.values[f"Dill C at {_LINE}"]
                ),
                "left": chosen(
                    "M_0",
                    "compound left, beside the usual bake",
                    lost,
                    "%",
                    "the law above, for this bake and the usual one",
                ),
            },
            unit="mJ/cm^2",
        )
        found.append(follows("dose that makes up for the bake", dose))
    return tuple(found)


def _rehydration(step: Step, ctx: Context, resist: Resist) -> tuple[Setting, ...]:
    """The wait that a thick resist of this kind needs before it is exposed."""
    wet = ctx.facts.models["wet resist"]
    reacts = "Dill A at 405 nm" in resist.values
    if not reacts or resist.values["thickness at reference speed"].value < wet["thick from"].value:
        return ()
    return (
        from_value(
            "wait before the exposure", wet["rehydration"], "the reaction with light needs water in the film"
        ),
    )


def plan_prime(step: Step, ctx: Context, now: Plan) -> Planned:
    """Make the surface take resist."""
    source = Source(citation="hexamethyldisilazane vapour priming", kind="common practice")
    facts = ctx.facts.models["priming"]
    noble = sorted(
        name
        for name in {column.top.material for column in now.columns}
        if "noble metal" in ctx.facts.material(name).families
    )
    angle = Input.known("θ", "contact angle of water once primed", facts["contact angle"])
    bare = Input.known("θ", "contact angle of water on a clean oxide", facts["contact angle of clean oxide"])
    tension = Input.known("γ", "surface tension of water", facts["surface tension of water"])
    works = [
        resist_laws.ADHESION.derive(
            lambda tension, angle: adhesion_work(tension, max(angle, 0.0)),
            {"tension": tension, "angle": each},
            unit="mJ/m^2",
        )
        for each in (bare, angle)
    ]
    time = from_value("time", facts["time"])
    return Planned(
        settings=(
            in_words(
                "primer",
                "vapour: its silyl groups take the place of the hydroxyl groups that hold water",
                source,
            ),
            from_value(
                "temperature",
                facts["temperature"],
                "hot enough that no water stays, cool enough for the films",
            ),
            time,
        ),
        time=time.value or 0.0,
        actions=nothing,
        hazards=("adhesion promoter",),
        follows=(
            follows("hold of water before priming", works[0]),
            follows("hold of water once primed", works[1]),
        ),
        look=(
            f"a drop of water beads: contact angle about {show(facts['contact angle'].value, 'angle')}, "
            f"{show(facts['contact angle'].low, 'angle')} to {show(facts['contact angle'].high, 'angle')}",
            "no film loses anything: the vapour takes the topmost hydroxyl groups only",
            *((f"the vapour finds nothing to bind to on {', '.join(noble)}",) if noble else ()),
        ),
    )
