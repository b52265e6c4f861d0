"""The rate of a bath as it is today: its temperature, its age, and what films have taken from it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from filmwright.emulate.context import Context
from filmwright.emulate.follows import chosen
from filmwright.flow import Step
from filmwright.knowledge import Bath, Belief, Lab, Medium
from filmwright.process import (
    BATH_USED,
    RATE_IN_BATH,
    RATE_IN_OLD_BATH,
    RATE_IN_USED_BATH,
    Derivation,
    Input,
    arrhenius_factor,
    faded,
    film_moles,
    reagent_used,
)
from filmwright.sources import Source, Value
from filmwright.units import ROOM_TEMPERATURE, show, to_si

_SAME = 0.5
"""Kelvin within which two temperatures of a bath are one."""

_LITRE = to_si(1, "L")

_LEFT = 0.05
"""Part of the reagent that counts as left where more was used up than there was: somebody has refilled it, or counted wrongly."""


@dataclass(frozen=True, kw_only=True)
class InBath:
    """A rate in the bath as it is.

    Attributes
    ----------
    rate : Belief
    derived : Derivation or None
        None where the bath is as the rate on file was measured.
    warnings : tuple of str
        Where the number is a guess.
    notes : tuple of str
        What is not known of the bath.
    """

    rate: Belief
    derived: Derivation | None = None
    warnings: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def bath_of(step: Step, lab: Lab, on: str) -> Bath | None:
    """The bath of the lab file in which a step is done: the newest of its medium, one on the step's bench before others."""
    found = [
        each
        for each in lab.baths
        if each.medium == step.medium and each.made <= on and each.tool in ("", step.tool)
    ]
    return max(found, key=lambda each: (each.tool == step.tool, each.made), default=None)


def bath_temperature(step: Step, ctx: Context, medium: Medium) -> tuple[float, str]:
    """Temperature of the bath [K] and who says so: what was set, the plan, the lab's bath, else that of the rates on file."""
    if "temperature" in step.done:
        return step.done["temperature"], "the record"
    if "temperature" in step.asked:
        return step.asked["temperature"].value, f"the plan, line {step.line}"
    bath = bath_of(step, ctx.lab, ctx.on)
    if bath is not None and bath.temperature is not None:
        return bath.temperature, f'the bath "{bath.name}", lab file line {bath.line}'
    if medium.temperature is not None:
        return medium.temperature, "usual for this bath"
    return ROOM_TEMPERATURE, "room"


def energy_of(medium: Medium, material: str, ctx: Context) -> tuple[Value, bool]:
    """Activation energy [J] of a pair, and whether it is its own; else the usual range of wet etches."""
    own = medium.rate(material).activation_energy
    if own is not None:
        return own, True
    return ctx.facts.models["wet etch"]["activation energy"], False


def in_bath(step: Step, ctx: Context, medium: Medium, material: str, belief: Belief) -> InBath:
    """What is believed of a rate, in the bath as it is: warmer or colder, aged and used up, with the spread of both."""
    found = _inputs(step, ctx, medium, material, belief)
    if found is None:
        return InBath(rate=belief, notes=_unsaid(ctx, bath_of(step, ctx.lab, ctx.on), belief))
    inputs, guessed = found
    notes = _unsaid(ctx, bath_of(step, ctx.lab, ctx.on), belief)
    law = RATE_IN_OLD_BATH if "fade" in inputs else RATE_IN_USED_BATH if "used" in inputs else RATE_IN_BATH
    derived = law.derive(_rate, inputs, unit=belief.unit, notes=(*guessed, *notes))
    return InBath(
        rate=_as_it_is(belief, inputs, derived.result or 0.0, derived.std),
        derived=derived,
        warnings=guessed,
        notes=notes,
    )


def rate_in_bath(step: Step, ctx: Context, medium: Medium, material: str, belief: Belief) -> Belief:
    """The rate of :func:`in_bath` without its derivation."""
    found = _inputs(step, ctx, medium, material, belief)
    if found is None:
        return belief
    inputs, _ = found
    value = _rate(**{name: each.value for name, each in inputs.items()})
    energy = inputs["energy"]
    by_heat = math.log(arrhenius_factor(energy.value, inputs["at"].value, inputs["measured"].value))
    fade = inputs.get("fade")
    by_age = inputs["age"].value / fade.value * fade.std / fade.value if fade is not None else 0.0
    relative = math.hypot(
        belief.std / belief.value if belief.value else 0.0, by_heat * energy.std / energy.value, by_age
    )
    return _as_it_is(belief, inputs, value, value * relative)


def _as_it_is(belief: Belief, inputs: Mapping[str, Input], value: float, std: float) -> Belief:
    aged = " that has aged" if "used" in inputs else ""
    said = f"{belief.reason}; in a bath of {show(inputs['at'].value, 'temperature')}{aged}"
    return replace(belief, value=value, std=std, reason=said)


def _inputs(
    step: Step, ctx: Context, medium: Medium, material: str, belief: Belief
) -> tuple[dict[str, Input], tuple[str, ...]] | None:
    """What changes a rate in the bath as it is, with what is not known of it; None where it is as it was measured."""
    if medium.kind == "plasma":
        return None
    at, why = bath_temperature(step, ctx, medium)
    measured = belief.temperature or medium.temperature or ROOM_TEMPERATURE
    bath = bath_of(step, ctx.lab, ctx.on)
    fading = _fading(step, ctx, bath, belief)
    elsewhere = abs(at - measured) >= _SAME
    if not elsewhere and not fading:
        return None
    energy, own = energy_of(medium, material, ctx)
    guessed: tuple[str, ...] = ()
    if not own and elsewhere:
        said = f"no activation energy of {material} in {medium.name} on file: the usual range of wet etches is taken, which widens the rate"
        guessed = (said,)
    inputs = {
        "rate": Input.known("R_0", f"rate of {material}", belief),
        "energy": Input.known("E", "activation energy", energy),
        "at": chosen("T", "bath", at, "°C", why),
        "measured": chosen("T_0", "bath of that rate", measured, "°C", _measured_in(belief)),
    }
    return inputs | fading, guessed


def _rate(
    rate: float,
    energy: float,
    at: float,
    measured: float,
    age: float = 0.0,
    fade: float = 1.0,
    used: float = 0.0,
) -> float:
    return rate * arrhenius_factor(energy, at, measured) * faded(age, fade, used)


def _measured_in(belief: Belief) -> str:
    return (
        "written beside the calibration"
        if belief.temperature
        else "usual for this bath: nothing else is written"
    )


def _fading(step: Step, ctx: Context, bath: Bath | None, belief: Belief) -> dict[str, Input]:
    """What has happened to the bath since the rate was measured in it or in a fresh one; empty where nothing is known."""
    if bath is None:
        return {}
    # A rate measured since the bath was made has seen its age up to then.
    last = max(belief.source.date or bath.made, bath.made)
    age = replace(bath, made=last).age(ctx.on)
    fade = ctx.facts.baths.get(bath.medium, {}).get("fade time") if age else None
    used = used_so_far(step, ctx, bath) if last == bath.made else 0.0
    if fade is None and not used:
        return {}
    since = f'the bath "{bath.name}", {"measured" if last != bath.made else "made"} {last}'
    found = {"used": chosen("x", "reagent used up so far", used, "%", since)}
    if fade is not None:
        found["age"] = chosen("a", "age of the bath", age, "h", since)
        found["fade"] = Input.known("τ", "until 1/e of the reagent is left", fade)
    return found


def _unsaid(ctx: Context, bath: Bath | None, belief: Belief) -> tuple[str, ...]:
    """What must be said of a bath whose fading has no coefficient on file."""
    if bath is None or bath.age(ctx.on) == 0.0:
        return ()
    if belief.source.date and belief.source.date >= bath.made:
        return ()
    if "fade time" in ctx.facts.baths.get(bath.medium, {}):
        return ()
    days = round(bath.age(ctx.on) / to_si(1, "day"))
    return (f'the bath "{bath.name}" is {days} days old, and how its rate fades with age is not on file',)


def used_so_far(step: Step, ctx: Context, bath: Bath) -> float:
    """Part of the reagent that went into earlier films; each earlier wafer is taken to have been as this one, 0 where nobody counts."""
    if bath.volume is None or not (bath.wafers_done or bath.area_done):
        return 0.0
    deep = _thickness(step, ctx)
    area = bath.area_done or bath.wafers_done * math.pi / 4 * ctx.flow.body.diameter**2
    inputs = reagent_inputs(ctx, bath.medium, step.material, deep, area, bath.volume)
    if not inputs:
        return 0.0
    return min(used_share(**{name: each.value for name, each in inputs.items()}), 1 - _LEFT)


def _thickness(step: Step, ctx: Context) -> float:
    """Of the film of a step, as the plan puts it down before it [m]."""
    steps = ctx.flow.steps
    here = next((place for place, each in enumerate(steps) if each is step), len(steps))
    found = [
        each.asked["thickness"].value
        for each in steps[:here]
        if each.kind == "deposit" and each.material == step.material and "thickness" in each.asked
    ]
    found += [film.thickness for film in ctx.flow.body.films if film.material == step.material]
    return max(found, default=0.0)


def used_share(
    per_unit: float,
    thickness: float,
    area: float,
    density: float,
    molar_mass: float,
    concentration: float,
    volume: float,
) -> float:
    """Reagent of a bath that a film takes, from its thickness and area (:func:`~filmwright.process.reagent_used`)."""
    return reagent_used(film_moles(thickness, area, density, molar_mass), per_unit, concentration, volume)


def reagent_inputs(
    ctx: Context, medium: str, material: str, thickness: float, area: float, volume: float
) -> Mapping[str, Input]:
    """What goes into the use of a bath by a film; empty where the equation of the dissolution is not on file."""
    facts = ctx.facts.baths.get(medium, {})
    film = ctx.facts.material(material).values
    if f"per {material}" not in facts or "density" not in film or "molar mass" not in film:
        return {}
    return {
        "per_unit": Input.known("ν", "molecules of the reagent for a formula unit", facts[f"per {material}"]),
        "thickness": chosen("d", f"film of {material}", thickness, "nm", "the emulated wafer"),
        "area": chosen("A", "open area of a wafer", area, "mm^2", "the die, all over the wafer"),
        "density": Input.known("ρ", f"density of {material}", film["density"]),
        "molar_mass": Input.known("M", f"molar mass of {material}", film["molar mass"]),
        "concentration": Input.known("c", "reagent when it was made", facts["concentration"]),
        "volume": chosen("V", "bath", volume, "L", "the lab file"),
    }


def taken_by_one(step: Step, ctx: Context, thickness: float, open_share: float) -> Derivation | None:
    """What one wafer takes from the bath; of one litre where the lab file does not say how much there is."""
    bath = bath_of(step, ctx.lab, ctx.on)
    known = bath.volume if bath is not None else None
    area = math.pi / 4 * ctx.flow.body.diameter**2 * open_share
    inputs = dict(reagent_inputs(ctx, step.medium, step.material, thickness, area, known or _LITRE))
    if not inputs or not thickness:
        return None
    notes: tuple[str, ...] = (
        f"{open_share:.0%} of the die is open, and the wafer is taken to be full of such dies",
    )
    if known is None:
        source = Source(citation="no bath with a volume on file, so of one litre", kind="plan")
        inputs["volume"] = replace(inputs["volume"], source=source)
    # Written as ν·n·d·A·ρ/(M·c·V) with n = 1 wafer.
    inputs["wafers"] = chosen("n", "wafers", 1.0, "", "each wafer takes as much again")
    return BATH_USED.derive(lambda wafers, **each: wafers * used_share(**each), inputs, unit="%", notes=notes)
