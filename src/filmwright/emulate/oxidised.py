"""Thermal oxidation: the time at a temperature, and the silicon that it takes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from filmwright.emulate.context import Context
from filmwright.emulate.follows import Followed, follows
from filmwright.flow import Step
from filmwright.knowledge import Method
from filmwright.process import (
    DRY_OXIDE,
    SILICON_CONSUMED,
    WET_OXIDE,
    Arrhenius,
    Derivation,
    Input,
    Setting,
    check_range,
    deal_grove_time,
    massoud_time,
    silicon_consumed,
)
from filmwright.sources import Source, Value
from filmwright.units import show, to_si

_TRIED = (to_si(700.0, "°C"), to_si(1200.0, "°C"))
"""Temperatures between which the laws were fitted (Deal and Grove 1965)."""

_WHICH = "constants of (100) silicon; (111) grows faster"


def oxidises(method: Method) -> bool:
    """Whether a method turns silicon into its oxide."""
    return {"furnace", "oxygen"} <= method.families


def oxide_time(
    step: Step, ctx: Context, method: Method, film: Input
) -> tuple[Setting, float, tuple[str, ...]]:
    """Time for an oxide on bare silicon at the temperature of the plan, else at the usual one."""
    derived = _wet(step, ctx, method, film) if "steam" in method.families else _dry(step, ctx, method, film)
    hot = _heat(step, method).value
    notes = check_range("temperature", hot, *_TRIED, "temperature")
    derived = replace(derived, notes=(*derived.notes, *notes))
    setting = Setting.by_law("time", derived, derived.law.source)
    return setting, derived.result or 0.0, notes


def oxidised(step: Step, ctx: Context, film: Input) -> Followed:
    """The silicon that the oxide takes."""
    return Followed(numbers=tuple(_consumed(step, ctx, film)))


def _consumed(step: Step, ctx: Context, film: Input) -> Iterator[Setting]:
    silicon, oxide = (ctx.facts.material(name).values for name in ("silicon", step.material))
    wanted = {"density", "molar mass"}
    if not (wanted <= silicon.keys() and wanted <= oxide.keys()):
        return
    yield follows(
        "silicon consumed",
        SILICON_CONSUMED.derive(
            lambda oxide, silicon_mass, silicon_density, oxide_mass, oxide_density: silicon_consumed(
                oxide, silicon_mass / silicon_density, oxide_mass / oxide_density
            ),
            {
                "oxide": film,
                "silicon_mass": Input.known("M_Si", "molar mass of silicon", silicon["molar mass"]),
                "silicon_density": Input.known("ρ_Si", "density of silicon", silicon["density"]),
                "oxide_mass": Input.known("M_ox", "molar mass of the oxide", oxide["molar mass"]),
                "oxide_density": Input.known("ρ_ox", "density of the oxide", oxide["density"]),
            },
            unit="nm",
        ),
    )


def consumed_share(step: Step, ctx: Context) -> float:
    """Silicon consumed over oxide grown; 0 where it is not known."""
    source = Source(citation="one metre of oxide", kind="plan")
    unit = Input(symbol="d", name="oxide", value=1.0, unit="m", source=source)
    return next((each.value or 0.0 for each in _consumed(step, ctx, unit)), 0.0)


def _heat(step: Step, method: Method) -> Value:
    """The temperature of the plan, else the usual one of the method."""
    asked = step.asked.get("temperature")
    if asked is None:
        return method.temperature
    return replace(method.temperature, value=asked.value, low=asked.value, high=asked.value)


def _constant(facts: Mapping[str, Value], which: str, symbol: str, kelvin: float, unit: str) -> Input:
    """A thermally activated constant at a temperature; the spread is that of its prefactor, which hangs together with its energy."""
    prefactor, energy = facts[f"{which} prefactor"], facts[f"{which} energy"]
    value = Arrhenius(prefactor=prefactor.value, energy=energy.value).at(kelvin)
    return Input(
        symbol=symbol,
        name=f"{which} constant at {show(kelvin, 'temperature')}",
        value=value,
        unit=unit,
        source=prefactor.source,
        std=value * prefactor.relative_std,
        evidence=f"C·exp(-E/kT), E = {show(energy.value, 'energy')}; {prefactor.condition}",
    )


def _wet(step: Step, ctx: Context, method: Method, film: Input) -> Derivation:
    facts = ctx.facts.models["wet oxidation (100)"]
    kelvin = _heat(step, method).value
    return WET_OXIDE.derive(
        lambda thickness, parabolic, rate, start: deal_grove_time(
            thickness, parabolic / rate, parabolic, start
        ),
        {
            "thickness": replace(film, symbol="x"),
            "parabolic": _constant(facts, "parabolic", "B", kelvin, "µm^2/h"),
            "rate": _constant(facts, "linear", "B_A", kelvin, "µm/h"),
            "start": Input.known("x_0", "starting oxide", facts["starting oxide"]),
        },
        unit="min",
        notes=(_WHICH,),
    )


def _dry(step: Step, ctx: Context, method: Method, film: Input) -> Derivation:
    facts = ctx.facts.models["dry oxidation (100)"]
    kelvin = _heat(step, method).value
    inputs = {
        "thickness": film,
        "parabolic": _constant(facts, "parabolic", "B", kelvin, "µm^2/h"),
        "rate": _constant(facts, "linear", "B_A", kelvin, "µm/h"),
        "extra": _constant(facts, "thin", "C", kelvin, "µm/h"),
        "decay": Input.known("L", "decay of the fast part", facts["thin decay"]),
    }
    derived = DRY_OXIDE.derive(
        lambda thickness, parabolic, rate, extra, decay: massoud_time(
            thickness, parabolic / rate, parabolic, extra, decay
        ),
        inputs,
        unit="min",
        notes=(_WHICH,),
    )
    start = facts["starting oxide"].value
    if film.value <= start:
        return derived
    parabolic, rate = inputs["parabolic"].value, inputs["rate"].value
    other = deal_grove_time(film.value, parabolic / rate, parabolic, start)
    said = f"Deal and Grove with a starting oxide of {show(start, 'length')} say {show(other, 'time')}: run a monitor wafer first"
    return replace(derived, notes=(*derived.notes, said))
