"""How the end of an etch shows while it goes on: laser light, a line of the plasma, colours for the eye."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from filmwright.emulate.look import colours_of_films
from filmwright.emulate.trace import EtchFigures, State, Trace
from filmwright.knowledge import Book, EmissionLine, emission_line, optical
from filmwright.process import illuminated, line_light, not_yet_clear, stacks
from filmwright.wafer import Column, Plan

Real = NDArray[np.float64]

_NORMAL_95 = 1.96
"""Standard deviations that enclose 95 % of a normal distribution on either side."""

_POINTS = 181
_BEYOND = 1.12
"""How far beyond the whole etch a trace is shown, over its time."""

STAGES = (1.0, 0.75, 0.5, 0.25, 0.0)
"""Parts of the film that is left at which its colour is told."""


@dataclass(frozen=True, kw_only=True)
class EndTrace:
    """What is seen while a film is etched.

    Attributes
    ----------
    material, medium : str
    time : array (n,) [s]
        From the start, a little beyond the whole etch.
    end, end_low, end_high : float [s]
        End point at the mean place, and its 95 % band.
    total : float [s]
        With the over-etch.
    first, last : float [s]
        When the first and when the last ring of the wafer is clear.
    reflectance : array (n,) or None
        Of laser light on a place that is cleared; None where the optics of a film are not known.
    wavelength : float [m]
        Of that laser.
    line : EmissionLine or None
        Of the plasma.
    light : array (n,) or None
        Of that line: a product over its light at first, a reactant over its light when all is clear. None without a line, or where
        nothing is known of the loading that makes a reactant rise.
    stages : tuple of (part left, hex, name)
        Colours of the place at 100, 75, 50, 25 and 0 % of the film; empty where the optics are not known.
    strip : tuple of (time [s], hex)
        The same, densely.
    """

    material: str
    medium: str
    time: Real
    end: float
    end_low: float
    end_high: float
    total: float
    first: float
    last: float
    wavelength: float
    reflectance: Real | None = None
    line: EmissionLine | None = None
    light: Real | None = None
    stages: tuple[tuple[float, str, str], ...] = ()
    strip: tuple[tuple[float, str], ...] = ()

    @property
    def colours(self) -> str:
        """The sequence of colours in words; empty where the optics are not known, or where nothing changes."""
        if not self.stages or len({name for _, _, name in self.stages}) == 1:
            return ""
        return ", ".join(f"{part:.0%} {name}" for part, _, name in self.stages)


def end_trace(state: State, before: Plan, facts: Book) -> EndTrace | None:
    """What is seen while the film of an etch goes; None where its rate is not known or none of it lies open.

    Parameters
    ----------
    state : State
        An etch.
    before : Plan
        The die before it.
    facts : Book
    """
    etch, column = state.etch, cleared_place(state.step.material, before)
    if etch is None or column is None or etch.end <= 0 or etch.total <= 0:
        return None
    medium = facts.medium(state.step.medium)
    line = emission_line(medium.families, state.step.material) if medium.kind == "plasma" else None
    time = np.linspace(0.0, max(etch.total, etch.end) * _BEYOND, _POINTS)
    clock, light = _rings(line, time, etch)
    spread = _NORMAL_95 * etch.end_std / etch.end
    laser = facts.models["end-point light"]["wavelength"].value
    columns = [_films(column, left) for left in _left(column, etch, time)]
    stages = [_films(column, column.top.thickness * part) for part in STAGES]
    colours = colours_of_films([*columns[:: _POINTS // 60], *stages])
    names = colours[-len(STAGES) :]
    known = all(each is not None for each in colours)
    return EndTrace(
        material=state.step.material,
        medium=medium.name,
        time=time,
        end=etch.end,
        end_low=etch.end * float(np.exp(-spread)),
        end_high=etch.end * float(np.exp(spread)),
        total=etch.total,
        first=clock((1 - etch.film_uneven) / (1 + etch.rate_uneven)),
        last=clock((1 + etch.film_uneven) / (1 - etch.rate_uneven)),
        wavelength=laser,
        reflectance=_reflectance(columns, laser),
        line=line,
        light=light,
        stages=tuple((part, *each) for part, each in zip(STAGES, names, strict=True) if each)
        if known
        else (),
        strip=tuple(
            (float(t), each[0]) for t, each in zip(time[:: _POINTS // 60], colours, strict=False) if each
        )
        if known
        else (),
    )


def end_traces(trace: Trace, facts: Book, only: Iterable[str] = ()) -> dict[str, EndTrace]:
    """What is seen at each etch of a walked flow, by the number of its step.

    Parameters
    ----------
    trace : Trace
    facts : Book
    only : iterable of str
        Numbers of the steps that are wanted; empty for all.
    """
    wanted, found = set(only), {}
    before = trace.start.plan
    for state in trace.states:
        if state.step.kind == "etch" and (not wanted or state.step.number in wanted):
            seen = end_trace(state, before, facts)
            if seen is not None:
                found[state.step.number] = seen
        before = state.wafer.plan
    return found


def cleared_place(material: str, before: Plan) -> Column | None:
    """The column with the thickest uncovered film of a material: what is watched."""
    return max(
        (each for each in before.columns if each.top.material == material),
        key=lambda each: each.top.thickness,
        default=None,
    )


def _left(column: Column, etch: EtchFigures, time: Real) -> list[tuple[float, float]]:
    """What is left of the film and of the one beneath it, at each time."""
    layers = column.layers
    below = layers[-2].material if len(layers) > 1 else ""
    rate = etch.beneath.get(below, 0.0)
    depth = column.top.thickness
    found = []
    for t in time:
        top = depth * (1 - t / etch.end)
        under = layers[-2].thickness - max(t - etch.end, 0.0) * rate if below else 0.0
        found.append((max(top, 0.0), max(under, 0.0)))
    return found


def _films(column: Column, left: float | tuple[float, float]) -> tuple[tuple[str, float], ...]:
    """A column from the top with so much of its uppermost films left."""
    top, under = left if isinstance(left, tuple) else (left, column.layers[-2].thickness)
    layers = [(each.material, each.thickness) for each in reversed(column.layers)]
    layers[0] = (layers[0][0], top)
    if len(layers) > 2:  # the body itself is not thinned: it is no film
        layers[1] = (layers[1][0], under)
    return tuple((material, depth) for material, depth in layers if depth > 0)


def _reflectance(columns: Sequence[tuple[tuple[str, float], ...]], wavelength: float) -> Real | None:
    constants = {material: optical(material) for column in columns for material, _ in column}
    if any(each is None for each in constants.values()):
        return None
    waves = np.array([wavelength])
    index = {name: each.index(waves) for name, each in constants.items() if each is not None}
    return np.asarray(illuminated(stacks(waves, list(columns), index)).reflectance[:, 0], dtype=float)


def _rings(
    line: EmissionLine | None, time: Real, etch: EtchFigures
) -> tuple[Callable[[float], float], Real | None]:
    """Real time [s] at which a ring clears whose moment is given over that of the mean place, and the light of a line.

    A reactant whose loading is not on file has no height that is known.
    """
    chip = etch.depth / etch.rate
    moment = np.linspace(0.0, max(float(time[-1]) / chip, 1.0) + 1.0, 20 * _POINTS)
    open_left = etch.open_share * not_yet_clear(moment, etch.film_uneven, etch.rate_uneven)
    rises = line is not None and line.end == "rises"
    real, light = line_light(moment * chip, open_left, etch.loading, rises=rises)

    def clock(at: float) -> float:
        return float(np.interp(at, moment, real))

    if line is None or (rises and not etch.loading):
        return clock, None
    return clock, np.interp(time, real, light)
