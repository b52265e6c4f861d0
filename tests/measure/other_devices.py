"""Devices for an independent count of intervals: other models, ranges, steps and streams than those the errors were tuned on.

Every curve has its own parameters, drawn at random, and its own noise. Two streams of numbers: ``LOOKED_AT``, by whose figures
errors may be corrected, and ``KEPT``, which is for the figures that are told and for the test.
"""

from __future__ import annotations

import functools
import itertools
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from filmwright import units
from filmwright.device import ChargeTable, FilmStates, FilmTransistor, GatedFilm, charge_table, film_current
from filmwright.measure import Geometry, Sweep, extract_many

LOOKED_AT, KEPT = 261126, 550831
GEOMETRY = Geometry(
    width=units.to_si(80, "um"), length=units.to_si(20, "um"), areal_capacitance=units.to_si(35, "nF/cm^2")
)
BETA = units.to_si(8, "cm^2/(V*s)") * GEOMETRY.areal_capacitance * 4.0  # type: ignore[operator]
POINTS, SHARES, FLOORS = (51, 101, 201, 401), (0.003, 0.01, 0.03), (2e-13, 5e-12, 1e-10)
SHIFT = 0.35
WHATEVER_HIDES = ("mean_subthreshold_swing", "onset_voltage", "average_mobility")
"""Read from the floor on, so compared where the floor hides nothing: the true off level is five floors or more."""


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """One device's curve without noise.

    Attributes
    ----------
    gate : array (n_points,) [V]
    current : function of a shift of the threshold [V] to an array (n_points,) [A]
    threshold : float [V]
        Of the model.
    """

    gate: np.ndarray
    current: Callable[[float], np.ndarray]
    threshold: float


def _soft(over: np.ndarray, soft: float) -> np.ndarray:
    """Overdrive that falls off exponentially below threshold: ``soft`` volts for a factor e."""
    return np.asarray(soft * np.logaddexp(0.0, over / soft))


def _between(soft: float, power: float, over: np.ndarray, drain: float) -> np.ndarray:
    """A gradual channel whose charge follows the soft overdrive: its power at the source less that at the drain."""
    return np.asarray((_soft(over, soft) ** power - _soft(over - drain, soft) ** power) / power)


def attenuated(random: np.random.Generator, gate: np.ndarray, drain: float) -> Drawn:
    """Square law whose mobility falls as 1/(1 + θ·overdrive)."""
    threshold, soft, theta = random.uniform(0.5, 3.0), random.uniform(0.2, 0.45), random.uniform(0.01, 0.08)

    def current(shift: float) -> np.ndarray:
        over = gate - threshold - shift
        return BETA * _between(soft, 2.0, over, drain) / (1.0 + theta * _soft(over, soft))

    return Drawn(gate=gate, current=current, threshold=threshold)


def rising(random: np.random.Generator, gate: np.ndarray, drain: float) -> Drawn:
    """Mobility as a power of the overdrive, as disorder makes it."""
    threshold, soft, power = random.uniform(0.0, 2.0), random.uniform(0.25, 0.6), random.uniform(2.2, 3.2)

    def current(shift: float) -> np.ndarray:
        return BETA * 0.3 * _between(soft, power, gate - threshold - shift, drain)

    return Drawn(gate=gate, current=current, threshold=threshold)


def held_by_contacts(random: np.random.Generator, gate: np.ndarray, drain: float) -> Drawn:
    """Square law in series with contacts that take a good part of the drain voltage."""
    threshold, soft, part = random.uniform(0.5, 3.0), random.uniform(0.2, 0.45), random.uniform(0.02, 0.15)

    def current(shift: float) -> np.ndarray:
        over = gate - threshold - shift
        channel = BETA * _between(soft, 2.0, over, drain)
        return channel / (1.0 + part * _soft(over, soft))

    return Drawn(gate=gate, current=current, threshold=threshold)


def levelling(random: np.random.Generator, gate: np.ndarray, drain: float) -> Drawn:
    """Exponential below, level above: a logistic step, whose transconductance has a peak inside the sweep."""
    span = gate[-1] - gate[0]
    threshold, breadth = gate[0] + span * random.uniform(0.4, 0.55), span * random.uniform(0.02, 0.06)
    most = BETA * min(drain, 5.0) * 5.0

    def current(shift: float) -> np.ndarray:
        return np.asarray(most * (1.0 + np.tanh((gate - threshold - shift) / breadth / 2.0)) / 2.0)

    return Drawn(gate=gate, current=current, threshold=threshold)


@functools.cache
def _film(tails: float, density: float) -> tuple[GatedFilm, ChargeTable]:
    states = FilmStates(
        permittivity=8.5,
        density_of_states=4e24,
        donors=1e22,
        tail_density=density,
        tail_energy=tails,
    )
    made = GatedFilm(
        states=states,
        thickness=units.to_si(25, "nm"),
        areal_capacitance=GEOMETRY.areal_capacitance,  # type: ignore[arg-type]
    )
    return made, charge_table(made, -60.0, 40.0)


def film(random: np.random.Generator, gate: np.ndarray, drain: float) -> Drawn:
    """Poisson's equation across a film with tail states, gradual channel."""
    made, table = _film(*((0.05, 5e24), (0.05, 2e25), (0.07, 5e24))[random.integers(3)])
    offset = random.uniform(0.0, 2.0)
    device = FilmTransistor(
        width=GEOMETRY.width,  # type: ignore[arg-type]
        length=GEOMETRY.length,  # type: ignore[arg-type]
        film=made,
        offset=offset,
        mobility=units.to_si(12, "cm^2/(V*s)"),
    )

    def current(shift: float) -> np.ndarray:
        return np.asarray(film_current(device, gate - shift, np.full(gate.size, drain), table))

    return Drawn(gate=gate, current=current, threshold=offset)


MODELS: dict[str, Callable[[np.random.Generator, np.ndarray, float], Drawn]] = {
    "film with tails": film,
    "falling mobility": attenuated,
    "rising mobility": rising,
    "contacts": held_by_contacts,
    "levelling off": levelling,
}


@dataclass(frozen=True, kw_only=True)
class Kind:
    """One kind of curve."""

    model: str
    points: int
    share: float
    floor: float
    drain: float
    sign: float
    number: int


@dataclass(frozen=True, kw_only=True)
class Count:
    """Repeats of one device: errors of one parameter in units of what was stated, and values beside the truth."""

    name: str
    kind: Kind
    error: np.ndarray
    value: np.ndarray
    truth: float
    threshold: float
    drawn: int


def kinds() -> Iterator[Kind]:
    """All kinds; the type alternates, the drain voltages and ranges follow from the number."""
    every = itertools.product(MODELS, POINTS, SHARES, FLOORS, (0, 1))
    for number, (model, points, share, floor, high) in enumerate(every):
        yield Kind(
            model=model,
            points=points,
            share=share,
            floor=floor,
            drain=(0.2, 0.5)[number // 2 % 2] if not high else (25.0, 40.0)[number // 2 % 2],
            sign=-1.0 if (number // 3) % 2 else 1.0,
            number=number,
        )


RANGES = ((-8.0, 24.0), (-4.0, 14.0), (-12.0, 30.0))


def _sweep(kind: Kind, drawn: Drawn, rows: tuple[np.ndarray, np.ndarray], pair: int, back: bool) -> Sweep:
    order = slice(None) if kind.sign > 0 else slice(None, None, -1)
    current, leak = rows
    return Sweep(
        gate_voltage=kind.sign * drawn.gate[order],
        drain_current=kind.sign * current[order],
        gate_current=kind.sign * leak[order],
        drain_voltage=kind.sign * kind.drain,
        rising=(kind.sign > 0) != back,
        pair=pair,
        file=f"device {pair}",
    )


def held(counts: Iterable[Count]) -> tuple[float, int]:
    """Share of 95 % intervals that hold the truth, and how many there were."""
    errors = np.concatenate([each.error for each in counts])
    return float(np.mean(np.abs(errors) <= 1.96)), len(errors)


def worst(counts: Iterable[Count]) -> tuple[float, Count]:
    """Lowest share of the devices of one kind, and one of them."""
    by_kind: dict[int, list[Count]] = {}
    for each in counts:
        by_kind.setdefault(each.kind.number, []).append(each)
    lowest = min(by_kind.values(), key=lambda each: held(each)[0])
    return held(lowest)[0], lowest[0]


def digits(counts: Iterable[Count]) -> tuple[float, float]:
    """−log₁₀ of the relative error of values at the lowest noise (median), and of stated errors beside the scatter of repeats."""
    kept = list(counts)
    quiet = [each for each in kept if each.kind.share == SHARES[0]] or kept
    off = np.concatenate([np.abs(each.value / each.truth - 1.0) for each in quiet])
    stated = [np.median(np.abs((each.value - each.truth) / each.error)) for each in kept]
    found = [1.4826 * np.median(np.abs(each.value - np.median(each.value))) for each in kept]
    ratio = np.median(np.array(found) / np.array(stated))
    return tuple(float(-np.log10(max(each, 1e-3))) for each in (np.median(off), abs(ratio - 1.0)))  # type: ignore[return-value]


def count(kind: Kind, stream: int, devices: int, repeats: int) -> list[Count]:
    """So many devices of a kind, each measured so often in both directions, beside the same without noise."""
    random = np.random.default_rng([stream, kind.number])
    drawn, true, noisy = [], [], []
    for device in range(devices):
        first, last = RANGES[(kind.number + device) % 3]
        first += random.uniform(-0.5, 0.5)
        grid = first + (last - first) / (kind.points - 1) * np.arange(kind.points)
        one = MODELS[kind.model](random, grid, kind.drain)
        drawn.append(one)
        off, volts = 10.0 ** random.uniform(-12.0, -10.5), np.abs(grid - first)
        leak = off / 20.0 + off * volts / 60.0
        for at, shift in enumerate((0.0, SHIFT)):
            clean = one.current(shift) + off
            quiet = 1e-3 * kind.floor * random.standard_normal((2, grid.size))
            true.append(_sweep(kind, one, (clean + quiet[0], leak + quiet[1]), device, at == 1))
            for repeat in range(repeats):
                z = random.standard_normal((4, grid.size))
                current = clean * (1.0 + kind.share * z[0]) + kind.floor * z[1]
                gate_current = leak * (1.0 + kind.share * z[2]) + 0.2 * kind.floor * z[3]
                pair = devices + device * repeats + repeat
                noisy.append(_sweep(kind, one, (current, gate_current), pair, at == 1))
    exact, found = extract_many(true, GEOMETRY, 1), extract_many(noisy, GEOMETRY, 1)
    told = []
    names = [name for name in found.curve(0).parameters if name != "threshold_voltage"]
    off_levels = exact.values("on_off_ratio")[0]
    for name in names:
        values, truths = found.values(name), exact.values(name)
        for device in range(devices):
            at = 2 * device
            truth, stands = truths[0][at], truths[2][at]
            mine = slice(2 * repeats * device, 2 * repeats * device + repeats)
            value, std, valid = (each[mine] for each in values)
            hidden = (
                name in WHATEVER_HIDES
                and drawn[device].current(0.0).max() / off_levels[at] < 5.0 * kind.floor
            )
            good = valid & np.isfinite(std) & (std > 0)
            if stands and not hidden and good.sum() >= repeats / 2:
                told.append(
                    Count(
                        name=name,
                        kind=kind,
                        error=(value[good] - truth) / std[good],
                        value=value[good],
                        truth=truth,
                        threshold=kind.sign * drawn[device].threshold,
                        drawn=repeats,
                    )
                )
    return told
