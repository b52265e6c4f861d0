"""A lithography: expose and develop; coat and bakes stand in files of their own. Only coat and develop change what lies on the wafer."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from filmwright.emulate.baked import (
    plan_bake,
    plan_dehydrate,
    plan_hard_bake,
    plan_post_exposure_bake,
    plan_prime,
    plan_reversal_bake,
)
from filmwright.emulate.coated import plan_coat, resist_on
from filmwright.emulate.context import (
    Context,
    Planned,
    acted,
    asked_settings,
    by_plan,
    from_value,
    in_words,
    nothing,
)
from filmwright.emulate.exposed import developed, exposed
from filmwright.emulate.lamp import lamp_of, time_for
from filmwright.emulate.rates import removal
from filmwright.emulate.trace import Corner
from filmwright.flow import Step
from filmwright.knowledge import Resist
from filmwright.process import Input, Setting
from filmwright.sources import Source
from filmwright.units import show
from filmwright.wafer import Action, Plan, Print


def plan_expose(step: Step, ctx: Context, now: Plan) -> Planned:
    """Dose = today's lamp reading × time."""
    resist = ctx.facts.resist(step.resist)
    dose, dose_std, dose_setting = dose_of(step, ctx, resist)
    also = exposed(step, ctx, now, resist_on(now, resist, step, ctx))
    gap = (by_plan(step, "gap", step.asked["gap"]),) if "gap" in step.asked else ()
    lamp = lamp_of(step, ctx)
    reading = lamp.read
    if reading is None:
        source = Source(citation="no lamp reading on file", kind="plan", where=f"line {step.line}")
        setting = in_words("time", f"read the lamp, then {show(dose, 'dose')} / intensity", source)
        return Planned(
            settings=(dose_setting, *gap, setting),
            time=0.0,
            actions=nothing,
            hazards=("ultraviolet exposure",),
            look=also.look,
            follows=also.numbers,
            warnings=("no lamp intensity on file: read the lamp today", *also.warnings),
        )
    given = Input(
        symbol="D",
        name="dose",
        value=dose,
        unit=dose_setting.unit,
        source=dose_setting.source,
        std=dose_std,
        evidence=dose_setting.evidence,
    )
    derived, told, notes = time_for(resist, given, lamp, ctx)
    readings = [("lamp intensity", lamp.whole)] if lamp.whole is not None else []
    readings += [(f"lamp intensity, {line}", each) for line, each in lamp.lines.items()]
    return Planned(
        settings=(
            dose_setting,
            *gap,
            *(
                Setting(
                    name=name,
                    value=each.value,
                    unit="mW/cm^2",
                    spread=each.std,
                    source=each.source,
                    evidence=each.evidence,
                    because="read it today and recompute the time",
                )
                for name, each in readings
            ),
            Setting.by_law("time", derived, reading.source, reading.evidence),
        ),
        time=derived.result or 0.0,
        actions=nothing,
        hazards=("ultraviolet exposure",),
        rate=reading,
        look=also.look,
        follows=(*told, *also.numbers),
        warnings=(*notes, *also.warnings),
    )


def dose_of(step: Step, ctx: Context, resist: Resist) -> tuple[float, float, Setting]:
    """Dose, its spread, and the setting: of the plan, else the lab's own clearing dose, else that on file."""
    if "dose" in step.asked:
        quantity = step.asked["dose"]
        return quantity.value, quantity.spread or 0.0, by_plan(step, "dose", quantity)
    belief = ctx.believe("clearing dose", step, material=resist.material)
    if belief is not None:
        setting = Setting(
            name="dose",
            value=belief.value,
            unit=belief.unit,
            spread=belief.std,
            source=belief.source,
            evidence=belief.evidence,
        )
        return belief.value, belief.std, setting
    value = resist.values["dose"]
    return value.value, value.std, replace(from_value("dose", value), spread=value.std)


def plan_flood(step: Step, ctx: Context, now: Plan) -> Planned:
    """Expose everything without a mask, so that what was not exposed before dissolves."""
    resist = ctx.facts.resist(step.resist)
    return Planned(
        settings=(from_value("dose", resist.values["flood dose"]),),
        time=0.0,
        actions=nothing,
        hazards=("ultraviolet exposure",),
    )


def plan_develop(step: Step, ctx: Context, now: Plan) -> Planned:
    """What the exposure left remains; the developer then touches what it uncovered."""
    resist = ctx.facts.resist(step.resist)
    medium = ctx.facts.medium(step.medium)
    value = resist.values["develop time"]
    asked = step.asked.get("develop time")
    setting = by_plan(step, "time", asked) if asked else from_value("time", value)
    time = acted(step, "time", asked.value if asked else value.value)
    bias = ctx.believe("print bias", step, material=resist.material)
    edge = step.measured.get("print bias", bias.value if bias else resist.values["print bias"].value)
    keep = ctx.remaining.get((step.mask, resist.tone))
    undercut, lower, toe = (
        resist.values[name].value if name in resist.values else 0.0
        for name in ("lift-off undercut", "under-layer thickness", "toe length")
    )

    clear = Input(
        symbol="t",
        name="time in the developer",
        value=setting.value or time,
        unit=setting.unit,
        source=setting.source,
    )
    also = developed(resist, ctx, step, medium, now, clear)

    def actions(corner: Corner, there: Plan) -> tuple[Action, ...]:
        found: list[Action] = []
        if keep is not None:
            found.append(
                Print(
                    material=resist.material,
                    keep=keep,
                    # The upper edge prints; the foot of a lift-off profile lies behind it.
                    bias=edge - undercut,
                    side_wall_angle=resist.values["side wall angle"].value,
                    undercut=undercut,
                    under_layer=lower,
                    foot=toe,
                )
            )
        return (*found, *removal(medium, step, ctx, there, corner, time, spare=frozenset({resist.material})))

    aqueous = "aqueous" in medium.families or "alkaline" in medium.families
    rinse = from_value("stop rinse", ctx.facts.models["stop rinse"]["time"])
    stop = (
        rinse
        if aqueous
        else in_words("stop rinse", "fresh developer, then isopropyl alcohol, then dry", setting.source)
    )
    bath = (from_value("temperature", ctx.facts.models["developer"]["temperature"]),) if aqueous else ()
    return Planned(
        settings=(in_words("developer", medium.name, setting.source), *bath, setting, stop),
        time=time,
        actions=actions,
        hazards=(medium.hazard,) if medium.hazard else (),
        medium=medium,
        follows=also.numbers,
        look=(
            f"{step.mask} pattern sharp; clear places show the colour of the film beneath all over",
            *also.look,
        ),
    )


def plan_inspect(step: Step, ctx: Context, now: Plan) -> Planned:
    """Look before the irreversible step."""
    return Planned(
        settings=asked_settings(step), time=0.0, actions=nothing, look=(step.hold,) if step.hold else ()
    )


LITHOGRAPHY: dict[str, Callable[[Step, Context, Plan], Planned]] = {
    "dehydrate": plan_dehydrate,
    "prime": plan_prime,
    "coat": plan_coat,
    "bake": plan_bake,
    "expose": plan_expose,
    "reversal bake": plan_reversal_bake,
    "flood expose": plan_flood,
    "post-exposure bake": plan_post_exposure_bake,
    "hard bake": plan_hard_bake,
    "develop": plan_develop,
    "inspect": plan_inspect,
}
