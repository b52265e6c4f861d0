"""What follows from an etch: resist that is left, what a warmer bath does, and how its end is seen."""

from __future__ import annotations

from filmwright.emulate.bath import bath_temperature
from filmwright.emulate.context import Context
from filmwright.emulate.follows import chosen, follows
from filmwright.flow import Step
from filmwright.knowledge import Belief, Book, Medium, emission_line, optical
from filmwright.process import (
    BATH_WARMER,
    FRINGES,
    RESIST_BUDGET,
    Input,
    Setting,
    arrhenius_factor,
    fringe_time,
    thinning_reflectance,
)
from filmwright.units import show
from filmwright.wafer import Column, Plan

_TRANSPARENT = 0.1
"""Extinction below which a film shows fringes for more than one of them."""

_WARMER = 5.0
"""Kelvin by which a bath that nobody watches is off."""


def etched(step: Step, ctx: Context, medium: Medium, now: Plan, time: float) -> tuple[Setting, ...]:
    """Resist left after the whole etch, and how much faster a warmer bath is.

    Parameters
    ----------
    step : Step
    ctx : Context
    medium : Medium
    now : Plan
        Before the etch.
    time : float [s]
        With the over-etch.
    """
    return (*_resist_budget(step, ctx, medium, now, time), *_bath(step, ctx, medium))


def _resist_budget(step: Step, ctx: Context, medium: Medium, now: Plan, time: float) -> tuple[Setting, ...]:
    organic = {name for name, kind in ctx.kinds.items() if kind == "organic"}
    tops = [column.top for column in now.columns if column.top.material in organic]
    if not tops or time <= 0:
        return ()
    resist = min(tops, key=lambda layer: layer.thickness)
    rate = ctx.believe("etch rate", step, material=resist.material, medium=medium.name)
    if rate is None or rate.value == 0:
        return ()
    derived = RESIST_BUDGET.derive(
        lambda resist, rate, time: resist - rate * time,
        {
            "resist": chosen(
                "d", f"{resist.material}, where it is thinnest", resist.thickness, "nm", "the emulated wafer"
            ),
            "rate": Input.known("R", f"rate of {resist.material}", rate),
            "time": chosen("t", "whole etch", time, "s", "with its over-etch"),
        },
        unit="nm",
    )
    return (follows("resist left", derived),)


def _bath(step: Step, ctx: Context, medium: Medium) -> tuple[Setting, ...]:
    energy = medium.rate(step.material).activation_energy
    if energy is None or medium.kind == "plasma":
        return ()
    at, why = bath_temperature(step, ctx, medium)
    derived = BATH_WARMER.derive(
        lambda energy, at, warmer: arrhenius_factor(energy, at + warmer, at),
        {
            "energy": Input.known("E", "activation energy", energy),
            "at": chosen("T", "bath", at, "°C", why),
            "warmer": chosen("Δ", "warmer by", _WARMER, "kelvin", "a bath that nobody watches"),
        },
        unit="",
    )
    return (follows("rate of a bath that is 5 K warmer, over its own", derived),)


def end_point(
    step: Step, medium: Medium, rate: Belief, before: Plan, facts: Book
) -> tuple[tuple[Setting, ...], tuple[str, ...]]:
    """How the end of an etch is seen: a line of the plasma, and the reflectance of the place that is cleared.

    Parameters
    ----------
    step : Step
    medium : Medium
    rate : Belief
    before : Plan
    facts : Book

    Returns
    -------
    numbers, words : tuples
    """
    words: list[str] = []
    line = emission_line(medium.families, step.material) if medium.kind == "plasma" else None
    if line is not None:
        words.append(
            f"end point: light of {line.species} at {show(line.wavelength, 'length')} {line.end} ({line.source.kind})"
        )
    column = max(
        (each for each in before.columns if each.top.material == step.material),
        key=lambda each: each.top.thickness,
        default=None,
    )
    if column is None or rate.value <= 0:
        return (), tuple(words)
    laser = facts.models["end-point light"]["wavelength"]
    constants = {layer.material: optical(layer.material) for layer in column.layers}
    if any(each is None for each in constants.values()):
        return (), tuple(words)
    index = {
        name: complex(each.index([laser.value])[0]) for name, each in constants.items() if each is not None
    }
    words.append(_reflected(column, index, laser.value))
    seen = index[step.material]
    if -seen.imag > _TRANSPARENT:
        return (), tuple(words)
    derived = FRINGES.derive(
        lambda wavelength, index, rate: fringe_time(wavelength, index, rate),
        {
            "wavelength": Input.known("λ", "light that is watched", laser),
            "index": chosen("n", f"index of {step.material}", seen.real, "", constants[step.material].name),  # type: ignore[union-attr]
            "rate": Input.known("R", "rate", rate),
        },
        unit="s",
        notes=(f"{2 * seen.real * column.top.thickness / laser.value:.2g} fringes in the film",),
    )
    return (follows("time from fringe to fringe", derived),), tuple(words)


def _reflected(column: Column, index: dict[str, complex], wavelength: float) -> str:
    layers = [(layer.material, layer.thickness) for layer in reversed(column.layers)]
    trace = thinning_reflectance(layers[0], layers[1:], wavelength, index, 41)
    path = f"{trace[0]:.0%} at first, {trace[-1]:.0%} when clear"
    low, high = float(trace.min()), float(trace.max())
    ends = sorted((float(trace[0]), float(trace[-1])))
    between = (
        f", between {low:.0%} and {high:.0%} on the way"
        if low < ends[0] - 0.02 or high > ends[1] + 0.02
        else ""
    )
    return f"light of {show(wavelength, 'length')} comes back: {path}{between}, then it stays (computed)"
