"""What follows from a film that grows out of gas: by cycles, or from a plasma."""

from __future__ import annotations

from collections.abc import Iterator

from filmwright.emulate.context import Context, from_value
from filmwright.emulate.follows import Followed, chosen, follows
from filmwright.flow import Step
from filmwright.knowledge import Method, usual_time
from filmwright.process import (
    CYCLE_TIME,
    GAS_USED,
    SATURATION,
    USUAL_VALUE,
    Derivation,
    Input,
    Setting,
    gas_used,
    saturating_exposure,
)
from filmwright.sources import Value

_PULSES = ("precursor pulse", "purge", "water pulse")


def pulses(step: Step, ctx: Context, method: Method) -> tuple[Setting, ...]:
    """Usual times of a cycle where the plan names no recipe that holds them."""
    known = ctx.facts.models.get(f"pulses of {step.material}", {})
    return tuple(
        from_value(name, known[name])
        for name in _PULSES
        if name in known and name in method.settings and not step.recipe
    )


def by_cycles(step: Step, ctx: Context, method: Method, cycles: float | None) -> Followed:
    """How long the cycles take, and what exposure a flat wafer needs."""
    return Followed(numbers=tuple(_cycled(step, ctx, method, cycles)))


def _cycled(step: Step, ctx: Context, method: Method, cycles: float | None) -> Iterator[Setting]:
    if cycles is not None:
        each = Input.known("τ", "time of a cycle", usual_time("cycle"))
        count = chosen("N", "cycles", cycles, "", "the setting above")
        yield follows(
            "time of all cycles",
            CYCLE_TIME.derive(lambda count, each: count * each, {"count": count, "each": each}, unit="min"),
        )
    known = ctx.facts.models.get(f"pulses of {step.material}")
    if known is None:
        return
    asked = step.asked.get("temperature")
    hot = (
        chosen("T", "temperature", asked.value, asked.unit, f"the plan, line {step.line}")
        if asked
        else Input.known("T", "temperature, usual", method.temperature)
    )
    yield follows(
        "exposure that saturates a flat wafer",
        SATURATION.derive(
            saturating_exposure,
            {
                "sites": Input.known("S", "taken up in a pulse", known["taken up"]),
                "molar_mass": Input.known("m", "molar mass of the precursor, over N_A", known["molar mass"]),
                "temperature": hot,
                "aspect": chosen("a", "depth over width", 0.0, "", "a flat wafer"),
            },
            unit="mPa*s",
        ),
    )


def from_plasma(step: Step, ctx: Context, time: float) -> Followed:
    """Gas, refractive index and stress of a film out of a plasma, as usual where the lab has not measured them."""
    return Followed(numbers=tuple(_plasma(step, ctx, time)))


def _plasma(step: Step, ctx: Context, time: float) -> Iterator[Setting]:
    flow = step.asked.get("gas flow")
    if flow is not None and time > 0:
        given = {
            "flow": chosen(
                "Q", "flow of the reactive gas", flow.value, flow.unit, f"the plan, line {step.line}"
            ),
            "time": chosen("t", "time of the film", time, "s", "the setting above"),
        }
        yield follows("gas used", GAS_USED.derive(gas_used, given, unit="L"))
    values = ctx.facts.material(step.material).values
    if "refractive index" in values:
        yield follows("refractive index", _usual(values["refractive index"]))
    stress = values.get("stress, plasma deposited", values.get("stress"))
    if stress is not None:
        yield follows("stress", _usual(stress))


def _usual(value: Value) -> Derivation:
    return Derivation(
        law=USUAL_VALUE,
        result=value.value,
        unit=value.unit,
        low=value.low,
        high=value.high,
        notes=tuple(each for each in (value.condition, str(value.source)) if each),
    )
