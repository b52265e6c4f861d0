"""Films that are put down: time or cycles from a believed rate, and the growth that follows."""

from __future__ import annotations

import math

from filmwright.emulate.context import Actions, Context, Planned, acted, asked_settings, by_plan, in_words
from filmwright.emulate.trace import Corner
from filmwright.flow import Step
from filmwright.knowledge import Belief, Method, usual_time
from filmwright.process import (
    Setting,
    cosine_wall_fraction,
    cycles_for_thickness,
    disc_source_tilts,
    far_source_wall_fraction,
    planetary_tilts,
    time_for_thickness,
)
from filmwright.sources import Source
from filmwright.units import show, write
from filmwright.wafer import Action, Flux, Grow, Plan

_UNIFORM = math.sqrt(3.0)
"""Half width over standard deviation of a rectangular distribution (GUM, 4.3.7)."""


def film_label(step: Step) -> str:
    """Label of the growth of a step, unique on the wafer."""
    return f"{step.material} ({step.number})"


def plan_deposit(step: Step, ctx: Context, now: Plan) -> Planned:
    """Settings and growth of a deposition."""
    method = ctx.facts.method(step.method)
    target = step.asked["thickness"].value
    by_cycles = "cycles" in method.settings
    rate = ctx.believe("growth per cycle" if by_cycles else "deposition rate", step, material=step.material)
    main, time, warnings = _main_setting(step, rate, target, by_cycles)
    uneven, _ = ctx.unevenness(step, method.non_uniformity)
    thickness = _thickness(step, rate, target, main.name)
    relative = math.hypot(rate.std / rate.value if rate else 0.1, uneven / _UNIFORM)
    std = 0.0 if "thickness" in step.measured else thickness * relative
    return Planned(
        settings=(
            main,
            *_monitor(step, ctx, method, target),
            *asked_settings(step, "thickness", "time", "cycles"),
        ),
        time=time,
        actions=_growth(step, ctx, method, thickness, std),
        hazards=(method.hazard,) if method.hazard else (),
        thickness=thickness,
        thickness_std=std,
        rate=rate,
        look=(f"film of {show(target, 'length')} {step.material}: measure a step or a witness",),
        warnings=warnings,
    )


def _main_setting(
    step: Step, rate: Belief | None, target: float, by_cycles: bool
) -> tuple[Setting, float, tuple[str, ...]]:
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
        count, spread = cycles_for_thickness(target, rate.value, rate.std)
        because = f"{show(target, 'length')} / {write(rate.value, rate.unit)} per cycle = {count:.0f} cycles"
        setting = Setting(
            name=name,
            value=float(count),
            unit="",
            spread=spread,
            source=rate.source,
            evidence=rate.evidence,
            because=because,
        )
        unused = ("the plan's time is not used: cycles decide the thickness",) if "time" in step.asked else ()
        return setting, count * usual_time("cycle").value, unused
    time, spread = time_for_thickness(target, rate.value, rate.std)
    because = f"{show(target, 'length')} / {write(rate.value, rate.unit)} = {show(time, 'time')}"
    setting = Setting(
        name=name,
        value=time,
        unit="s",
        spread=spread,
        source=rate.source,
        evidence=rate.evidence,
        because=because,
    )
    return setting, time, ()


def _monitor(step: Step, ctx: Context, method: Method, target: float) -> tuple[Setting, ...]:
    """The thickness to dial into the quartz monitor, where the method has one."""
    if "monitor thickness" not in method.settings:
        return ()
    tooling = ctx.believe("tooling factor", step, material=step.material)
    factor = tooling.value if tooling else 1.0
    source = (
        tooling.source
        if tooling
        else Source(citation="tooling factor not on file, taken as 100 %", kind="plan")
    )
    evidence = (
        tooling.evidence if tooling else "no tooling factor on file: compare the monitor with a measured step"
    )
    because = f"{show(target, 'length')} / tooling factor {factor:.2f}"
    return (
        Setting(
            name="monitor thickness",
            value=target / factor,
            unit="nm",
            source=source,
            evidence=evidence,
            because=because,
        ),
    )


def _thickness(step: Step, rate: Belief | None, target: float, main: str) -> float:
    """Measured before set before asked: the one order in which a history is believed."""
    if "thickness" in step.measured:
        return step.measured["thickness"]
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


def _growth(step: Step, ctx: Context, method: Method, thickness: float, std: float) -> Actions:
    flux, side_wall = arriving(method)

    def actions(corner: Corner, there: Plan) -> tuple[Action, ...]:
        thicker = ctx.at_place(step, method.non_uniformity, corner.place, +1)
        return (
            Grow(
                material=step.material,
                film=film_label(step),
                thickness=max(thickness + corner.film * std, 0.0) * thicker,
                side_wall=side_wall,
                line_of_sight=method.line_of_sight,
                flux=flux,
            ),
        )

    return actions
