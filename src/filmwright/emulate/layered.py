"""Films by cycles: nuclei, pulses that saturate flat wafers and deep holes, purges, and the time that all of it takes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from filmwright.emulate.context import Context, from_value
from filmwright.emulate.follows import Followed, between, chosen, follows
from filmwright.flow import Step
from filmwright.knowledge import Method, usual_time
from filmwright.process import (
    CYCLE_TIME,
    PULSE_TIME,
    PUMPED_PURGE,
    SATURATION,
    SHORT_PULSE,
    Derivation,
    Input,
    Setting,
    check_range,
    growth_of_short_pulse,
    pumped_purge_time,
    saturating_exposure,
)
from filmwright.sources import Source, Value
from filmwright.units import show
from filmwright.wafer import Plan

_PULSES = ("precursor pulse", "purge", "water pulse")
_FULL = 0.99
"""Part of the saturated growth from which on a pulse counts as long enough."""

_SEEN = 0.01
"""Part of the open area from which on a material decides how the film begins."""


def pulses(step: Step, ctx: Context, method: Method) -> tuple[Setting, ...]:
    """Usual times of a cycle where the plan names no recipe that holds them."""
    known = _known(step, ctx)
    return tuple(
        from_value(name, known[name])
        for name in _PULSES
        if name in known and name in method.settings and not step.recipe
    )


def _known(step: Step, ctx: Context) -> Mapping[str, Value]:
    return ctx.facts.models.get(f"pulses of {step.material}", {})


def nucleation(step: Step, ctx: Context, now: Plan) -> Input | None:
    """Cycles before growth sets in: the longest delay among the materials that lie open; None where none is on file."""
    known, own = _known(step, ctx), ctx.facts.material(step.material).values.get("nucleation delay")
    area = now.exposed()
    open_to_it = [name for name, each in area.items() if each >= _SEEN * sum(area.values())]
    found = [(value, name) for name in open_to_it if (value := known.get(_ground(name, ctx))) is not None]
    if found:
        value, name = max(found, key=lambda each: each[0].value)
        return Input.known("N_0", f"cycles before growth sets in on {name}", value)
    return None if own is None else Input.known("N_0", "cycles before growth sets in", own)


def _ground(name: str, ctx: Context) -> str:
    """Under which key the delay on a material is filed."""
    material = ctx.facts.material(name)
    if "noble metal" in material.families:
        return "delay on noble metal"
    return "delay on organic" if material.kind == "organic" else f"delay on {name}"


def cycle_of(step: Step, ctx: Context) -> Input:
    """Time of one cycle: its two pulses and two purges, else the usual one."""
    known = _known(step, ctx)
    if step.recipe or not set(_PULSES) <= known.keys():
        return Input.known("τ", "time of a cycle", usual_time("cycle"))
    first, purge, second = (known[name] for name in _PULSES)
    source = Source(citation="the two pulses and two purges above", kind="plan")
    total = first.value + second.value + 2 * purge.value
    return Input(
        symbol="τ", name="time of a cycle, two pulses and two purges", value=total, unit="s", source=source
    )


def outside_window(step: Step, ctx: Context) -> tuple[str, ...]:
    """A sentence where the temperature lies outside the window in which growth saturates."""
    known, asked = _known(step, ctx), step.asked.get("temperature")
    if asked is None or not {"window from", "window to"} <= known.keys():
        return ()
    low, high = known["window from"], known["window to"]
    notes = check_range("temperature", asked.value, low.value, high.value, "temperature")
    why = low.condition if asked.value < low.value else high.condition
    return tuple(f"{note}: {why}" for note in notes)


def by_cycles(step: Step, ctx: Context, method: Method, cycles: float | None) -> Followed:
    """How long the cycles take, what exposure a flat wafer and the deepest hole need, whether the pulse gives it, and the purge."""
    numbers = [*_time(step, ctx, cycles), *_exposures(step, ctx, method)]
    short = next((each for each in numbers if each.name == "growth of the usual pulse"), None)
    said: tuple[str, ...] = ()
    if short is not None and (short.value or 0.0) < _FULL:
        pulse = next(each for each in numbers if each.name.startswith("shortest pulse"))
        said = (
            f"the usual pulse gives {100 * (short.value or 0.0):.0f} % of the film at the bottom of the hole: make it "
            f"{show(pulse.value or 0.0, 'time')} or longer",
        )
    return Followed(numbers=(*numbers, *_purge(step, ctx)), warnings=said)


def _time(step: Step, ctx: Context, cycles: float | None) -> Iterator[Setting]:
    if cycles is not None:
        count = chosen("N", "cycles", cycles, "", "the setting above")
        given = {"count": count, "each": cycle_of(step, ctx)}
        yield follows(
            "time of all cycles", CYCLE_TIME.derive(lambda count, each: count * each, given, unit="min")
        )


def _exposures(step: Step, ctx: Context, method: Method) -> Iterator[Setting]:
    known = _known(step, ctx)
    if "taken up" not in known:
        return
    flat = _exposure(step, ctx, method, 0.0)
    yield follows("exposure that saturates a flat wafer", flat)
    asked = step.asked.get("aspect ratio")
    deep = flat
    if asked is not None:
        deep = _exposure(step, ctx, method, asked.value)
        yield follows(f"exposure that coats a hole of {asked.value:g}:1 to its bottom", deep)
    pressure = Input.known(
        "p", "pressure of the precursor in its pulse", ctx.facts.models["layer reactor"]["pulse pressure"]
    )
    needed = {"exposure": between("x", "exposure needed", deep), "pressure": pressure}
    yield follows(
        "shortest pulse" + (" for the hole" if asked is not None else ""),
        PULSE_TIME.derive(lambda exposure, pressure: exposure / pressure, needed, unit="ms"),
    )
    if "precursor pulse" in known and not step.recipe:
        pulse = known["precursor pulse"]
        given = {
            "exposure": chosen(
                "x", "pressure × pulse", pressure.value * pulse.value, "mPa*s", "the pulse above"
            ),
            "scale": replace(between("x_0", "exposure needed", deep), std=0.0),
            "saturated": chosen("g_s", "growth when saturated", 1.0, "%", "the whole growth"),
        }
        yield follows("growth of the usual pulse", SHORT_PULSE.derive(growth_of_short_pulse, given, unit="%"))


def _exposure(step: Step, ctx: Context, method: Method, aspect: float) -> Derivation:
    known, asked = _known(step, ctx), step.asked.get("temperature")
    hot = (
        chosen("T", "temperature", asked.value, asked.unit, f"the plan, line {step.line}")
        if asked
        else Input.known("T", "temperature, usual", method.temperature)
    )
    where = "a flat wafer" if aspect == 0.0 else f"the plan, line {step.line}"
    given = {
        "sites": Input.known("S", "taken up in a pulse", known["taken up"]),
        "molar_mass": Input.known("m", "molar mass of the precursor, over N_A", known["molar mass"]),
        "temperature": hot,
        "aspect": chosen("a", "depth over width", aspect, "", where),
    }
    return SATURATION.derive(saturating_exposure, given, unit="mPa*s")


def _purge(step: Step, ctx: Context) -> Iterator[Setting]:
    """How long one precursor takes to be pumped away before the other comes."""
    usual, tool = ctx.facts.models["layer reactor"], ctx.lab.tools.get(step.tool)
    volume = Input.known("V", "chamber volume, usual", usual["chamber volume"])
    speed = Input.known("S", "pumping speed at the chamber, usual", usual["pumping speed"])
    if tool is not None:
        where = f"{tool.name}, lab file line {tool.line}"
        if tool.chamber_volume is not None:
            volume = chosen("V", "chamber volume", tool.chamber_volume, "L", where)
        if tool.pumping_speed is not None:
            speed = chosen("S", "pumping speed at the chamber", tool.pumping_speed, "L/s", where)
    factor = replace(Input.known("f", "by which the gas is thinned", usual["thinning"]), std=0.0)
    derived = PUMPED_PURGE.derive(
        pumped_purge_time, {"volume": volume, "speed": speed, "factor": factor}, unit="s"
    )
    yield follows("purge that the chamber takes", derived)
