"""A film from several targets at once: what each source gives, the powers for a composition, and what comes of them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

from filmwright.emulate.context import Context
from filmwright.emulate.follows import Followed, between, chosen, follows
from filmwright.emulate.geometry import Placed, placed
from filmwright.emulate.heated import heat_of_guns
from filmwright.emulate.magnetron import Gun, asked, power_density, slowed_atoms
from filmwright.emulate.source_rates import SourceRate, source_rate
from filmwright.flow import SourceAsked, Step
from filmwright.knowledge import Belief, Method, atoms_of
from filmwright.process import (
    FILM_AT_PLACE,
    FILM_OF_SOURCES,
    PART_OF_FILM,
    PARTS_OVER_WAFER,
    POWER_FOR_PART,
    STRONGEST_SOURCE,
    Derivation,
    Input,
    Law,
    Setting,
    arriving_share,
    powers_for_composition,
)
from filmwright.sources import Source
from filmwright.units import convert, write

_ROUND = 12
"""Places along the edge of a wafer at rest."""

_TURNS, _SAME = 30, 1e-6
"""Turns in which powers settle on rates that are not in proportion to them, and when they have settled."""


@dataclass(frozen=True, kw_only=True)
class Burning:
    """One source of the film.

    Attributes
    ----------
    place : int
        1 for the first.
    asked : SourceAsked
    gun : Gun
        With the power at which it burns, None where nobody knows.
    most : float [W]
        That it bears.
    atoms : mapping from element to int
        Of a formula unit of its target.
    """

    place: int
    asked: SourceAsked
    gun: Gun
    most: float
    atoms: Mapping[str, int]

    @property
    def moles(self) -> tuple[Input, Input] | None:
        """Density and molar mass of the target."""
        values = self.gun.material.values
        if not {"density", "molar mass"} <= values.keys():
            return None
        return (
            Input.known(f"ρ_{self.place}", f"density of {self.asked.target}", values["density"]),
            Input.known(f"M_{self.place}", f"molar mass of {self.asked.target}", values["molar mass"]),
        )


@dataclass(frozen=True, kw_only=True)
class CoSputtered:
    """What several sources make.

    Attributes
    ----------
    rate : Belief or None
        Of the film.
    settings : tuple of Setting
        The powers.
    followed : Followed
    heat : Derivation or None
        At the wafer.
    """

    rate: Belief | None
    settings: tuple[Setting, ...]
    followed: Followed
    heat: Derivation | None = None


def cosputtered(step: Step, ctx: Context, method: Method, film: Input) -> CoSputtered:
    """Powers, rate and composition of a film from several sources."""
    burning = [_burning(place, each, step, ctx, method) for place, each in enumerate(step.sources, 1)]
    powers, warnings = _powers(step, ctx, burning)
    burning = [
        replace(each, gun=replace(each.gun, power=power))
        for each, power in zip(burning, powers.inputs, strict=True)
    ]
    rates = [source_rate(step, ctx, each.gun, each.place) for each in burning]
    warnings += tuple(
        f"no rate of {each.asked.target} on file for {step.tool or 'this method'} as one source of {step.material}"
        for each, rate in zip(burning, rates, strict=True)
        if rate is None
    )
    warnings += tuple(
        f"{each.asked.target} at {write(each.gun.power.value, 'W')} is beyond the {write(each.most, 'W')} that it bears"
        for each in burning
        if each.gun.power is not None and each.gun.power.value > each.most * (1 + _SAME)
    )
    known = [rate for rate in rates if rate is not None]
    numbers = list(_each(ctx, burning, known))
    rate = None
    if len(known) == len(burning):
        whole = _whole(step, ctx, burning, known)
        if whole is not None:
            numbers.append(follows("rate of all sources", whole))
            rate = _belief(whole, known)
        numbers += _parts(step, ctx, burning, known)
        numbers += _over_wafer(ctx, burning, known, film)
        warnings += tuple(note for each in known for note in each.warnings)
    look = tuple(
        "composition to be expected: "
        + ", ".join(
            f"{each.name.removeprefix('part of ')} {convert(each.value or 0.0, '%'):.0f} %" for each in parts
        )
        for parts in [[each for each in numbers if each.name.startswith("part of ")]]
        if parts
    )
    return CoSputtered(
        rate=rate,
        settings=powers.settings,
        followed=Followed(numbers=tuple(numbers), look=look, warnings=warnings),
        heat=heat_of_guns(
            ctx,
            {each.asked.target: (each.gun.where, each.gun.power) for each in burning},
            ctx.flow.body.diameter / 2,
        ),
    )


def _burning(place: int, source: SourceAsked, step: Step, ctx: Context, method: Method) -> Burning:
    tool = ctx.lab.tools.get(step.tool)
    lab = tool.geometry if tool is not None else None
    gun = None
    if lab is not None:
        gun = lab.places.get(source.gun) or lab.holding(source.target)
    where = placed(step, ctx, method, gun)
    if where is None:
        raise ValueError(f"{method.name} has no sources")
    facts = ctx.facts.models["magnetron"]
    area = math.pi * where.inputs["radius"].value ** 2
    most = gun.values["most power"].value if gun is not None and "most power" in gun.values else None
    radio = source.mode == "radio frequency" or (not source.mode and "radio-frequency" in method.name)
    power = source.power
    said = f"the plan, line {source.line}"
    return Burning(
        place=place,
        asked=source,
        gun=Gun(
            material=ctx.facts.material(source.target),
            where=where,
            power=chosen("P", f"power of {source.target}", power.value, power.unit, said) if power else None,
            pressure=asked(step, "pressure", "p", "pressure"),
            wafer_radius=ctx.flow.body.diameter / 2,
            radio_frequency=radio,
        ),
        most=most if most is not None else facts["usual power density"].value * area,
        atoms=atoms_of(ctx.facts.material(source.target)),
    )


@dataclass(frozen=True, kw_only=True)
class _Powers:
    inputs: Sequence[Input | None]
    settings: tuple[Setting, ...]


def _powers(step: Step, ctx: Context, burning: Sequence[Burning]) -> tuple[_Powers, tuple[str, ...]]:
    """The powers of the plan, and those that its composition asks for."""
    given = [each.gun.power for each in burning]
    if all(given):
        return _Powers(inputs=given, settings=tuple(_by_plan(each) for each in burning)), ()
    found, why = (
        _for_composition(step, ctx, burning) if step.composition else (None, "no composition is wanted")
    )
    if found is None:
        settings = tuple(_by_plan(each) if each.gun.power else _open(each, why) for each in burning)
        return _Powers(inputs=given, settings=settings), (f"powers of the sources are not on file: {why}",)
    settings = tuple(
        _by_plan(each)
        if each.gun.power
        else Setting.by_law(
            _name(each),
            derived,
            derived.law.source,
            f"{_mode(each)}; composition of the plan, line {step.line}",
        )
        for each, derived in zip(burning, found, strict=True)
    )
    inputs = [
        each.gun.power or replace(between("P", f"power of {each.asked.target}", derived), std=0.0)
        for each, derived in zip(burning, found, strict=True)
    ]
    return _Powers(inputs=inputs, settings=settings), ()


def _name(each: Burning) -> str:
    return f"power, {each.asked.target}"


def _mode(each: Burning) -> str:
    gun = each.gun.where.place
    mode = "radio frequency" if each.gun.radio_frequency else "direct current"
    return f"{gun.name}, {mode}" if gun is not None else mode


def _by_plan(each: Burning) -> Setting:
    power = each.asked.power
    source = Source(citation="the plan", where=f"line {each.asked.line}", kind="plan")
    return Setting(
        name=_name(each),
        value=power.value if power else None,
        unit=power.unit if power else "W",
        source=source,
        evidence=_mode(each),
        because="as the plan says",
    )


def _open(each: Burning, why: str) -> Setting:
    source = Source(citation="no rate on file", kind="plan", where=f"line {each.asked.line}")
    return Setting(name=_name(each), unit="", source=source, text=f"measure each source alone first; {why}")


def _for_composition(
    step: Step, ctx: Context, burning: Sequence[Burning]
) -> tuple[list[Derivation] | None, str]:
    """Powers that give the composition; the first source with a power of the plan, or the strongest, leads."""
    fixed = [each for each in burning if each.gun.power is not None]
    if len(fixed) > 1:
        return None, "give the powers of all sources or of one"
    if any(len(each.atoms) != 1 or each.moles is None for each in burning):
        return None, "a target holds several metals, or its formula is not on file: give the powers"
    elements = [next(iter(each.atoms)) for each in burning]
    if len(set(elements)) != len(elements):
        return None, "two targets hold the same metal: give the powers"
    powers = [each.most for each in burning]
    for _ in range(_TURNS):
        rates = [_rate_at(step, ctx, each, power) for each, power in zip(burning, powers, strict=True)]
        if any(rate is None or not rate.value for rate in rates):
            return None, "measure the rate of each source alone"
        known = [rate for rate in rates if rate is not None]
        ratio = powers_for_composition(
            [
                step.composition[element] / each.atoms[element]
                for element, each in zip(elements, burning, strict=True)
            ],
            [rate.value / power for rate, power in zip(known, powers, strict=True)],
            [each.moles[0].value for each in burning if each.moles],
            [each.moles[1].value for each in burning if each.moles],
            1.0,
        )
        scale = min(each.most / part for each, part in zip(burning, ratio, strict=True) if part > 0)
        if fixed and fixed[0].gun.power is not None:
            scale = fixed[0].gun.power.value / ratio[fixed[0].place - 1]
        new = [scale * part for part in ratio]
        settled = all(abs(a - b) <= _SAME * a for a, b in zip(new, powers, strict=True))
        powers = new
        if settled:
            break
    lead = fixed[0] if fixed else min(burning, key=lambda each: each.most - powers[each.place - 1])
    return [_power(step, each, lead, elements, powers, known) for each in burning], ""


def _rate_at(step: Step, ctx: Context, each: Burning, power: float) -> SourceRate | None:
    at = chosen("P", "power", power, "W", "tried")
    return source_rate(step, ctx, replace(each.gun, power=at), each.place)


def _power(
    step: Step,
    each: Burning,
    lead: Burning,
    elements: Sequence[str],
    powers: Sequence[float],
    rates: Sequence[SourceRate],
) -> Derivation:
    """How the power of one source comes about from that of the source that leads."""
    most = chosen(
        "P_most", "power that it bears", each.most, "W", "the gun of the lab file, or a usual density"
    )
    if each is lead:
        return STRONGEST_SOURCE.derive(lambda most: most, {"most": most}, unit="W", notes=(_mode(each),))

    def arrival(which: Burning, suffix: str) -> dict[str, Input]:
        place = which.place - 1
        rate, element = rates[place], elements[place]
        density, mass = which.moles or (most, most)
        per_watt = Input(
            symbol=f"r{suffix}",
            name=f"rate of {which.asked.target} over its power",
            value=rate.value / powers[place],
            std=rate.derivation.std / powers[place],
            unit="nm/min/W",
            source=rate.derivation.law.source,
            evidence=rate.evidence,
        )
        wanted = f"the plan, line {step.line}"
        return {
            f"x{suffix}": chosen(
                f"x{suffix}", f"part of {element} wanted", step.composition[element], "%", wanted
            ),
            f"z{suffix}": chosen(
                f"z{suffix}", f"{element} in a formula unit", float(which.atoms[element]), "", "the formula"
            ),
            f"r{suffix}": per_watt,
            f"d{suffix}": replace(density, symbol=f"ρ{suffix}"),
            f"m{suffix}": replace(mass, symbol=f"M{suffix}"),
        }

    inputs = {
        "lead": chosen(
            "P_1", f"power of {lead.asked.target}", powers[lead.place - 1], "W", "the source that leads"
        ),
        **arrival(each, ""),
        **arrival(lead, "_1"),
    }

    def power(**g: float) -> float:
        own = g["x"] / (g["z"] * g["r"] * g["d"] / g["m"])
        first = g["x_1"] / (g["z_1"] * g["r_1"] * g["d_1"] / g["m_1"])
        return g["lead"] * own / first

    return POWER_FOR_PART.derive(power, inputs, unit="W", notes=(_mode(each),))


def _each(ctx: Context, burning: Sequence[Burning], rates: Sequence[SourceRate]) -> Iterator[Setting]:
    """What is to be said of each source by itself."""
    by_place = {rate.place: rate for rate in rates}
    for each in burning:
        density = power_density(each.gun)
        if density is not None:
            yield follows(f"power on {each.asked.target}", density)
        if each.place in by_place:
            yield follows(f"rate from {each.asked.target}", by_place[each.place].derivation)
        slowed = slowed_atoms(each.gun, ctx)
        if slowed is not None:
            yield follows(f"atoms of {each.asked.target} slowed down by the gas", slowed)


def _rate_inputs(burning: Sequence[Burning], rates: Sequence[SourceRate]) -> dict[str, Input]:
    return {
        f"rate_{each.place}": between(f"R_{each.place}", f"rate from {each.asked.target}", rate.derivation)
        for each, rate in zip(burning, rates, strict=True)
    }


def _whole(
    step: Step, ctx: Context, burning: Sequence[Burning], rates: Sequence[SourceRate]
) -> Derivation | None:
    """Rate of the film from those of its sources."""
    values = ctx.facts.material(step.material).values
    if "density" not in values or any(each.moles is None for each in burning):
        return None
    densities = {f"density_{each.place}": each.moles[0] for each in burning if each.moles}
    inputs = {
        **_rate_inputs(burning, rates),
        **densities,
        "film": Input.known("ρ", f"density of {step.material}", values["density"]),
    }
    places = tuple(each.place for each in burning)

    def rate(film: float, **given: float) -> float:
        return math.fsum(given[f"rate_{k}"] * given[f"density_{k}"] for k in places) / film

    terms = " + ".join(f"R_{k}·ρ_{k}" for k in places)
    return replace(FILM_OF_SOURCES, equation=f"R = ({terms}) / ρ").derive(rate, inputs, unit="nm/min")


def _belief(whole: Derivation, rates: Sequence[SourceRate]) -> Belief:
    lab = all(rate.measured for rate in rates)
    return Belief(
        value=whole.result or 0.0,
        std=whole.std,
        unit=whole.unit,
        source=Source(
            citation=f"sum of {len(rates)} sources",
            kind=("invented" if any(rate.invented for rate in rates) else "fitted")
            if lab
            else "common practice",
        ),
        evidence="; ".join(rate.evidence for rate in rates),
        reason="each source alone, added up by mass",
    )


def _part_law(own: Sequence[int], every: Sequence[int]) -> Law:
    """The law of a part with its sums written out, so that the numbers can be put in."""
    top, bottom = (" + ".join(f"z_{k}·R_{k}·ρ_{k}/M_{k}" for k in places) for places in (own, every))
    top = f"({top})" if len(own) > 1 else top
    return replace(PART_OF_FILM, equation=f"x = {top} / ({bottom})")


def _moles(burning: Sequence[Burning], rates: Sequence[SourceRate]) -> dict[str, Input]:
    inputs = _rate_inputs(burning, rates)
    for each in burning:
        if each.moles is not None:
            inputs |= {f"density_{each.place}": each.moles[0], f"mass_{each.place}": each.moles[1]}
    return inputs


def _part(element: str, burning: Sequence[Burning], given: Mapping[str, float]) -> float:
    """Part of an element by number."""
    arrivals = {
        each.place: given[f"rate_{each.place}"] * given[f"density_{each.place}"] / given[f"mass_{each.place}"]
        for each in burning
    }
    own = math.fsum(arrivals[each.place] * each.atoms.get(element, 0) for each in burning)
    return own / math.fsum(arrivals[each.place] * sum(each.atoms.values()) for each in burning)


def _part_of(element: str, burning: Sequence[Burning], **given: float) -> float:
    return _part(element, burning, given)


def _elements(burning: Sequence[Burning]) -> list[str]:
    if any(not each.atoms or each.moles is None for each in burning):
        return []
    return list(dict.fromkeys(element for each in burning for element in each.atoms))


def _parts(
    step: Step, ctx: Context, burning: Sequence[Burning], rates: Sequence[SourceRate]
) -> Iterator[Setting]:
    """Part of each metal in the film."""
    usual = ctx.facts.material(step.material).composition
    single = all(len(each.atoms) == 1 for each in burning)
    for element in _elements(burning):
        inputs = _moles(burning, rates)
        own = tuple(each.place for each in burning if element in each.atoms)
        if single:
            inputs |= {
                f"count_{each.place}": chosen(
                    f"z_{each.place}",
                    f"{next(iter(each.atoms))} in a formula unit",
                    float(sum(each.atoms.values())),
                    "",
                    "the formula",
                )
                for each in burning
            }
        notes = []
        if element in step.composition:
            notes.append(f"wanted by the plan: {write(step.composition[element], '%')}")
        if element in usual:
            value = usual[element]
            notes.append(
                f"{step.material} on file: {write(value.value, '%')} ({write(value.low, '%')} to {write(value.high, '%')})"
            )
        law = _part_law(own, tuple(each.place for each in burning))
        derived = law.derive(partial(_part_of, element, tuple(burning)), inputs, unit="%", notes=tuple(notes))
        yield follows(f"part of {element}", derived)


def _over_wafer(
    ctx: Context, burning: Sequence[Burning], rates: Sequence[SourceRate], film: Input
) -> Iterator[Setting]:
    """Thickness and composition in the middle and at the edge, where each source has a place of its own."""
    radius = ctx.flow.body.diameter / 2
    first: Placed = burning[0].gun.where
    turns = [2 * math.pi * k / _ROUND for k in range(_ROUND)] if first.motion == "at rest" else [0.0]
    spots = [(0.0, 0.0), *((radius, turn) for turn in turns)]
    told = _moles(burning, rates)
    values = {name: each.value for name, each in told.items()}
    means = [each.gun.where.shape(radius).share for each in burning]
    shares = [
        [
            arriving_share(
                far,
                each.gun.where.emitter(each.gun.where.values),
                each.gun.where.stage(each.gun.where.values),
                turn,
            )
            / mean
            for each, mean in zip(burning, means, strict=True)
        ]
        for far, turn in spots
    ]
    weights = [
        rate.value * (each.moles[0].value if each.moles else 1.0)
        for each, rate in zip(burning, rates, strict=True)
    ]
    thick = [math.fsum(w * s for w, s in zip(weights, spot, strict=True)) / sum(weights) for spot in shares]
    said = tuple(dict.fromkeys(note for each in burning for note in each.gun.where.said))
    edge = max(thick[1:], key=lambda ratio: abs(ratio - 1))
    for name, ratio in (("film in the middle", thick[0]), ("film at the edge", edge)):
        yield follows(
            name,
            FILM_AT_PLACE.derive(
                lambda film, there, mean: film * there / mean,
                {
                    "film": film,
                    "there": chosen("c_l", "all sources there, by mass", ratio, "", "geometry of the guns"),
                    "mean": chosen("c_mean", "mean over the wafer", 1.0, "", "geometry of the guns"),
                },
                unit="nm",
                notes=said,
            ),
        )
    elements = _elements(burning)
    if len(elements) < 2:
        return
    spans: dict[str, float] = {}
    for element in elements:
        parts = [
            _part(
                element,
                burning,
                values
                | {
                    f"rate_{each.place}": values[f"rate_{each.place}"] * s
                    for each, s in zip(burning, spot, strict=True)
                },
            )
            for spot in shares
        ]
        span = max(parts) - min(parts)
        spans[element] = span if span > _SAME else 0.0
    widest = max(spans, key=spans.__getitem__)
    derived = replace(
        PARTS_OVER_WAFER.derive(lambda: spans[widest], {}, unit="%"),
        notes=(f"of {widest}, the part that differs most", *said),
    )
    yield follows("composition over the wafer", derived)
