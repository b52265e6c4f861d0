"""Thermal oxidation: the time at a temperature, what grows in it at every place, and the silicon that it takes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from filmwright.emulate.context import Context, by_plan, in_words
from filmwright.emulate.follows import Followed, chosen, follows
from filmwright.flow import Step
from filmwright.knowledge import Method
from filmwright.process import (
    DRY_OXIDE,
    OXIDE_BENEATH,
    OXIDE_OF_RAMP,
    OXIDE_STEP,
    SILICON_CONSUMED,
    WET_OXIDE,
    Arrhenius,
    Derivation,
    Input,
    OxideLaw,
    Setting,
    check_range,
    deal_grove_time,
    massoud_time,
    oxide_after,
    oxide_of_ramp,
    pressure_share,
    silicon_consumed,
)
from filmwright.sources import Source, Value
from filmwright.units import STANDARD_ATMOSPHERE, show, to_si
from filmwright.wafer import Plan

OXIDISES = "silicon"
"""What turns into oxide here; polysilicon and amorphous silicon go at rates of their own."""

_TRIED = {False: (to_si(800.0, "°C"), to_si(1200.0, "°C")), True: (to_si(700.0, "°C"), to_si(1200.0, "°C"))}
"""Temperatures between which the laws were fitted, dry and wet (Massoud 1985, Deal and Grove 1965)."""

_PRESSURES = (0.01 * STANDARD_ATMOSPHERE, 20 * STANDARD_ATMOSPHERE)
"""Pressures over which the scaling was tried (Massoud 1985, Lie 1982)."""

_GRID = tuple(
    to_si(each, "nm") for each in (1, 2, 5, 10, 20, 30, 50, 80, 120, 200, 300, 500, 800, 1200, 2000)
)
"""Oxides for which the growth beneath is worked out beforehand; between them it is a straight line."""

_SAME = to_si(0.5, "nm")
"""Places whose oxides differ by less are told as one."""

_PLACES = 4
"""Thicknesses of oxide that are told one by one."""


def oxidises(method: Method) -> bool:
    """Whether a method turns silicon into its oxide."""
    return {"furnace", "oxygen"} <= method.families


@dataclass(frozen=True, kw_only=True)
class Oxidation:
    """One oxidation: its law, and what it meets.

    Attributes
    ----------
    wet : bool
    plane : str
    kelvin : float
    pressure : float [Pa]
        Of the oxidant.
    facts : mapping from constant to Value
    over : tuple of float [m]
        Oxides over silicon before the step, thinnest first; 0 where it is bare. Empty where nothing can oxidise.
    native : Value [m]
    notes : tuple of str
    """

    wet: bool
    plane: str
    kelvin: float
    pressure: float
    facts: Mapping[str, Value]
    over: tuple[float, ...]
    native: Value
    notes: tuple[str, ...]

    @property
    def law(self) -> OxideLaw:
        """The law with the constants at this pressure."""
        exponent = self.facts["linear pressure exponent"].value
        return OxideLaw(
            parabolic=_activated(self.facts, "parabolic", pressure_share(self.pressure, 1.0)),
            linear=_activated(self.facts, "linear", pressure_share(self.pressure, exponent)),
            extra=None if self.wet else _activated(self.facts, "thin"),
            decay=0.0 if self.wet else self.facts["thin decay"].value,
        )

    @property
    def bare(self) -> bool:
        """Whether some silicon is uncovered."""
        return not self.over or self.over[0] <= 0

    @property
    def start(self) -> float:
        """Oxide at the thinnest place before the step [m]: the native one on bare silicon."""
        return self.native.value if self.bare else self.over[0]

    def grown(self, time: float, over: float) -> float:
        """What grows in a time [s] where an oxide lies [m]; on bare silicon with the native oxide that is counted in."""
        if over <= 0:
            return oxide_after(time, self.kelvin, self.law, self.native.value)
        return oxide_after(time, self.kelvin, self.law, over) - over

    def through(self, time: float) -> tuple[tuple[float, float], ...]:
        """What grows beneath each oxide."""
        depths = sorted({*_GRID, *(each for each in self.over if each > 0)})
        return tuple((depth, self.grown(time, depth)) for depth in depths)


def oxidation_of(step: Step, ctx: Context, method: Method, now: Plan) -> Oxidation:
    """The oxidation of a step, with the oxides that it meets."""
    wet = "steam" in method.families
    plane = ctx.flow.body.orientation or "100"
    said = (
        ""
        if ctx.flow.body.orientation
        else "orientation not in the plan, taken as (100); (111) and (110) grow faster"
    )
    asked = step.asked.get("pressure")
    pressure = asked.value if asked is not None else STANDARD_ATMOSPHERE
    kelvin = _heat(step, method).value
    notes = check_range("temperature", kelvin, *_TRIED[wet], "temperature")
    notes += check_range("pressure of the oxidant", pressure, *_PRESSURES, "pressure")
    if not wet and asked is not None:
        notes += ("the fast first part C is taken as at one atmosphere",)
    return Oxidation(
        wet=wet,
        plane=plane,
        kelvin=kelvin,
        pressure=pressure,
        facts=ctx.facts.models[f"{'wet' if wet else 'dry'} oxidation ({plane})"],
        over=oxides_over_silicon(now, step.material),
        native=ctx.facts.models["native oxide"]["thickness"],
        notes=(*((said,) if said else ()), *notes),
    )


def oxides_over_silicon(now: Plan, oxide: str) -> tuple[float, ...]:
    """Thicknesses [m] of an oxide that lies on silicon with nothing else over it, thinnest first; 0 where it is bare."""
    found = set()
    for column in now.columns:
        covering = 0.0
        for layer in reversed(column.layers):
            if layer.material != oxide:
                if layer.material == OXIDISES:
                    found.add(covering)
                break
            covering += layer.thickness
    return tuple(sorted(found))


def oxide_time(step: Step, oxidation: Oxidation, film: Input) -> tuple[Setting, float, tuple[str, ...]]:
    """Time for an oxide at the place with the least of it: the plan's own, else by the law."""
    if not oxidation.over:
        source = Source(citation="nothing that oxidises is open", kind="plan", where=f"line {step.line}")
        missing = f"no silicon is open to the oxygen, nor under {step.material} alone: nothing grows"
        return (
            in_words("time", "nothing here oxidises: look at the wafer of the plan", source),
            0.0,
            (missing,),
        )
    if "time" in step.asked:
        fixed = step.asked["time"]
        return by_plan(step, "time", fixed), fixed.value, oxidation.notes
    if film.value < oxidation.start:
        source = Source(citation="the oxide that is there", kind="plan", where=f"line {step.line}")
        said = f"{show(oxidation.start, 'length')} of {step.material} lie there already, {show(film.value, 'length')} are wanted"
        return in_words("time", said, source), 0.0, (said,)
    derived = (_wet if oxidation.wet else _dry)(oxidation, film)
    derived = replace(derived, notes=(*derived.notes, *oxidation.notes))
    tried = tuple(each for each in oxidation.notes if "tried" in each)
    return Setting.by_law("time", derived, derived.law.source), derived.result or 0.0, tried


def oxidised(step: Step, ctx: Context, oxidation: Oxidation, film: Input, time: float) -> Followed:
    """The silicon that the oxide takes, what grows elsewhere, the steps that stay, and the oxide of the ramps."""
    if not oxidation.over:
        return Followed()
    if not oxidation.bare:
        film = replace(film, name="oxide that grows", value=max(film.value - oxidation.start, 0.0))
    numbers = [*_consumed(step, ctx, film)]
    share = consumed_share(step, ctx)
    numbers += _elsewhere(step, oxidation, time, share)
    numbers += _ramps(step, ctx, oxidation)
    return Followed(numbers=tuple(numbers))


def _elsewhere(step: Step, oxidation: Oxidation, time: float, share: float) -> Iterator[Setting]:
    """Oxide after the step where more lies than at the thinnest place, and the step in the silicon beneath."""
    told, thinnest = 0, oxidation.over[0]
    last = thinnest
    for over in oxidation.over[1:]:
        if over - last < _SAME or told == _PLACES:
            continue
        told, last = told + 1, over
        given = {
            "time": chosen("t", "time", time, "min", "the setting above"),
            "start": chosen("x_0", f"{step.material} that is there", over, "nm", "the emulated wafer"),
        }
        beneath = OXIDE_BENEATH.derive(
            lambda time, start: oxide_after(time, oxidation.kelvin, oxidation.law, start), given, unit="nm"
        )
        yield follows(f"oxide where {show(over, 'length')} lie", beneath)
        steps = {
            "share": chosen("c", "silicon in the oxide", share, "", "the law above"),
            "here": chosen(
                "g_a", "grows at the thinnest place", oxidation.grown(time, thinnest), "nm", "the law above"
            ),
            "there": chosen(
                "g_b",
                f"grows under {show(over, 'length')}",
                oxidation.grown(time, over),
                "nm",
                "the law above",
            ),
        }
        yield follows(
            f"step in the silicon beside {show(over, 'length')}",
            OXIDE_STEP.derive(lambda share, here, there: share * (here - there), steps, unit="nm"),
        )


def _ramps(step: Step, ctx: Context, oxidation: Oxidation) -> Iterator[Setting]:
    """What would grow on the way up and down, and how long that takes."""
    usual = ctx.facts.models["oxidation furnace"]
    tool = ctx.lab.tools.get(step.tool)
    idle = usual["idle temperature"]
    pace = Input.known("r", "ramp, usual", usual["ramp rate"])
    if tool is not None and tool.heating_rate is not None:
        where = f"{tool.name}, lab file line {tool.line}"
        pace = chosen("r", "heating rate of the tool", tool.heating_rate, "kelvin/min", where)
    if oxidation.kelvin <= idle.value:
        return
    given = {
        "start": chosen(
            "x_0", "oxide before", oxidation.start, "nm", "the emulated wafer, else a native oxide"
        ),
        "cold": chosen("T_0", "idle temperature", idle.value, idle.unit, str(idle.source)),
        "hot": chosen("T_1", "temperature", oxidation.kelvin, "°C", "the plan, else the method"),
        "pace": replace(pace, std=0.0),
    }
    derived = OXIDE_OF_RAMP.derive(
        lambda start, cold, hot, pace: oxide_of_ramp(oxidation.law, cold, hot, pace, start) - start,
        given,
        unit="nm",
    )
    yield follows("oxide of the way up, if the oxidant flows in it", derived)


def _consumed(step: Step, ctx: Context, film: Input) -> Iterator[Setting]:
    silicon, oxide = (ctx.facts.material(name).values for name in (OXIDISES, step.material))
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
    """The temperature that was set, else that of the plan, else the usual one of the method."""
    asked = step.asked.get("temperature")
    kelvin = step.done.get("temperature", asked.value if asked is not None else None)
    if kelvin is None:
        return method.temperature
    return replace(method.temperature, value=kelvin, low=kelvin, high=kelvin)


def _activated(facts: Mapping[str, Value], which: str, factor: float = 1.0) -> Arrhenius:
    return Arrhenius(
        prefactor=factor * facts[f"{which} prefactor"].value, energy=facts[f"{which} energy"].value
    )


def _constant(oxidation: Oxidation, which: str, symbol: str, unit: str, law: Arrhenius) -> Input:
    """A thermally activated constant at a temperature; the spread is that of its prefactor, which hangs together with its energy."""
    prefactor, kelvin = oxidation.facts[f"{which} prefactor"], oxidation.kelvin
    value = law.at(kelvin)
    pressed = law.prefactor / prefactor.value
    said = (
        "" if abs(pressed - 1) < 1e-9 else f", times {pressed:.3g} at {show(oxidation.pressure, 'pressure')}"
    )
    return Input(
        symbol=symbol,
        name=f"{which} constant at {show(kelvin, 'temperature')} on ({oxidation.plane})",
        value=value,
        unit=unit,
        source=prefactor.source,
        std=value * prefactor.relative_std,
        evidence=f"C·exp(-E/kT), E = {show(law.energy, 'energy')}{said}; {prefactor.condition}",
    )


def _start(oxidation: Oxidation) -> Input:
    if oxidation.bare:
        return Input.known("x_0", "native oxide before", oxidation.native)
    return chosen("x_0", "oxide at the thinnest place before", oxidation.start, "nm", "the emulated wafer")


def _wet(oxidation: Oxidation, film: Input) -> Derivation:
    law = oxidation.law
    return WET_OXIDE.derive(
        lambda thickness, parabolic, rate, start: deal_grove_time(
            thickness, parabolic / rate, parabolic, start
        ),
        {
            "thickness": replace(film, symbol="x"),
            "parabolic": _constant(oxidation, "parabolic", "B", "µm^2/h", law.parabolic),
            "rate": _constant(oxidation, "linear", "B_A", "µm/h", law.linear),
            "start": _start(oxidation),
        },
        unit="min",
    )


def _dry(oxidation: Oxidation, film: Input) -> Derivation:
    law = oxidation.law
    if law.extra is None:
        raise ValueError("a dry oxide has a fast first part")
    inputs = {
        "thickness": film,
        "parabolic": _constant(oxidation, "parabolic", "B", "µm^2/h", law.parabolic),
        "rate": _constant(oxidation, "linear", "B_A", "µm/h", law.linear),
        "extra": _constant(oxidation, "thin", "C", "µm/h", law.extra),
        "decay": Input.known("L", "decay of the fast part", oxidation.facts["thin decay"]),
        "start": _start(oxidation),
    }
    derived = DRY_OXIDE.derive(
        lambda thickness, parabolic, rate, extra, decay, start: massoud_time(
            thickness, parabolic / rate, parabolic, extra, decay, start
        ),
        inputs,
        unit="min",
    )
    start = oxidation.facts["starting oxide"].value
    if film.value <= start or not oxidation.bare:
        return derived
    parabolic, rate = inputs["parabolic"].value, inputs["rate"].value
    other = deal_grove_time(film.value, parabolic / rate, parabolic, start)
    said = f"Deal and Grove with a starting oxide of {show(start, 'length')} say {show(other, 'time')}: run a monitor wafer first"
    return replace(derived, notes=(*derived.notes, said))
