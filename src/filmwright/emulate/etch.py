"""Etches: the time from the film that lies there, its rate and the spread of both; what goes beneath follows by itself."""

from __future__ import annotations

from dataclasses import replace

from filmwright.emulate.bath import InBath, bath_of, in_bath, taken_by_one, used_so_far
from filmwright.emulate.context import (
    Context,
    Planned,
    acted,
    asked_settings,
    by_plan,
    in_words,
    nothing,
)
from filmwright.emulate.etch_numbers import (
    EtchDerived,
    derived_etch,
    in_one_glance,
    reached,
    what_it_takes,
)
from filmwright.emulate.etched import etched
from filmwright.emulate.follows import follows
from filmwright.emulate.loading import loading_of
from filmwright.emulate.rates import etch_rates, materials_on, scaled
from filmwright.emulate.trace import NOMINAL, Corner, EtchFigures
from filmwright.flow import End, Step
from filmwright.knowledge import Belief, Medium, spent_with
from filmwright.process import Derivation, Setting
from filmwright.sources import Source
from filmwright.units import show, write
from filmwright.wafer import Action, Plan, Remove


def plan_etch(step: Step, ctx: Context, now: Plan) -> Planned:
    """Settings and removal of a wet or plasma etch."""
    medium = ctx.facts.medium(step.medium)
    believed = ctx.believe("etch rate", step, material=step.material, medium=medium.name)
    depth = lying(now, step.material)
    uncovered = () if depth else (f"no {step.material} lies uncovered before this step",)
    if believed is None or believed.value == 0.0:
        return _without_rate(step, medium, uncovered)
    known = in_bath(step, ctx, medium, step.material, believed)
    rate = known.rate
    uneven, _ = ctx.unevenness(step, None)
    loading = loading_of(step, ctx, now, etch_rates(medium, step, ctx, materials_on(now), NOMINAL))
    slowed = loading.real(depth / rate.value) / (depth / rate.value) if depth else 1.0
    takes = reached(step, ctx, medium, now)
    used = taken_by_one(step, ctx, depth, open_share(step, now)) if medium.kind == "wet etch" else None
    figures = replace(
        _figures(step, ctx, now, used),
        rate=rate.value,
        loading=loading.coefficient,
        beneath={material: each.value for material, each in takes.items()},
    )
    found = derived_etch(step, ctx, figures, rate, slowed)
    total, main = _settings(step, rate, depth, found, known)
    found = replace(found, figures=replace(found.figures, total=total))
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
        follows=(
            *what_it_takes(step, ctx, medium, now, found, takes),
            *([follows("reagent that one wafer takes from the bath", used)] if used is not None else ()),
            *etched(step, ctx, medium, now, total),
        ),
        look=(
            f"{step.material} gone from all clear places; step of {show(depth, 'length')}",
            in_one_glance(found),
        ),
        warnings=(*uncovered, *known.warnings),
        etch=found.figures,
        waste=spent_with(ctx.facts.material(step.material)) if medium.kind == "wet etch" else "",
    )


def _without_rate(step: Step, medium: Medium, warnings: tuple[str, ...]) -> Planned:
    """An etch of which nobody knows how fast it is: the plan's time, or first a measurement."""
    source = Source(citation="no rate on file", kind="plan", where=f"line {step.line}")
    first = f"measure the rate of {step.material} in {medium.name} on a witness first"
    fixed = step.asked.get("time")
    setting = by_plan(step, "time", fixed) if fixed is not None else in_words("time", first, source)
    return Planned(
        settings=(setting, *asked_settings(step, "time")),
        time=fixed.value if fixed is not None else 0.0,
        actions=nothing,
        medium=medium,
        hazards=_hazards(medium.hazard),
        warnings=(*warnings, f"no rate of {step.material} in {medium.name} on file"),
    )


def _figures(step: Step, ctx: Context, now: Plan, used: Derivation | None) -> EtchFigures:
    """Depth, unevenness, open share and use of the bath; rates and times are filled in later."""
    bath = bath_of(step, ctx.lab, ctx.on)
    counted = bath is not None and bath.volume is not None and used is not None
    return EtchFigures(
        depth=lying(now, step.material),
        rate=0.0,
        end=0.0,
        end_std=0.0,
        total=0.0,
        film_uneven=film_unevenness(now, ctx, step),
        rate_uneven=ctx.unevenness(step, None)[0],
        open_share=open_share(step, now),
        used_before=used_so_far(step, ctx, bath) if bath is not None else 0.0,
        used_by_one=(used.result or 0.0) if counted and used is not None else 0.0,
    )


def _hazards(key: str) -> tuple[str, ...]:
    return (key,) if key else ()


def open_share(step: Step, now: Plan) -> float:
    """Part of the die on which the film of an etch lies open."""
    areas = now.areas()
    whole = sum(areas.values())
    mine = sum(area for column, area in areas.items() if column.top.material == step.material)
    return mine / whole if whole else 0.0


def _settings(
    step: Step, rate: Belief, depth: float, found: EtchDerived, known: InBath
) -> tuple[float, tuple[Setting, ...]]:
    """Total time [s] and the settings that say it: fixed, to the end point, or computed to clear the worst place."""
    bath = (
        ()
        if known.derived is None
        else (Setting.by_law("rate in this bath", known.derived, rate.source, rate.evidence),)
    )
    if "time" in step.asked:
        return step.asked["time"].value, (*bath, by_plan(step, "time", step.asked["time"]))
    end = replace(found.end, notes=(*found.end.notes, *known.notes))
    seen = Setting.by_law("expected end point", end, rate.source, rate.evidence)
    if found.watched and step.end is not None:
        return found.whole.result or 0.0, (*bath, seen, _conditional(step, step.end))
    if step.end is not None and step.end.rule == "measure":
        source = Source(citation="the plan", where=f"line {step.line}", kind="plan")
        factor = 1 + (found.over.result or 0.0)
        text = (
            f"measure the film, then time = thickness / {write(rate.value, rate.unit)} × {factor:.2f}"
            if depth
            else "measure the film first"
        )
        return found.whole.result or 0.0, (*bath, seen, in_words("time", text, source))
    whole = Setting.by_law("time", found.whole, rate.source, rate.evidence)
    said = (
        f"{found.end.worked}, plus {found.over.result or 0.0:.0%} so that the thickest, slowest place clears"
    )
    return found.whole.result or 0.0, (*bath, seen, replace(whole, because=said))


def _conditional(step: Step, end: End) -> Setting:
    source = Source(citation="the plan", where=f"line {step.line}", kind="plan")
    text = (
        f"to the end point seen, then {100 * end.extra:.0f} % of that time"
        if end.extra
        else "to the end point seen"
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
