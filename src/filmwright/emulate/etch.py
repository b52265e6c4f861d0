"""Etches: the time from the film that lies there, its rate and the spread of both; what goes beneath follows by itself."""

from __future__ import annotations

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
from filmwright.emulate.etched import etched
from filmwright.emulate.loading import Loading, loading_of
from filmwright.emulate.rates import dissolution, etch_rates, materials_on, removal, scaled
from filmwright.emulate.trace import NOMINAL, Corner
from filmwright.flow import End, Step
from filmwright.knowledge import Belief, usual_time
from filmwright.process import EtchTime, Setting, etch_time
from filmwright.sources import Source
from filmwright.units import show, write
from filmwright.wafer import Action, Plan, Remove

_TOLD = 1.005
"""A loading that slows an etch by less is not spoken of."""


def plan_etch(step: Step, ctx: Context, now: Plan) -> Planned:
    """Settings and removal of a wet or plasma etch."""
    medium = ctx.facts.medium(step.medium)
    rate = ctx.believe("etch rate", step, material=step.material, medium=medium.name)
    depth = lying(now, step.material)
    warnings: list[str] = []
    if depth == 0.0:
        warnings.append(f"no {step.material} lies uncovered before this step")
    if rate is None or rate.value == 0.0:
        source = Source(citation="no rate on file", kind="plan", where=f"line {step.line}")
        first = f"measure the rate of {step.material} in {medium.name} on a witness first"
        setting = (
            by_plan(step, "time", step.asked["time"])
            if "time" in step.asked
            else in_words("time", first, source)
        )
        warnings.append(f"no rate of {step.material} in {medium.name} on file")
        fixed = step.asked["time"].value if "time" in step.asked else 0.0
        return Planned(
            settings=(setting, *asked_settings(step, "time")),
            time=fixed,
            actions=nothing,
            medium=medium,
            hazards=_hazards(medium.hazard),
            warnings=tuple(warnings),
        )
    uneven, _ = ctx.unevenness(step, None)
    loading = loading_of(step, ctx, now, etch_rates(medium, step, ctx, materials_on(now), NOMINAL))
    slowed = loading.real(depth / rate.value) / (depth / rate.value) if depth else 1.0
    computed = etch_time(
        depth, rate.value / slowed, rate.std / rate.value, film_unevenness(now, ctx, step), uneven
    )
    total, main = _settings(step, rate, depth, computed, _slowed(loading, slowed))
    watched = step.end is not None and step.end.rule == "end point" and "time" not in step.done

    def actions(corner: Corner, there: Plan) -> tuple[Action, ...]:
        time = acted(step, "time", total)
        rates = etch_rates(medium, step, ctx, materials_on(there) - medium.dissolves, corner)
        clock = loading
        if step.material in rates and depth and not corner.place:
            seen = rates[step.material]
            unloaded = lying(there, step.material) / seen.down
            clock = loading.clearing(unloaded * rate.value / depth)
            if watched and step.end is not None:
                # The end point is seen: what is left of the spread is the unevenness over the wafer.
                time = clock.real(unloaded) * (1 + step.end.extra)
                rates[step.material] = scaled(seen, 1 + corner.rate / 2 * uneven)
        # A rate that the open area slows down for a while is a shorter time at the rate on file.
        return (Remove(rates=rates, time=clock.on_chip(time)),) if rates and time > 0 else ()

    return Planned(
        settings=(*main, *asked_settings(step, "time")),
        time=total,
        actions=actions,
        hazards=_hazards(medium.hazard),
        medium=medium,
        rate=rate,
        follows=etched(step, ctx, medium, now, total),
        look=(f"{step.material} gone from all clear places; step of {show(depth, 'length')}",),
        warnings=tuple(warnings),
    )


def _hazards(key: str) -> tuple[str, ...]:
    return (key,) if key else ()


def _slowed(loading: Loading, slowed: float) -> str:
    """What the open area does to the rate, in words; nothing where it does nothing."""
    if slowed < _TOLD:
        return ""
    return f", slowed to {1 / slowed:.0%} by {loading.open_share:.0%} of the die open,"


def _settings(
    step: Step, rate: Belief, depth: float, computed: EtchTime, slowed: str
) -> tuple[float, tuple[Setting, ...]]:
    """Total time [s] and the settings that say it: fixed, to the end point, or computed to clear the worst place."""
    because = (
        f"{show(depth, 'length')} / {write(rate.value, rate.unit)}{slowed} = {show(computed.main, 'time')}"
    )
    if "time" in step.asked:
        return step.asked["time"].value, (by_plan(step, "time", step.asked["time"]),)
    seen = Setting(
        name="expected end point",
        value=computed.main,
        unit="s",
        spread=computed.main_std,
        source=rate.source,
        evidence=rate.evidence,
        because=because,
    )
    if step.end is not None and step.end.rule == "end point":
        total = computed.main * (1 + step.end.extra)
        return total, (seen, _conditional(step, step.end))
    if step.end is not None and step.end.rule == "measure":
        source = Source(citation="the plan", where=f"line {step.line}", kind="plan")
        text = (
            f"measure the film, then time = thickness / {write(rate.value, rate.unit)} × {computed.total / computed.main:.2f}"
            if computed.main
            else "measure the film first"
        )
        return computed.total, (seen, in_words("time", text, source))
    over = computed.total / computed.main - 1 if computed.main else 0.0
    setting = Setting(
        name="time",
        value=computed.total,
        unit="s",
        spread=computed.main_std,
        source=rate.source,
        evidence=rate.evidence,
        because=f"{because}, plus {over:.0%} so that the thickest, slowest place clears",
    )
    return computed.total, (setting,)


def _conditional(step: Step, end: End) -> Setting:
    source = Source(citation="the plan", where=f"line {step.line}", kind="plan")
    text = (
        f"to the end point seen, then {end.extra:.0%} of that time" if end.extra else "to the end point seen"
    )
    return in_words("time", text, source, f"the plan, line {step.line}")


def lying(plan: Plan, material: str) -> float:
    """The thickest uncovered film of a material [m]: what an etch must get through; 0 when none is uncovered."""
    return max(
        (top.thickness for column in plan.columns if (top := column.top).material == material), default=0.0
    )


def film_unevenness(plan: Plan, ctx: Context, step: Step) -> float:
    """(max − min)/(2 × mean) of the film that is etched, from the tool that put it down."""
    before = ctx.flow.steps[: next((k for k, each in enumerate(ctx.flow.steps) if each is step), None)]
    for each in reversed(before):
        if each.kind == "deposit" and each.material == step.material:
            return ctx.unevenness(each, ctx.facts.method(each.method).non_uniformity)[0]
    return 0.0


def plan_strip(step: Step, ctx: Context, now: Plan) -> Planned:
    """A solvent or an ashing plasma takes the resist away; what lay on it floats off."""
    return _dissolve(step, ctx, now, ("no resist and no residue at edges, in dark field",))


def plan_lift_off(step: Step, ctx: Context, now: Plan) -> Planned:
    """The resist dissolves; the film on it leaves with it."""
    return _dissolve(step, ctx, now, (step.hold,))


def plan_clean(step: Step, ctx: Context, now: Plan) -> Planned:
    """A bath that should take dirt only."""
    return _dissolve(step, ctx, now, ("no marks under grazing light",))


def plan_rinse(step: Step, ctx: Context, now: Plan) -> Planned:
    """Water, then dry."""
    return _dissolve(step, ctx, now, ("dry, no spots",))


def _dissolve(step: Step, ctx: Context, now: Plan, look: tuple[str, ...]) -> Planned:
    medium = ctx.facts.medium(step.medium)
    usual = usual_time(medium.kind)
    if "time" in step.asked:
        setting, planned = by_plan(step, "time", step.asked["time"]), step.asked["time"].value
    else:
        setting = from_value("time", usual)
        planned = usual.value
    time = acted(step, "time", planned)

    def actions(corner: Corner, there: Plan) -> tuple[Action, ...]:
        tear = ctx.facts.models["lift-off"]["tear thickness"].value
        return (*dissolution(medium, there, tear), *removal(medium, step, ctx, there, corner, time))

    return Planned(
        settings=(setting, *asked_settings(step, "time")),
        time=planned,
        actions=actions,
        hazards=_hazards(medium.hazard),
        medium=medium,
        look=tuple(each for each in look if each),
    )
