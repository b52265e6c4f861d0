"""What is said of a step only when the whole flow has been walked: heat seen so far, the swing of a dose, how to probe."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from filmwright.emulate.etched import end_point
from filmwright.emulate.exposed import of_limit
from filmwright.emulate.follows import chosen, follows
from filmwright.emulate.swing import with_swing
from filmwright.emulate.trace import State, Trace
from filmwright.knowledge import Book
from filmwright.process import (
    SPARING_VOLTAGE,
    THERMAL_LEDGER,
    Input,
    Setting,
    equivalent_time,
    sparing_voltage,
    sweep_points,
)
from filmwright.sources import Value
from filmwright.units import show
from filmwright.wafer import Device, Heat

_TOLD = 3
"""Films of a thermal ledger that are told on the sheet: those that have used up most."""

_POINTS = 61
_STEPS = 5


def with_outlook(trace: Trace, facts: Book, only: Iterable[str] = ()) -> Trace:
    """The trace with what each exposure, anneal and probing needs from the rest of the flow.

    Parameters
    ----------
    trace : Trace
    facts : Book
    only : iterable of str
        Numbers of the steps whose optics are looked at; empty for all.
    """
    wanted = set(only)
    swung = with_swing(trace, facts, wanted)
    heat = ledger_of_heat(trace, facts)
    states = []
    for place, state in enumerate(swung.states):
        numbers = heat.get(state.step.number, ()) if state.step.kind == "anneal" else ()
        look: tuple[str, ...] = ()
        if numbers:
            worst = sorted(numbers, key=lambda each: -(each.value or 0.0))[:_TOLD]
            said = ", ".join(f"{each.name.removeprefix('heat seen by ')} {each.text}" for each in worst)
            look = (f"heat seen so far, as time at each film's own limit: {said}",)
        if (
            state.step.kind == "etch"
            and state.rate is not None
            and (not wanted or state.step.number in wanted)
        ):
            before = trace.states[place - 1].wafer.plan if place else trace.start.plan
            medium = facts.medium(state.step.medium)
            numbers, look = end_point(state.step, medium, state.rate, before, facts)
        if state.step.kind == "probe":
            numbers, look = _probing(state, trace, facts)
        numbers = tuple(replace(each, text="") for each in numbers)
        states.append(
            replace(state, follows=(*state.follows, *numbers), look=(*state.look, *look))
            if numbers or look
            else state
        )
    return replace(swung, states=tuple(states))


def ledger_of_heat(trace: Trace, facts: Book) -> Mapping[str, tuple[Setting, ...]]:
    """For each step that heats, what every film on the wafer has seen up to and with it, as time at the film's own limit.

    Times in air are added apart from those in vacuum or inert gas, each against the limit that holds there.

    Parameters
    ----------
    trace : Trace
    facts : Book
    """
    seen: dict[tuple[str, bool], list[tuple[float, float]]] = {}
    found: dict[str, tuple[Setting, ...]] = {}
    for place, state in enumerate(trace.states):
        plan = trace.states[place - 1].wafer.plan if place else trace.start.plan
        films = sorted({layer.material for column in plan.columns for layer in column.layers[1:]})
        for hot, long, air in _heats(state, trace):
            numbers = []
            for film in films:
                material = facts.material(film)
                limit = material.values.get("temperature limit in air")
                limit = limit if air else material.values.get("temperature limit in vacuum") or limit
                if material.kind in ("organic", "substrate") or limit is None:
                    continue
                spent = seen.setdefault((film, air), [])
                spent.append((hot, long))
                numbers.append(_heat_of(film, tuple(spent), limit, trace))
            found[state.step.number] = tuple(numbers)
    return found


def _heats(state: State, trace: Trace) -> list[tuple[float, float, bool]]:
    """Temperature [K], time [s] and whether in air, of a step that heats the wafer."""
    found = [
        (each.temperature, each.time, "air" in each.atmosphere)
        for each in state.actions
        if isinstance(each, Heat)
    ]
    if state.step.kind == "deposit" and "temperature" in state.step.asked:
        tool = trace.lab.tools.get(state.step.tool)
        time = state.duration - (tool.around if tool is not None else 0.0)
        found.append((state.step.asked["temperature"].value, time, False))
    return [each for each in found if each[1] > 0]


def _heat_of(film: str, spent: tuple[tuple[float, float], ...], limit: Value, trace: Trace) -> Setting:
    energy = of_limit(trace.lab, "E", "activation energy", "ledger energy")
    most = of_limit(trace.lab, "t_most", "longest", "ledger time")
    heats = "; ".join(f"{show(long, 'time')} at {show(hot, 'temperature')}" for hot, long in spent[-_TOLD:])
    derived = THERMAL_LEDGER.derive(
        lambda reference, energy: sum(equivalent_time(long, hot, reference, energy) for hot, long in spent),
        {"reference": Input.known("T_L", f"limit of {film}", limit), "energy": energy},
        unit="min",
        notes=(f"last heats: {heats}", f"at most {most.shown} by the limits of the review"),
    )
    share = (derived.result or 0.0) / most.value
    return replace(follows(f"heat seen by {film}", derived), text=f"{100 * share:.2g} % of {most.shown}")


def _probing(state: State, trace: Trace, facts: Book) -> tuple[tuple[Setting, ...], tuple[str, ...]]:
    """Voltages that spare the insulator, and the sweeps that stay within them."""
    spread = {
        each.step.material: (each.thickness_std or 0.0) / each.thickness
        for each in trace.states
        if each.step.kind == "deposit" and each.thickness
    }
    devices = [*trace.devices.transistors, *trace.devices.capacitors]
    sparing = [each for device in devices if (each := _sparing(device, trace, facts, spread)) is not None]
    gate, drain = (state.step.asked.get(name) for name in ("gate", "drain"))
    if not sparing:
        return (), (
            "no breakdown field on file: ask before more than a volt is put across the insulator",
        ) if devices else ()
    least = min(sparing, key=lambda each: each.value or 0.0)
    low = least.derivation.band[0] if least.derivation.band else least.value or 0.0
    words = [f"at most {show(low, 'voltage')} across the insulator (lower end of its band)"]
    if gate is not None:
        most = min(gate.value, low)
        points = sweep_points(-most, most, _POINTS)
        step = show(points[1] - points[0], "voltage")
        words.append("first, one device that may be lost: gate current with source and drain at 0 V")
        transfer = (
            f"transfer: gate {show(-most, 'voltage')} to {show(most, 'voltage')} and back, {step} a point"
        )
        if drain is not None:
            small = drain.value / 50
            words.append(f"{transfer}, at drain {show(small, 'voltage')} and {show(drain.value, 'voltage')}")
            gates = ", ".join(f"{v:.3g}" for v in sweep_points(0.0, most, _STEPS + 1)[1:])
            words.append(f"output: drain 0 to {show(drain.value, 'voltage')} and back, at gate {gates} V")
        else:
            words.append(transfer)
        if gate.value > low:
            words.append(f"the plan asks for {show(gate.value, 'voltage')}: more than spares the insulator")
    return (least,), tuple(words)


def _sparing(device: Device, trace: Trace, facts: Book, spread: Mapping[str, float]) -> Setting | None:
    films = [
        (name, depth, facts.material(name).values.get("breakdown field")) for name, depth in device.dielectric
    ]
    if not films or any(field is None for *_, field in films):
        return None
    thinnest = _thinnest(trace, films[0][0]) if len(films) == 1 else None
    inputs = {"share": of_limit(trace.lab, "s", "share of the breakdown field", "breakdown share")}
    for k, (name, depth, field) in enumerate(films):
        least = min(depth, thinnest) if thinnest is not None else depth
        where = "thinnest place on the cut" if least < depth else "over flat ground"
        given = chosen(f"d_{k + 1}", f"{name}, {where}", least, "nm", "the emulated wafer")
        inputs[f"d{k}"] = replace(given, std=least * spread.get(name, 0.0))
        if field is not None:
            inputs[f"e{k}"] = Input.known(f"E_{k + 1}", f"breakdown field of {name}", field)
    derived = SPARING_VOLTAGE.derive(
        lambda share, **each: sparing_voltage(
            share, [each[f"d{k}"] for k in range(len(films))], [each[f"e{k}"] for k in range(len(films))]
        ),
        inputs,
        unit="V",
        notes=(f"weakest: {device.name or device.kind}",),
    )
    return follows("voltage that spares the insulator", derived)


def _thinnest(trace: Trace, material: str) -> float | None:
    """The thinnest place [m] of an insulator on the cut; None where no cut was emulated."""
    section = trace.final.section
    if section is None:
        return None
    films = {
        layer.film
        for column in trace.final.plan.columns
        for layer in column.layers
        if layer.material == material
    }
    found = [section.thinnest(film) for film in sorted(films)]
    return min((each.thickness for each in found if each is not None and each.thickness > 0), default=None)
