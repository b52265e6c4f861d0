"""The heat of a whole flow: what every step heats to, what every film has seen since it lies there, and what moved in it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from filmwright.emulate.trace import State, Trace
from filmwright.knowledge import Book
from filmwright.process import diffusion_length, equivalent_ramp, equivalent_time
from filmwright.sources import Source, Value
from filmwright.units import ROOM_TEMPERATURE
from filmwright.wafer import Column, Heat, Plan

_HYDROGEN = "hydrogen"

Pairs = tuple[tuple[str, int], ...]
"""What diffuses, and into the layer at which place of a column."""


@dataclass(frozen=True, kw_only=True)
class HeatOfStep:
    """What one step heats the wafer to.

    Attributes
    ----------
    step, code, kind, title : str
    line : int
    peak : float [K]
    time : float [s]
        At the peak; 0 for a film whose time nobody knows.
    atmosphere : str
    air : bool
        Whether the limits in air hold.
    up, down : float [s]
        Ramps; 0 where the lab file says nothing of the tool's rates.
    """

    step: str
    code: str
    kind: str
    title: str
    line: int
    peak: float
    time: float
    atmosphere: str
    air: bool
    up: float = 0.0
    down: float = 0.0

    def at_peak(self, energy: float) -> float:
        """Time [s] at the peak that does as much as hold and ramps, for a process of an activation energy [J]."""
        ramps = (
            equivalent_ramp(ROOM_TEMPERATURE, self.peak, (self.peak - ROOM_TEMPERATURE) / each, energy)
            for each in (self.up, self.down)
            if each > 0
        )
        return self.time + sum(ramps)


@dataclass(frozen=True, kw_only=True)
class FilmHeat:
    """What one film has seen from its own deposition on.

    Attributes
    ----------
    film, material : str
    heats : tuple of HeatOfStep
    limit : Value or None [K]
        The one, in air or in vacuum, against which most was spent; None where none is on file.
    spent : float [s]
        Time at the limit that does as much as all of it, in air and in vacuum each against its own limit, added.
    """

    film: str
    material: str
    heats: tuple[HeatOfStep, ...]
    limit: Value | None
    spent: float

    @property
    def peak(self) -> float:
        """The highest temperature [K]."""
        return max(each.peak for each in self.heats)

    @property
    def hot(self) -> float:
        """Time at temperature in all [s], ramps apart."""
        return math.fsum(each.time for each in self.heats)


@dataclass(frozen=True, kw_only=True)
class Diffused:
    """How far something went in a film.

    Attributes
    ----------
    what, host, film : str
        What diffuses, in which material, in which film.
    thickness, length : float [m]
        Of the film; √(Σ D·t).
    source : Source
    step : str
        The step after which it had gone so far: the last that heats.
    outside : bool
        Some of the heats lie outside the temperatures of the measurement.
    """

    what: str
    host: str
    film: str
    thickness: float
    length: float
    source: Source
    step: str
    outside: bool = False

    @property
    def share(self) -> float:
        """Length over thickness."""
        return self.length / self.thickness


@dataclass(frozen=True, kw_only=True)
class HeatLedger:
    """The heat of a flow.

    Attributes
    ----------
    steps : tuple of HeatOfStep
    films : tuple of FilmHeat
    diffused : tuple of Diffused
    """

    steps: tuple[HeatOfStep, ...] = ()
    films: tuple[FilmHeat, ...] = ()
    diffused: tuple[Diffused, ...] = field(default=())


def heats_of(state: State, trace: Trace, facts: Book) -> tuple[HeatOfStep, ...]:
    """What a step heats the wafer to: bakes, anneals, and depositions on a hot wafer; usual temperatures where the plan has none."""
    step, tool = state.step, trace.lab.tools.get(state.step.tool)
    found = [
        (each.temperature, each.time, each.atmosphere) for each in state.actions if isinstance(each, Heat)
    ]
    if step.kind == "deposit":
        asked = step.asked.get("temperature")
        usual = facts.method(step.method).temperature.value
        hot = step.done.get("temperature", asked.value if asked is not None else usual)
        around = tool.around if tool is not None else 0.0
        oxidising = (
            "oxygen" in facts.method(step.method).families and "furnace" in facts.method(step.method).families
        )
        found.append(
            (hot, max(state.duration - around, 0.0), "air" if oxidising else "vacuum or process gas")
        )
    rates = (tool.heating_rate, tool.cooling_rate) if tool is not None else (None, None)
    return tuple(
        HeatOfStep(
            step=step.number,
            code=step.code,
            kind=step.kind,
            title=step.title,
            line=step.line,
            peak=hot,
            time=time,
            atmosphere=gas,
            air="air" in gas,
            up=(hot - ROOM_TEMPERATURE) / rates[0] if rates[0] else 0.0,
            down=(hot - ROOM_TEMPERATURE) / rates[1] if rates[1] else 0.0,
        )
        for hot, time, gas in found
        if (time > 0 or step.kind == "deposit") and hot > ROOM_TEMPERATURE
    )


def heat_ledger(trace: Trace, facts: Book, energy: float) -> HeatLedger:
    """The heat of a walked flow.

    Parameters
    ----------
    trace : Trace
    facts : Book
    energy : float [J]
        Of the one activated process that stands for all that heat does to a film.
    """
    steps: list[HeatOfStep] = []
    of_film: dict[str, list[HeatOfStep]] = {}
    material: dict[str, str] = {}
    pairs: dict[tuple[str, str, str], tuple[float, list[HeatOfStep]]] = {}
    seen_pairs: dict[Column, Pairs] = {}
    before = trace.start.plan
    for state in trace.states:
        heats = heats_of(state, trace, facts)
        # A film is as hot as the wafer while it is put down.
        plan = state.wafer.plan if state.step.kind == "deposit" else before
        before = state.wafer.plan
        steps += heats
        if not heats:
            continue
        for column in plan.columns:
            for layer in column.layers[1:]:
                material[layer.film] = layer.material
        present = dict.fromkeys(layer.film for column in plan.columns for layer in column.layers[1:])
        for film in present:
            of_film.setdefault(film, []).extend(heats)
        for pair, thickness in _neighbours(plan, facts, seen_pairs).items():
            least, seen = pairs.get(pair, (thickness, []))
            pairs[pair] = (min(least, thickness), [*seen, *heats])
    films = tuple(
        _film_heat(film, material[film], tuple(seen), facts, energy)
        for film, seen in of_film.items()
        if facts.material(material[film]).kind != "organic"
    )
    return HeatLedger(steps=tuple(steps), films=films, diffused=tuple(_spread(pairs, facts)))


def _film_heat(film: str, name: str, heats: tuple[HeatOfStep, ...], facts: Book, energy: float) -> FilmHeat:
    values = facts.material(name).values
    in_air = values.get("temperature limit in air")
    limits = [in_air if each.air else values.get("temperature limit in vacuum") or in_air for each in heats]
    spent = [
        (equivalent_time(each.at_peak(energy), each.peak, limit.value, energy), limit)
        for each, limit in zip(heats, limits, strict=True)
        if limit is not None and each.time > 0
    ]
    known = next((limit for limit in limits if limit is not None), None)
    return FilmHeat(
        film=film,
        material=name,
        heats=heats,
        limit=max(spent, key=lambda each: each[0])[1] if spent else known,
        spent=math.fsum(each for each, _ in spent),
    )


def _neighbours(plan: Plan, facts: Book, known: dict[Column, Pairs]) -> dict[tuple[str, str, str], float]:
    """(what diffuses, in which material, in which film) → thickness [m], for films that lie on one another and are on file."""
    found: dict[tuple[str, str, str], float] = {}
    for column in plan.columns:
        if column not in known:
            known[column] = tuple(_pairs(column, facts))
        for what, place in known[column]:
            layer = column.layers[place]
            key = (what, layer.material, layer.film)
            found[key] = min(found.get(key, layer.thickness), layer.thickness)
    return found


def _pairs(column: Column, facts: Book) -> Iterator[tuple[str, int]]:
    """What diffuses into the layer at which place."""
    layers = column.layers
    for place, layer in enumerate(layers):
        for other in (place - 1, place + 1):
            if not 0 <= other < len(layers):
                continue
            for what in _gives(layers[other].material, facts):
                if f"diffusion of {what} in {_as_host(layer.material)}" in facts.models:
                    yield what, place


def _as_host(material: str) -> str:
    """Plasma oxide counts as oxide."""
    return "silicon dioxide" if material == "plasma silicon dioxide" else material


def _gives(material: str, facts: Book) -> Sequence[str]:
    """What a film may give to its neighbours: itself, and hydrogen where it brings some."""
    own = "silicon" if material in {"polysilicon", "amorphous silicon"} else material
    return (own, _HYDROGEN) if material in facts.models["hydrogen in plasma films"] else (own,)


def _spread(
    pairs: dict[tuple[str, str, str], tuple[float, list[HeatOfStep]]], facts: Book
) -> Iterator[Diffused]:
    for (what, host, film), (thickness, heats) in pairs.items():
        known = facts.models[f"diffusion of {what} in {_as_host(host)}"]
        energy = known["energy"].value
        length = diffusion_length(
            [(each.peak, each.at_peak(energy)) for each in heats], known["prefactor"].value, energy
        )
        low, high = known["from"].value, known["to"].value
        hottest = max(each.peak for each in heats)
        yield Diffused(
            what=what,
            host=host,
            film=film,
            thickness=thickness,
            length=length,
            source=known["prefactor"].source,
            step=heats[-1].step,
            outside=not low <= hottest <= high,
        )
