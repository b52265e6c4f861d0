"""Films that are put down: time or cycles from a believed rate, and the growth that follows."""

from __future__ import annotations

import math
from dataclasses import replace

from filmwright.emulate.context import Actions, Context, Planned, acted, asked_settings, by_plan, in_words
from filmwright.emulate.cosputtered import CoSputtered, cosputtered
from filmwright.emulate.evaporated import evaporated
from filmwright.emulate.film_results import film_label
from filmwright.emulate.follows import Followed, follows
from filmwright.emulate.geometry import at_tool, film_factor, film_unevenness
from filmwright.emulate.heated import wafer_temperature
from filmwright.emulate.layered import by_cycles, cycle_of, nucleation, outside_window, pulses
from filmwright.emulate.oxidised import (
    OXIDISES,
    Oxidation,
    consumed_share,
    oxidation_of,
    oxide_time,
    oxidised,
    oxidises,
)
from filmwright.emulate.reacted import from_plasma
from filmwright.emulate.reactive import reactive_settings
from filmwright.emulate.response import Fitted, fitted
from filmwright.emulate.sputtered import before_the_film, shutter, sputtered
from filmwright.emulate.trace import Corner
from filmwright.flow import Step
from filmwright.knowledge import Belief, Method
from filmwright.process import (
    LINEAR_GROWTH,
    STEADY_RATE,
    TOOLING,
    Input,
    Noted,
    Setting,
    cosine_wall_fraction,
    cycles_for_thickness,
    disc_source_tilts,
    far_source_wall_fraction,
    monitor_reading,
    planetary_tilts,
    time_for_thickness,
)
from filmwright.sources import Source
from filmwright.units import show
from filmwright.wafer import Action, Flux, Grow, Plan

_UNIFORM = math.sqrt(3.0)
"""Half width over standard deviation of a rectangular distribution (GUM, 4.3.7)."""


def plan_deposit(step: Step, ctx: Context, now: Plan) -> Planned:
    """Settings and growth of a deposition."""
    method = at_tool(step, ctx, ctx.facts.method(step.method))
    target = step.asked["thickness"].value
    cycled = "cycles" in method.settings
    rate = ctx.believe("growth per cycle" if cycled else "deposition rate", step, material=step.material)
    from_runs = fitted(step, ctx, "growth per cycle" if cycled else "deposition rate", rate)
    rate = from_runs.belief if from_runs is not None else rate
    several = cosputtered(step, ctx, method, wanted(step)) if step.sources else None
    if several is not None and not _by_recipe(step, ctx):
        rate, from_runs = several.rate, None
    furnace = oxidation_of(step, ctx, method, now) if rate is None and oxidises(method) else None
    main, time, warnings = (
        oxide_time(step, furnace, wanted(step))
        if furnace is not None
        else _main_setting(step, ctx, rate, (target, cycled), now)
    )
    uneven = film_unevenness(step, ctx, method)
    thickness = _thickness(step, rate, target, main.name, furnace)
    known = rate.std / rate.value if rate else _relative(main)
    relative = math.hypot(known, uneven / _UNIFORM)
    std = 0.0 if "thickness" in step.measured else thickness * relative
    also = (
        _from_several(step, several, ctx, time)
        if several is not None
        else _followed(step, ctx, method, rate, time, main.value if cycled else None)
        if furnace is None
        else oxidised(step, ctx, furnace, replace(wanted(step), value=thickness), _acted_time(step, time))
    )
    return Planned(
        settings=(
            main,
            *_monitor(step, ctx, method),
            *(several.settings if several is not None else ()),
            *before_the_film(step, ctx, method),
            *reactive_settings(step, ctx),
            *pulses(step, ctx, method),
            *asked_settings(step, "thickness", "time", "cycles", "aspect ratio"),
        ),
        time=time,
        actions=_growth(step, ctx, method, (thickness, std), (furnace, _acted_time(step, time))),
        hazards=(method.hazard,) if method.hazard else (),
        thickness=thickness,
        thickness_std=std,
        rate=rate,
        look=(f"film of {show(target, 'length')} {step.material}: measure a step or a witness", *also.look),
        warnings=(*warnings, *(from_runs.notes if from_runs is not None else ()), *also.warnings),
        follows=(*(rate_of_runs(from_runs) if from_runs is not None else ()), *also.numbers),
        results=also.results,
    )


def rate_of_runs(found: Fitted) -> tuple[Setting, ...]:
    """The rate that the runs gave, as a number that follows."""
    return (follows("rate from the runs", found.derived),)


def _by_recipe(step: Step, ctx: Context) -> bool:
    """Whether the lab has the rate of the whole film, by the recipe that the step names."""
    return bool(step.recipe) and any(
        (each.of, each.tool, each.material, each.recipe)
        == ("deposition rate", step.tool, step.material, step.recipe)
        for each in ctx.lab.calibrations
    )


def _from_several(step: Step, several: CoSputtered, ctx: Context, time: float) -> Followed:
    warm = wafer_temperature(step, ctx, several.heat, time)
    return replace(several.followed, numbers=(*several.followed.numbers, *warm, *shutter(ctx, time)))


def _relative(main: Setting) -> float:
    """Relative deviation of a film without a rate: that of the time of a law, else a tenth."""
    return main.spread / main.value if main.value and main.spread else 0.1


def _main_setting(
    step: Step, ctx: Context, rate: Belief | None, film: tuple[float, bool], now: Plan
) -> tuple[Setting, float, tuple[str, ...]]:
    """Time or cycles for a film: its thickness, and whether it grows by cycles."""
    target, by_cycles = film
    name = "cycles" if by_cycles else "time"
    missing = f"no {'growth per cycle' if by_cycles else 'deposition rate'} of {step.material} on file for {step.tool or 'this method'}"
    if "time" in step.asked and not by_cycles:
        fixed = step.asked["time"]
        return by_plan(step, name, fixed), fixed.value, (() if rate else (missing,))
    if rate is None:
        source = Source(citation="no rate on file", kind="plan", where=f"line {step.line}")
        text = f"measure the rate first; aim at {show(target, 'length')}"
        return (
            in_words(name, text, source),
            0.0,
            (missing,),
        )
    if by_cycles:
        return _cycles(step, ctx, rate, now)
    derived = STEADY_RATE.derive(
        lambda thickness, rate: time_for_thickness(thickness, rate)[0],
        {"thickness": wanted(step), "rate": Input.known("R", "deposition rate", rate)},
        unit="s",
    )
    return Setting.by_law(name, derived, rate.source, rate.evidence), derived.result or 0.0, ()


def _cycles(step: Step, ctx: Context, rate: Belief, now: Plan) -> tuple[Setting, float, tuple[str, ...]]:
    """Whole cycles, and how long they take."""
    inputs = {"thickness": wanted(step), "growth": Input.known("g", "growth per cycle", rate)}
    known = nucleation(step, ctx, now)
    if known is not None:
        inputs["delay"] = known
    exact = LINEAR_GROWTH.derive(
        lambda thickness, growth, delay=0.0: thickness / growth + delay, inputs, unit=""
    )
    delay = inputs["delay"].value if "delay" in inputs else 0.0
    count, _ = cycles_for_thickness(inputs["thickness"].value, rate.value, rate.std, delay)
    unused = ("the plan's time is not used: cycles decide the thickness",) if "time" in step.asked else ()
    setting = Setting.by_law("cycles", replace(exact, result=float(count)), rate.source, rate.evidence)
    return setting, count * cycle_of(step, ctx).value, (*unused, *outside_window(step, ctx))


def _followed(
    step: Step, ctx: Context, method: Method, rate: Belief | None, time: float, cycles: float | None
) -> Followed:
    """What the laws of the method say of the film."""
    if "evaporation" in method.families:
        return evaporated(step, ctx, method, wanted(step), rate, tooling_of(step, ctx))
    if {"plasma", "argon"} <= method.families:
        return sputtered(step, ctx, method, wanted(step), rate, time)
    if "cycles" in method.settings:
        return by_cycles(step, ctx, method, cycles)
    if "hydrogen-bearing plasma" in method.families:
        return from_plasma(step, ctx, time)
    return Followed()


def wanted(step: Step) -> Input:
    """The thickness that the plan wants; its tolerance is no uncertainty."""
    asked = step.asked["thickness"]
    source = Source(citation="the plan", where=f"line {step.line}", kind="plan")
    return Input(symbol="d", name="thickness wanted", value=asked.value, unit=asked.unit, source=source)


def _monitor(step: Step, ctx: Context, method: Method) -> tuple[Setting, ...]:
    """The thickness to dial into the quartz monitor, where the method has one."""
    if "monitor thickness" not in method.settings:
        return ()
    tooling = tooling_of(step, ctx)
    derived = TOOLING.derive(
        lambda thickness, tooling: Noted(
            value=monitor_reading(thickness, tooling)[0], notes=monitor_reading(thickness, tooling)[2]
        ),
        {"thickness": wanted(step), "tooling": tooling},
        unit="nm",
    )
    return (Setting.by_law("monitor thickness", derived, tooling.source, tooling.evidence),)


def tooling_of(step: Step, ctx: Context) -> Input:
    """Film on the wafer over what a monitor set to 100 % shows; taken as one where nobody measured it."""
    known = ctx.believe("tooling factor", step, material=step.material)
    if known is not None:
        return Input.known("F", "tooling factor", known)
    return Input(
        symbol="F",
        name="tooling factor",
        value=1.0,
        unit="%",
        source=Source(citation="tooling factor not on file, taken as 100 %", kind="plan"),
        evidence="no tooling factor on file: compare the monitor with a measured step",
    )


def _acted_time(step: Step, time: float) -> float:
    """The time that was really set, else the planned one."""
    return acted(step, "time", time)


def _thickness(
    step: Step, rate: Belief | None, target: float, main: str, furnace: Oxidation | None = None
) -> float:
    """Measured before set before asked: the one order in which a history is believed."""
    if "thickness" in step.measured:
        return step.measured["thickness"]
    if furnace is not None:
        given = step.done.get("time", step.asked["time"].value if "time" in step.asked else None)
        if not furnace.over:
            return 0.0
        if given is not None:
            return furnace.grown(given, furnace.over[0]) + furnace.over[0]
        return target
    if rate is not None and main in step.done:
        return rate.value * acted(step, main, 0.0)
    if rate is not None and main == "time" and "time" in step.asked:
        return rate.value * step.asked["time"].value
    return target


def arriving(method: Method) -> tuple[Flux | None, float]:
    """From which angles a method's atoms arrive, none where films do not follow from it, and what a free upright wall gets of
    the thickness on the flat."""
    facts = {name: value.value for name, value in method.arrival.items()}
    if not facts:
        return None, 0.0 if method.line_of_sight else method.side_wall.value
    if "exponent" in facts:
        return Flux(exponent=facts["exponent"]), cosine_wall_fraction(facts["exponent"])
    if "orbit" in facts:
        tilts, shares = planetary_tilts(
            facts["throw"], facts["orbit"], facts["inclination"], facts["source offset"]
        )
    else:
        tilts, shares = disc_source_tilts(facts["throw"], facts["offset"], facts["source radius"])
    wall = 0.0 if method.line_of_sight else far_source_wall_fraction(tilts, shares)
    return Flux(tilts=tilts, shares=shares), wall


def _growth(
    step: Step,
    ctx: Context,
    method: Method,
    film: tuple[float, float],
    furnace: tuple[Oxidation | None, float],
) -> Actions:
    """The growth of a film of some thickness and standard deviation; of an oxidation also beneath what is there."""
    (thickness, std), (oxidation, time) = film, furnace
    flux, side_wall = arriving(method)
    taken = consumed_share(step, ctx) if oxidises(method) else 0.0
    # What the plan wants is the oxide at the thinnest place; less grows there where some lies already.
    on_bare = (
        oxidation.grown(time, 0.0) if oxidation is not None and oxidation.over and time > 0 else thickness
    )
    if oxidation is not None and oxidation.bare:
        on_bare = thickness
    beneath = oxidation.through(time) if oxidation is not None and time > 0 else ()

    def actions(corner: Corner, there: Plan) -> tuple[Action, ...]:
        thicker = film_factor(step, ctx, method, corner.place)
        more = max(thickness + corner.film * std, 0.0) / thickness * thicker if thickness else 0.0
        grown = on_bare * more
        if grown <= 0:
            return ()
        return (
            Grow(
                material=step.material,
                film=film_label(step),
                thickness=grown,
                consumed=grown * taken,
                consumes=OXIDISES if taken else "",
                side_wall=side_wall,
                line_of_sight=method.line_of_sight,
                flux=flux,
                through=tuple((over, grows * more) for over, grows in beneath),
            ),
        )

    return actions
