"""The rate of one source at its power: this lab's runs, its calibration, the law of its target, or usage."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from filmwright.emulate.context import Context
from filmwright.emulate.geometry import Placed
from filmwright.emulate.magnetron import Gun, rate_by_yield
from filmwright.emulate.response import fitted
from filmwright.flow import Step
from filmwright.knowledge import Belief, believe
from filmwright.process import (
    COMPOUND_RATE,
    RATE_AT_POWER,
    Derivation,
    Emitter,
    Input,
    Stage,
    film_over_wafer,
)
from filmwright.units import Quantity, convert, write

_FACTOR = 3.0
"""In power, beyond which a rate is not known to go with it."""


@dataclass(frozen=True, kw_only=True)
class SourceRate:
    """Rate of one source on the wafer.

    Attributes
    ----------
    place : int
    derivation : Derivation
    measured, invented : bool
        Whether it rests on this lab's own readings, and whether those are an example.
    evidence : str
    warnings : tuple of str
    """

    place: int
    derivation: Derivation
    measured: bool
    invented: bool = False
    evidence: str = ""
    warnings: tuple[str, ...] = ()

    @property
    def value(self) -> float:
        """[m/s]."""
        return self.derivation.result or 0.0


def source_rate(step: Step, ctx: Context, gun: Gun, place: int) -> SourceRate | None:
    """The rate of a source, by what is nearest to a reading of it; None where its power is open or nothing is known of it."""
    if gun.power is None:
        return None
    return (
        _by_runs(step, ctx, gun, place) or _by_calibration(step, ctx, gun, place) or _by_law(ctx, gun, place)
    )


def _by_runs(step: Step, ctx: Context, gun: Gun, place: int) -> SourceRate | None:
    """Fitted to the lab's runs of this target."""
    if gun.power is None:
        return None
    power = Quantity(value=gun.power.value, unit=gun.power.unit, dimension="power")
    alone = replace(step, material=gun.material.name, recipe="", asked={**step.asked, "power": power})
    found = fitted(alone, ctx, "deposition rate")
    return None if found is None else _measured(place, found.derived, found.belief, found.notes)


def _by_calibration(step: Step, ctx: Context, gun: Gun, place: int) -> SourceRate | None:
    """The reading of this target at a power of its own, in proportion to the power."""
    mine = [
        each
        for each in ctx.lab.calibrations
        if each.of == "deposition rate"
        and each.setting
        and each.material == gun.material.name
        and each.tool == step.tool
    ]
    newest = max((each for each in mine if each.date <= ctx.on), key=lambda each: each.date, default=None)
    if newest is None or newest.setting is None or gun.power is None:
        return None
    # Readings at other powers are brought to that of the newest, so that they can be weighed against each other.
    at = newest.setting
    scaled = tuple(
        replace(each, value=each.value * at / each.setting, std=each.std * at / each.setting)
        for each in mine
        if each.setting
    )
    known = believe(
        replace(ctx.lab, calibrations=scaled),
        ctx.facts,
        of="deposition rate",
        tool=step.tool,
        material=gun.material.name,
        on=ctx.on,
    )
    if known is None:
        return None
    ratio = gun.power.value / at
    far = (
        ()
        if 1 / _FACTOR <= ratio <= _FACTOR
        else (
            f"{gun.material.name} at {write(gun.power.value, 'W')}: its rate was measured at {write(at, 'W')}, "
            "more than a factor of three away",
        )
    )
    derived = RATE_AT_POWER.derive(
        lambda rate, power, at: rate * power / at,
        {
            "rate": Input.known("r", "rate of this source alone", known),
            "power": gun.power,
            "at": Input(symbol="P_0", name="power of that reading", value=at, unit="W", source=known.source),
        },
        unit="nm/min",
        notes=far,
    )
    return _measured(place, derived, known, far)


def _measured(place: int, derived: Derivation, known: Belief, warnings: tuple[str, ...]) -> SourceRate:
    return SourceRate(
        place=place,
        derivation=derived,
        measured=True,
        invented=known.source.kind == "invented",
        evidence=known.evidence,
        warnings=warnings,
    )


def _by_law(ctx: Context, gun: Gun, place: int) -> SourceRate | None:
    """By the yield of an element, or by usage for a compound; either aims a first run and replaces none."""
    derived = rate_by_yield(gun, ctx) if gun.has_law else _by_usage(ctx, gun)
    if derived is None:
        return None
    band = derived.band or (0.0, 0.0)
    warning = (
        f"rate of {gun.material.name} not measured: {convert(band[0], 'nm/min'):.2g} to {convert(band[1], 'nm/min'):.2g} nm/min "
        "by its law, so the composition is a guess; no rate on file"
    )
    return SourceRate(
        place=place,
        derivation=derived,
        measured=False,
        evidence=f"{gun.material.name}: {derived.law.name}",
        warnings=(warning,),
    )


def _by_usage(ctx: Context, gun: Gun) -> Derivation | None:
    facts = ctx.facts.models["magnetron"]
    where: Placed = gun.where
    if gun.power is None or "radius" not in where.inputs:
        return None
    usual = film_over_wafer(
        gun.wafer_radius,
        Emitter(throw=facts["throw"].value, ring=facts["target radius"].value * facts["ring radius"].value),
        Stage(),
    ).share

    def rate(usage: float, power: float, **given: float) -> float:
        share = film_over_wafer(gun.wafer_radius, where.emitter(given), where.stage(given)).share
        return usage * power / (math.pi * given["radius"] ** 2) * share / usual

    return COMPOUND_RATE.derive(
        rate,
        {
            "usage": Input.known("k", "rate over power density", facts["compound rate"]),
            "power": gun.power,
            **where.inputs,
        },
        unit="nm/min",
        notes=where.said,
    )
