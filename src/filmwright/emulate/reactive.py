"""Where a reactive process turns over: the flows of oxygen at which the target is poisoned and clears again."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import replace

from filmwright.emulate.context import Context, in_words
from filmwright.emulate.follows import chosen, follows
from filmwright.flow import Step
from filmwright.knowledge import Material
from filmwright.process import (
    ARGON_NUMBER,
    OXYGEN_FLOW,
    REACTIVE_LIMITS,
    REACTIVE_SLOWER,
    REACTIVE_STATE,
    Derivation,
    Input,
    ReactiveChamber,
    Setting,
    YamamuraFit,
    berg_limits,
    berg_states,
    ion_current_density,
    yamamura_yield,
)
from filmwright.units import BOLTZMANN, ELEMENTARY_CHARGE, ZERO_CELSIUS, to_si, write

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


def _told(step: Step, ctx: Context) -> tuple[Material, float, Input] | None:
    """Metal, oxygen per metal atom and power of a reactive process from the target of a metal."""
    power = step.asked.get("power")
    metal = ctx.facts.materials.get(step.material.split()[0])
    atoms = oxygen_per_metal(ctx.facts.material(step.material).symbol)
    if step.method != "reactive sputtering" or power is None or metal is None or atoms is None:
        return None
    if FIT not in metal.sputtering:
        return None
    return metal, atoms, chosen("P", "power", power.value, power.unit, f"the plan, line {step.line}")


def oxygen_flow(step: Step) -> tuple[float, Derivation | None] | None:
    """Flow of oxygen [m³/s], as the plan has it or from its gas ratio and the flow of argon."""
    if "gas flow" in step.asked:
        return step.asked["gas flow"].value, None
    ratio, argon = step.asked.get("gas ratio"), step.asked.get("argon flow")
    if ratio is None or argon is None:
        return None
    said = f"the plan, line {step.line}"
    derived = OXYGEN_FLOW.derive(
        lambda ratio, argon: ratio * argon,
        {
            "ratio": chosen("x", "gas ratio, oxygen over argon", ratio.value, "", said),
            "argon": chosen("q_Ar", "flow of argon", argon.value, argon.unit, said),
        },
        unit="sccm",
    )
    return derived.result or 0.0, derived


def reactive_settings(step: Step, ctx: Context) -> tuple[Setting, ...]:
    """The flow of oxygen, and in which of its two states the target then is and how it stays there."""
    told, flow = _told(step, ctx), oxygen_flow(step)
    if flow is None or "reactive" not in step.method:
        return ()
    knob = () if flow[1] is None else (Setting.by_law("oxygen flow", flow[1], flow[1].law.source),)
    if told is None:
        return knob
    metal, atoms, power = told
    values = {name: each.value for name, each in _inputs(step, ctx, power).items()}
    clears, poisons = (_Turn(ctx, metal, atoms, which)(**values) for which in (0, 1))
    state, stays = _state(flow[0], clears, poisons)
    source = REACTIVE_LIMITS.source
    return (*knob, in_words("state of the target", state, source, evidence=f"{stays}; {source}"))


def _state(flow: float, clears: float, poisons: float) -> tuple[str, str]:
    """The state of the target at a flow, and how it stays there."""
    at = write(flow, "sccm")
    if not clears:
        return f"one state at {at}", "the pump is fast enough: the flow may be set from either side"
    span = f"two states from {write(clears, 'sccm')} to {write(poisons, 'sccm')}"
    if flow < clears:
        return f"metal-like at {at}", f"{span}: below them full rate, and the film may lack oxygen"
    if flow > poisons:
        return f"poisoned at {at}", f"{span}: above them steady, slow, rich in oxygen; come from above"
    return (
        f"two states at {at}: come from one side",
        f"{span}: metal-like when raised from below, held there by the discharge voltage; poisoned when lowered from above "
        f"{write(poisons, 'sccm')}; begin with a clean target behind the shutter",
    )


def reactive_numbers(step: Step, ctx: Context) -> Iterator[Setting]:
    """Flows between which one flow has two states, and what each state is like, for an oxide from the target of its metal."""
    told = _told(step, ctx)
    if told is None:
        return
    metal, atoms, power = told
    inputs = _inputs(step, ctx, power)
    values = {key: each.value for key, each in inputs.items()}
    for name, which in (
        ("oxygen flow that poisons the target", 1),
        ("oxygen flow at which it clears again", 0),
    ):
        turn = _Turn(ctx, metal, atoms, which)
        if turn(**values) > 0:
            yield follows(name, REACTIVE_LIMITS.derive(turn, inputs, unit="sccm", notes=(_SAID,)))
    flow = oxygen_flow(step)
    if flow is None:
        return
    chamber = _Turn(ctx, metal, atoms, 0).chamber(**values)
    states = berg_states(flow[0] * _STANDARD, chamber)
    given = chosen("q", "flow of oxygen", flow[0], "sccm", f"the plan, line {step.line}")
    names = (
        ("oxygen pressure",)
        if len(states) < 2
        else ("oxygen pressure, metal-like", "oxygen pressure, poisoned")
    )
    for name, state in zip(names, (states[0], states[-1]), strict=False):
        yield follows(
            name,
            replace(
                REACTIVE_STATE.derive(lambda flow: 0.0, {"flow": given}, unit="mPa"),
                result=state.pressure,
                notes=(
                    f"{state.poisoned:.0%} of the target and {state.covered:.0%} of the coated area are oxide",
                ),
            ),
        )
    if len(states) > 1:
        ratio = states[-1].metal_out / states[0].metal_out
        yield follows(
            "rate, poisoned over metal-like",
            replace(REACTIVE_SLOWER.derive(lambda flow: 0.0, {"flow": given}, unit="%"), result=ratio),
        )


_SAID = "between the two flows the state depends on where the process comes from: raise the flow from below for metal-like rates"


def _inputs(step: Step, ctx: Context, power: Input) -> dict[str, Input]:
    chamber, magnetron = ctx.facts.models["reactive chamber"], ctx.facts.models["magnetron"]
    tool = ctx.lab.tools.get(step.tool)
    geometry = tool.geometry if tool is not None else None
    coated = geometry.values.get("coated area") if geometry is not None else None
    pumping = Input.known("S", "pumping speed for oxygen", chamber["pumping speed"])
    if tool is not None and tool.pumping_speed is not None:
        pumping = chosen(
            "S", "pumping speed of the tool", tool.pumping_speed, "L/s", f"lab file line {tool.line}"
        )
    return {
        "power": power,
        "voltage": Input.known("V", "discharge voltage", magnetron["discharge voltage"]),
        "pumping": pumping,
        "coated": Input.known("A_c", "coated area", coated or chamber["coated area"]),
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
        limits = berg_limits(self.chamber(**given))
        return limits[self._which] / _STANDARD if limits is not None else 0.0

    def chamber(self, **given: float) -> ReactiveChamber:
        """The chamber for values of the inputs."""
        magnetron, chamber = self._facts["magnetron"], self._facts["reactive chamber"]
        area = math.pi * magnetron["target radius"].value ** 2 * chamber["eroded share"].value
        atoms = yamamura_yield(given["voltage"] * ELEMENTARY_CHARGE, self._fit).value
        return ReactiveChamber(
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
