"""What is said of a step only when the whole flow has been walked: heat seen so far, the swing of a dose, how to probe."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from filmwright.emulate.end_trace import end_trace
from filmwright.emulate.etched import end_point
from filmwright.emulate.exposed import of_limit
from filmwright.emulate.follows import chosen, follows
from filmwright.emulate.heat import Diffused, heat_ledger, heats_of
from filmwright.emulate.probing import with_probing
from filmwright.emulate.readings import with_readings
from filmwright.emulate.strips import lift_off_in_words, lift_off_time
from filmwright.emulate.swing import with_swing
from filmwright.emulate.trace import State, Trace
from filmwright.knowledge import Book
from filmwright.masks import Drawing
from filmwright.process import (
    DIFFUSION,
    MISMATCH_CHANGE,
    THERMAL_LEDGER,
    Derivation,
    Input,
    Setting,
    equivalent_time,
    thermal_mismatch_stress,
)
from filmwright.sources import Value
from filmwright.units import ROOM_TEMPERATURE, show
from filmwright.wafer import Heat

_TOLD = 3
"""Films of a thermal ledger that are told on the sheet: those that have used up most."""


def with_outlook(
    trace: Trace, facts: Book, only: Iterable[str] = (), drawing: Drawing | None = None
) -> Trace:
    """The trace with what each exposure, anneal, measurement and probing needs from the rest of the flow.

    Parameters
    ----------
    trace : Trace
    facts : Book
    only : iterable of str
        Numbers of the steps that are looked at; empty for all.
    drawing : Drawing or None
        For widths as drawn.
    """
    wanted = set(only)
    swung = with_swing(trace, facts, wanted)
    heat = ledger_of_heat(trace, facts)
    moved = heat_ledger(
        trace, facts, of_limit(trace.lab, "E", "activation energy", "ledger energy").value
    ).diffused
    states = []
    for place, state in enumerate(swung.states):
        numbers = heat.get(state.step.number, ()) if state.step.kind == "anneal" else ()
        also = (*_moved(moved, state), *_mismatched(state, trace, place, facts))
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
            seen = end_trace(state, before, facts)
            if seen is not None and seen.colours:
                look = (*look, f"colours of the cleared place while it thins: {seen.colours} (computed)")
        if state.step.kind == "lift off" and (not wanted or state.step.number in wanted):
            numbers, look = _lifted(state, trace, place, facts)
        numbers = (*(replace(each, text="") for each in numbers), *also)
        states.append(
            replace(state, follows=(*state.follows, *numbers), look=(*state.look, *look))
            if numbers or look
            else state
        )
    told = with_readings(replace(swung, states=tuple(states)), facts, drawing, wanted)
    return with_probing(told, facts, wanted)


def _lifted(
    state: State, trace: Trace, place: int, facts: Book
) -> tuple[tuple[Setting, ...], tuple[str, ...]]:
    """How long the solvent needs from the edges of the film."""
    before = trace.states[place - 1].wafer.plan if place else trace.start.plan
    rate = facts.models["lift-off"]["dissolved sideways"]
    found = lift_off_time(before, facts.medium(state.step.medium).dissolves, rate)
    if found is None:
        return (), ()
    return (follows("lift-off from the edges", found),), (lift_off_in_words(found),)


def ledger_of_heat(trace: Trace, facts: Book) -> Mapping[str, tuple[Setting, ...]]:
    """For each step that heats, what every film on the wafer has seen up to and with it, as time at the film's own limit.

    Times in air are added apart from those in vacuum or inert gas, each against the limit that holds there.

    Parameters
    ----------
    trace : Trace
    facts : Book
    """
    seen: dict[tuple[str, bool], list[tuple[float, float]]] = {}
    energy = of_limit(trace.lab, "E", "activation energy", "ledger energy").value
    found: dict[str, tuple[Setting, ...]] = {}
    for place, state in enumerate(trace.states):
        plan = trace.states[place - 1].wafer.plan if place else trace.start.plan
        films = sorted({layer.material for column in plan.columns for layer in column.layers[1:]})
        for hot, long, air in (
            (each.peak, each.at_peak(energy), each.air)
            for each in heats_of(state, trace, facts)
            if each.time > 0
        ):
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


def _moved(moved: Sequence[Diffused], state: State) -> Iterator[Setting]:
    """How far something has gone after the last step that heats it."""
    for each in moved:
        if each.step == state.step.number and state.step.kind == "anneal":
            said = f"√(Σ D·t) over all heats since the two lie on one another, of {show(each.thickness, 'length')}"
            notes = (said, "outside the temperatures at which it was measured") if each.outside else (said,)
            law = replace(DIFFUSION, source=each.source)
            derived = Derivation(law=law, result=each.length, unit="nm", notes=notes)
            yield follows(f"{each.what} in {each.film}", derived)


def _mismatched(state: State, trace: Trace, place: int, facts: Book) -> Iterator[Setting]:
    """By how much the stress of each film changes while an anneal is hot."""
    body = facts.material(trace.flow.body.material).values.get("expansion")
    if state.step.kind != "anneal" or body is None:
        return
    hot = max(
        (each.temperature for each in state.actions if isinstance(each, Heat)), default=ROOM_TEMPERATURE
    )
    plan = trace.states[place - 1].wafer.plan if place else trace.start.plan
    for name in sorted({layer.material for column in plan.columns for layer in column.layers[1:]}):
        values = facts.material(name).values
        if not {"modulus", "Poisson ratio", "expansion"} <= values.keys() or hot <= ROOM_TEMPERATURE:
            continue
        given = {
            "modulus": Input.known("E", f"modulus of {name}", values["modulus"]),
            "poisson": replace(Input.known("ν", "Poisson ratio", values["Poisson ratio"]), std=0.0),
            "film": Input.known("α_f", f"expansion of {name}", values["expansion"]),
            "wafer": Input.known("α_s", "expansion of the wafer", body),
            "cold": chosen("T_0", "room", ROOM_TEMPERATURE, "°C", "the room"),
            "hot": chosen("T", "peak", hot, "°C", f"the plan, line {state.step.line}"),
        }
        derived = MISMATCH_CHANGE.derive(
            lambda modulus, poisson, film, wafer, cold, hot: thermal_mismatch_stress(
                modulus, poisson, film, wafer, cold, hot
            ),
            given,
            unit="MPa",
        )
        yield follows(f"stress of {name} changes while hot by", derived)


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
