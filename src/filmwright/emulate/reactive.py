"""Where a reactive process turns over: the flows of oxygen at which the target is poisoned and clears again."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

from filmwright.emulate.context import Context
from filmwright.emulate.follows import chosen, follows
from filmwright.flow import Step
from filmwright.knowledge import Material
from filmwright.process import (
    ARGON_NUMBER,
    REACTIVE_LIMITS,
    Input,
    ReactiveChamber,
    Setting,
    YamamuraFit,
    berg_limits,
    ion_current_density,
    yamamura_yield,
)
from filmwright.units import BOLTZMANN, ELEMENTARY_CHARGE, ZERO_CELSIUS, to_si

FIT = "Yamamura 1996"
_STANDARD = to_si(1.01325, "bar") / (BOLTZMANN * ZERO_CELSIUS)
"""Molecules in a cubic metre at standard conditions."""


def yield_fit(ctx: Context, material: Material) -> YamamuraFit:
    """Coefficients of the yield of argon on an element."""
    known, argon = material.sputtering[FIT], ctx.facts.models["argon"]
    numbers = known.coefficients
    return YamamuraFit(
        binding=numbers["binding energy"],
        q=numbers["Q"],
        w=numbers["W"],
        s=numbers["s"],
        number=numbers["Z"],
        molar_mass=numbers["M"],
        ion_number=ARGON_NUMBER,
        ion_molar_mass=argon["molar mass"].value,
        low=known.low,
        high=known.high,
    )


def oxygen_per_metal(symbol: str) -> float | None:
    """Oxygen atoms for each metal atom in the sign of an oxide of one metal, e.g. 1.5 of ``Al₂O₃``; None for anything else."""
    plain = symbol.translate(str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789"))
    match = re.fullmatch(r"[A-Z][a-z]?(\d*)O(\d*)", plain)
    return int(match[2] or 1) / int(match[1] or 1) if match else None


def reactive_limits(step: Step, ctx: Context) -> Iterator[Setting]:
    """Flows between which one flow has two states, for an oxide from the target of its metal."""
    power = step.asked.get("power")
    metal = ctx.facts.materials.get(step.material.split()[0])
    atoms = oxygen_per_metal(ctx.facts.material(step.material).symbol)
    if step.method != "reactive sputtering" or power is None or metal is None or atoms is None:
        return
    if FIT not in metal.sputtering:
        return
    given = chosen("P", "power", power.value, power.unit, f"the plan, line {step.line}")
    inputs = _inputs(ctx, given)
    for name, which in (
        ("oxygen flow that poisons the target", 1),
        ("oxygen flow at which it clears again", 0),
    ):
        turn = _Turn(ctx, metal, atoms, which)
        if turn(**{key: each.value for key, each in inputs.items()}) > 0:
            yield follows(name, REACTIVE_LIMITS.derive(turn, inputs, unit="sccm", notes=(_SAID,)))


_SAID = "between the two flows the state depends on where the process comes from: raise the flow from below for metal-like rates"


def _inputs(ctx: Context, power: Input) -> dict[str, Input]:
    chamber, magnetron = ctx.facts.models["reactive chamber"], ctx.facts.models["magnetron"]
    return {
        "power": power,
        "voltage": Input.known("V", "discharge voltage", magnetron["discharge voltage"]),
        "pumping": Input.known("S", "pumping speed for oxygen", chamber["pumping speed"]),
        "coated": Input.known("A_c", "coated area", chamber["coated area"]),
        "compound": Input.known("Y_c/Y_m", "yield of the oxide over the metal's", chamber["compound yield"]),
        "sticking": Input.known("α", "sticking of oxygen on the metal", chamber["sticking"]),
    }


class _Turn:
    """One of the two flows [m³/s at standard conditions]; 0 where every flow has one state."""

    def __init__(self, ctx: Context, metal: Material, atoms: float, which: int) -> None:
        self._facts, self._fit, self._atoms, self._which = (
            ctx.facts.models,
            yield_fit(ctx, metal),
            atoms,
            which,
        )

    def __call__(self, **given: float) -> float:
        magnetron, chamber = self._facts["magnetron"], self._facts["reactive chamber"]
        area = math.pi * magnetron["target radius"].value ** 2 * chamber["eroded share"].value
        atoms = yamamura_yield(given["voltage"] * ELEMENTARY_CHARGE, self._fit).value
        limits = berg_limits(
            ReactiveChamber(
                current_density=ion_current_density(
                    given["power"], area, given["voltage"], magnetron["electrons per ion"].value
                ),
                target=area,
                collecting=given["coated"],
                metal_yield=atoms,
                compound_yield=atoms * given["compound"],
                sticking=min(given["sticking"], 1.0),
                atoms=self._atoms,
                pumping=given["pumping"],
                gas_molar_mass=self._facts["oxygen"]["molar mass"].value,
                temperature=magnetron["gas temperature"].value,
            )
        )
        return limits[self._which] / _STANDARD if limits is not None else 0.0
