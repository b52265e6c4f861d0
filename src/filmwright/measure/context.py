"""What is read off a batch of curves once and used by every topic. Curves are n-type: low currents first."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from filmwright.measure.leak import Leak, read_leak
from filmwright.measure.readings import (
    Flags,
    Index,
    Levels,
    Swings,
    clear_to_the_end,
    read_levels,
    read_swings,
)
from filmwright.measure.results import Bound
from filmwright.measure.smoothing import Array, Noise, or_else, read_noise
from filmwright.measure.tangents import Tangents, steepest
from filmwright.numerics import CurveNoise

SQUARE_CURRENT = 1e-8
"""Constant-current criterion of a square channel [A]: 10 nA, the commonest of the customary ones."""

LEAKY = 0.1
"""Share of the gate current in the drain current from which the drain current is no channel current."""

NO_CONTROL = 10.0
"""On over off below which the gate does not control the current."""


@dataclass(frozen=True, kw_only=True)
class Column:
    """One parameter of every curve of a batch.

    Attributes
    ----------
    value, std : array (n_curves,) [SI]
        NaN where nothing can be said.
    low, high : array (n_curves,) [V]
        The window, in n-type signs.
    unit, method : str
    refusals : mapping from key of WHYS to array of bool
        In order of weight.
    bound : "", "at least" or "at most"
        What the value is where it is refused for the floor.
    volts : bool
        The value is a gate voltage and changes sign with the type.
    numbers : mapping from word of a reason to array (n_curves,)
        What the reasons of this parameter quote beside the numbers that all may quote.
    """

    value: Array
    std: Array
    low: Array
    high: Array
    unit: str
    method: str
    refusals: Mapping[str, Flags] = field(default_factory=dict)
    bound: Bound = ""
    volts: bool = False
    numbers: Mapping[str, Array] = field(default_factory=dict)

    @functools.cached_property
    def valid(self) -> Flags:
        """Which values stand."""
        good: Flags = np.isfinite(self.value)
        for refused in self.refusals.values():
            good = good & ~refused
        return good


@dataclass(frozen=True, kw_only=True)
class Known:
    """What is known beside the curves, arrays (n_curves,); NaN where not known.

    Attributes
    ----------
    drain_voltage : array [V]
        In n-type signs.
    width, length : array [m]
    areal_capacitance : array [F/m²]
    contact_resistance, contact_resistance_std : array [Ω·m]
        Of one contact, normalised by the width (R·W).
    temperature : array [K]
    ionic : array of bool
        The gate is ionic, by statement or by evidence.
    instrument_floor : array [A]
        Shown by other sweeps of the same file; 0 where not.
    held_at : array [A]
        Largest current that the instrument could give or read; NaN where it was not reached.
    targets : array (n_curves, n_levels) [A]
        Currents at which the gate voltage is wanted, for the comparison of directions; NaN where not.
    """

    drain_voltage: Array
    width: Array
    length: Array
    areal_capacitance: Array
    contact_resistance: Array
    contact_resistance_std: Array
    temperature: Array
    ionic: Flags
    instrument_floor: Array
    held_at: Array
    targets: Array


@dataclass(frozen=True, kw_only=True)
class Context:
    """Curves on one grid with everything that is read off them once.

    Attributes
    ----------
    grid : array (n_points,) [V]
        Rising.
    curves, gate_currents : array (n_curves, n_points) [A]
        Gate currents are NaN where not measured.
    known : Known
    noise : Noise
    points : CurveNoise
        Variance of each point [A²]; NaN where not known.
    levels : Levels
    linear, root : Tangents
        To the current and to its square root, each at its steepest place.
    swings : Swings
    leak : Leak
    numbers : mapping from word to array (n_curves,)
        What reasons and classes quote.
    classes : mapping from class to array of bool
        Filled after the rest.
    """

    grid: Array
    curves: Array
    gate_currents: Array
    known: Known
    noise: Noise
    points: CurveNoise
    levels: Levels
    linear: Tangents
    root: Tangents
    swings: Swings
    leak: Leak
    numbers: Mapping[str, Array] = field(default_factory=dict)
    classes: Mapping[str, Flags] = field(default_factory=dict)

    @functools.cached_property
    def clear_from(self) -> Index:
        """Place from which on each curve stands clear of its floor and of the gate current up to the end of the sweep."""
        return clear_to_the_end(np.asarray(self.curves > self.levels.clear_of))

    @property
    def common(self) -> dict[str, Flags]:
        """What refuses every parameter of the channel."""
        return {
            "dead": self.classes["dead"],
            "no control": np.asarray(self.numbers["ratio"] < NO_CONTROL),
            "leaky": np.asarray(self.numbers["share"] >= 100 * LEAKY),
        }


def read_context(grid: Array, curves: Array, gate_currents: Array, known: Known) -> Context:
    """Noise, levels, tangents and swings of curves, and the numbers that follow; classes are still empty."""
    noise = read_noise(grid, curves)
    points = noise.of_points(curves)
    leak = read_leak(grid, gate_currents)
    levels = read_levels(grid, curves, leak.size, (noise, points), known.instrument_floor)
    context = Context(
        grid=grid,
        curves=curves,
        gate_currents=gate_currents,
        known=known,
        noise=noise,
        points=points,
        levels=levels,
        linear=steepest(grid, curves, points),
        root=steepest(grid, np.sqrt(np.maximum(curves, 0.0)), _noise_of_root(curves, points)),
        leak=leak,
        swings=read_swings(grid, curves, levels.clear_of, points),
    )
    return replace(context, numbers=_numbers(context))


def _noise_of_root(curves: Array, points: CurveNoise) -> CurveNoise:
    """Noise of the square root of the current: the variance over 4·I, held where the current drowns in it."""
    scale = 1.0 / np.maximum(4.0 * curves, np.sqrt(points.variance))
    return CurveNoise(
        variance=points.variance * scale, floor_part=points.floor_part * scale, freedom=points.freedom
    )


def _numbers(context: Context) -> dict[str, Array]:
    grid, curves, gate_currents, known = context.grid, context.curves, context.gate_currents, context.known
    noise, levels, linear, root = context.noise, context.levels, context.linear, context.root
    saturated = known.drain_voltage >= root.gate_voltage - root.intercept
    threshold = np.where(saturated, root.intercept, linear.intercept)
    rows, top = np.arange(len(curves)), np.argmax(curves, axis=1)
    leak = np.abs(gate_currents[rows, top])
    at_threshold = interpolated(grid, curves, threshold)
    with np.errstate(divide="ignore", invalid="ignore"):
        room = np.log10(np.maximum(at_threshold, np.finfo(float).tiny) / levels.usable)
        return {
            "on": levels.on,
            "off": levels.off,
            "floor": np.where(levels.floor_limited, np.maximum(levels.off, or_else(noise.floor)), levels.off),
            "ratio": levels.on / levels.off,
            "share": 100.0 * leak / levels.on,
            "leak": leak,
            "drain": known.drain_voltage,
            "over": linear.gate_voltage - linear.intercept,
            "over_root": root.gate_voltage - root.intercept,
            "threshold": threshold,
            "criterion": known.width / known.length * SQUARE_CURRENT,
            "room": np.maximum(room, 0.0),
            "span": context.swings.span,
            "end": np.full(len(curves), grid[-1]),
            "zero": interpolated(grid, curves, np.zeros(len(curves))),
            "held": known.held_at,
        }


def interpolated(grid: Array, curves: Array, volts: Array) -> Array:
    """Each curve (n_curves, n_points) at its own gate voltage, held at the ends."""
    held = np.clip(or_else(volts, grid[0]), grid[0], grid[-1])
    place = np.clip(np.searchsorted(grid, held) - 1, 0, len(grid) - 2)
    rows = np.arange(len(curves))
    part = (held - grid[place]) / (grid[place + 1] - grid[place])
    result: Array = curves[rows, place] * (1 - part) + curves[rows, place + 1] * part
    return result


def slope_refusals(tangents: Tangents) -> dict[str, Flags]:
    """What refuses a parameter that is read off a tangent."""
    with np.errstate(invalid="ignore"):
        return {"edge": ~(tangents.slope > 0), "noisy": tangents.slope_std > tangents.slope / 3.0}
