"""What follows from a film that grows out of gas: by cycles, or from a plasma."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from filmwright.emulate.context import Context
from filmwright.emulate.follows import Followed, chosen, follows
from filmwright.emulate.response import Fitted, fitted
from filmwright.flow import Step
from filmwright.process import (
    GAS_USED,
    PURGE,
    USUAL_VALUE,
    Derivation,
    Input,
    Setting,
    gas_used,
    purge_time,
)
from filmwright.sources import Value
from filmwright.units import convert


def from_plasma(step: Step, ctx: Context, time: float) -> Followed:
    """Gas, purge, hydrogen, refractive index and stress of a film out of a plasma; index and stress as the lab's runs say, else as
    usual."""
    found = {of: own for of in RESULTS if (own := fitted(step, ctx, of)) is not None}
    numbers = (*_gas(step, time), *_purged(step, ctx), *_result_lines(step, ctx, found))
    return Followed(
        numbers=numbers,
        look=_hydrogen(step, ctx),
        warnings=tuple(note for own in found.values() for note in own.notes) + _other_film(step, ctx, found),
        results={of: own.belief for of, own in found.items()},
    )


RESULTS = ("refractive index", "stress")
"""What the lab's runs may tell of a film besides its rate."""


def usual_result(step: Step, ctx: Context, of: str) -> Value | None:
    """The shipped value of a result for a film out of a plasma."""
    values = ctx.facts.material(step.material).values
    return values.get("stress, plasma deposited", values.get("stress")) if of == "stress" else values.get(of)


def _gas(step: Step, time: float) -> Iterator[Setting]:
    flow = step.asked.get("gas flow")
    if flow is not None and time > 0:
        given = {
            "flow": chosen(
                "Q", "flow of the reactive gas", flow.value, flow.unit, f"the plan, line {step.line}"
            ),
            "time": chosen("t", "time of the film", time, "s", "the setting above"),
        }
        yield follows("gas used", GAS_USED.derive(gas_used, given, unit="L"))


def _purged(step: Step, ctx: Context) -> Iterator[Setting]:
    """How long nitrogen must flow before the chamber is opened."""
    usual = ctx.facts.models["plasma deposition"]
    given = {
        "volume": _own_volume(step, ctx, usual["chamber volume"]),
        "pressure": Input.known("p", "pressure while it is purged", usual["purge pressure"]),
        "flow": Input.known("Q", "purge flow", usual["purge flow"]),
        "factor": replace(Input.known("f", "by which the gas is thinned", usual["thinning"]), std=0.0),
    }
    derived = PURGE.derive(
        purge_time, given, unit="s", notes=("the interlock of the tool and its owner go first",)
    )
    yield follows("purge before the chamber is opened, at least", derived)


def _own_volume(step: Step, ctx: Context, usual: Value) -> Input:
    tool = ctx.lab.tools.get(step.tool)
    if tool is not None and tool.chamber_volume is not None:
        where = f"{tool.name}, lab file line {tool.line}"
        return chosen("V", "chamber volume", tool.chamber_volume, "L", where)
    return Input.known("V", "chamber volume, usual", usual)


def _result_lines(step: Step, ctx: Context, found: Mapping[str, Fitted]) -> Iterator[Setting]:
    for of in RESULTS:
        usual = usual_result(step, ctx, of)
        if of in found:
            yield follows(f"{of} from the runs", found[of].derived)
        elif usual is not None:
            derived = _usual(usual)
            yield follows(
                of,
                replace(
                    derived,
                    notes=(
                        *derived.notes,
                        f"usual range: measure it, and write it into the runs of {step.tool or 'the tool'}",
                    ),
                ),
            )


def _other_film(step: Step, ctx: Context, found: Mapping[str, Fitted]) -> tuple[str, ...]:
    """An index outside the usual range tells of another composition."""
    usual, own = usual_result(step, ctx, "refractive index"), found.get("refractive index")
    if usual is None or own is None or usual.low <= own.belief.value <= usual.high:
        return ()
    return (
        f"{step.material} with an index of {own.belief.value:.3g} (usual {usual.low:.3g} to {usual.high:.3g}) is of another composition: "
        "its permittivity, breakdown field and etch rates on file do not hold, measure a capacitor and an etch",
    )


def _hydrogen(step: Step, ctx: Context) -> tuple[str, ...]:
    known = ctx.facts.models["hydrogen in plasma films"].get(step.material)
    if known is None:
        return ()
    share = f"{convert(known.low, '%'):.2g} to {convert(known.high, '%'):.2g} % of its atoms"
    return (
        f"brings hydrogen, {share}: it leaves above the deposition temperature and dopes oxide semiconductors",
    )


def _usual(value: Value) -> Derivation:
    return Derivation(
        law=USUAL_VALUE,
        result=value.value,
        unit=value.unit,
        low=value.low,
        high=value.high,
        notes=tuple(each for each in (value.condition, str(value.source)) if each),
    )
