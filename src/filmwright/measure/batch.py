"""All parameters of many curves on the same gate voltages at once. Curves are n-type: low currents first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from filmwright import device
from filmwright.measure.readings import Flags, Levels, Swings, crossings, read_levels, read_swings
from filmwright.measure.results import Bound
from filmwright.measure.smoothing import FEWEST_FOR_NOISE, Array, Noise, read_noise, third_differences
from filmwright.measure.tangents import Tangents, steepest

SQUARE_CURRENT = 1e-8
"""Constant-current criterion of a square channel [A]: 10 nA, the commonest of the customary ones."""

LEAKY = 0.1
"""Share of the gate current in the drain current from which the drain current is no channel current."""

LEAK_SHOWN = 0.01
"""… and from which the leakage is worth a warning."""

NO_CONTROL = 10.0
"""On over off below which the gate does not control the current."""

NEVER_OFF = 100.0
"""… and below which the device is called never off, if the off current stands clear of the floor."""

UNPHYSICAL_MOBILITY = 1.0
"""Apparent mobility [m²/(V·s)] above which no film or silicon channel at room temperature goes."""

WHYS = {
    "dead": "dead: the drain current ({on:.2g} A) never stands clear of the floor ({floor:.2g} A)",
    "no control": "the gate does not control the current: largest over smallest is {ratio:.3g}",
    "leaky": "leaky gate: {leak:.2g} A flow through the gate at {on:.2g} A through the drain",
    "noisy": "the slope is not told from the noise",
    "edge": "the curve falls towards the on side: no tangent with a rising slope",
    "no drain voltage": "the drain voltage is not known, so neither is the region",
    "not linear": "VD {drain:.3g} V is not below the overdrive {over:.3g} V at the tangent: not linear",
    "not saturated": "VD {drain:.3g} V is below the overdrive {over_root:.3g} V there: not saturated",
    "geometry": "not known: {missing}",
    "size": "not known: W or L",
    "not crossed": "the curve does not cross {criterion:.3g} A",
    "floor": "{criterion:.3g} A does not stand clear of the floor",
    "ionic": "the gate is ionic ({ionic}): its charge is not areal capacitance times voltage",
    "unphysical": "the apparent mobility is beyond any channel: W, L, capacitance or gate are not as stated",
    "floor-limited": "the floor of the instrument ({floor:.2g} A) hides the off current: a bound only",
    "few decades": "only {room:.2g} decades lie between floor and threshold: the swing is at most this",
    "coarse": "the gate step is too coarse for the swing ({span:.2g} decades in three points): at most this",
    "no decade": "no three points stand clear of the floor below the threshold",
    "below limit": "below kT/q·ln10: an error of units or a leakage",
    "never off": "the current falls too little to leave an off level (largest over smallest {ratio:.3g})",
    "no gate current": "no gate current was measured",
    "one direction": "the gate was swept in one direction only",
}
"""Every reason for which a parameter is refused; filled with the numbers of the curve."""


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

    @property
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
    temperature : array [K]
    ionic : array of bool
        The gate is ionic, by statement or by evidence.
    instrument_floor : array [A]
        Shown by other sweeps of the same file; 0 where not.
    """

    drain_voltage: Array
    width: Array
    length: Array
    areal_capacitance: Array
    temperature: Array
    ionic: Flags
    instrument_floor: Array


@dataclass(frozen=True, kw_only=True)
class Batch:
    """Parameters of curves on one grid.

    Attributes
    ----------
    columns : mapping from name to Column
    numbers : mapping from name to array (n_curves,)
        What the reasons and the classes quote.
    classes : mapping from class to array of bool
    """

    columns: Mapping[str, Column]
    numbers: Mapping[str, Array]
    classes: Mapping[str, Flags]


def extract_batch(grid: Array, curves: Array, gate_currents: Array, known: Known) -> Batch:
    """All parameters with errors of curves on the same gate voltages; what cannot be computed is NaN, and
    refused.

    Parameters
    ----------
    grid : array (n_points,) [V]
        Rising.
    curves : array (n_curves, n_points) [A]
    gate_currents : array (n_curves, n_points) [A]
        NaN where not measured.
    known : Known

    Returns
    -------
    Batch
    """
    with np.errstate(all="ignore"):
        return _extract(grid, curves, gate_currents, known)


def _extract(grid: Array, curves: Array, gate_currents: Array, known: Known) -> Batch:
    noise = read_noise(grid, curves)
    variance = noise.variance(curves)
    levels = read_levels(curves, noise, known.instrument_floor)
    linear = steepest(grid, curves, variance)
    root = np.sqrt(np.maximum(curves, 0.0))
    root_variance = variance / np.maximum(4.0 * curves, np.sqrt(variance))
    root_tangent = steepest(grid, root, root_variance)
    swings = read_swings(grid, curves, levels.usable, noise)
    numbers = _numbers(grid, curves, gate_currents, known, (noise, levels, linear, root_tangent, swings))
    classes = _classes(grid, curves, levels, linear, numbers)
    common = {
        "dead": classes["dead"],
        "no control": numbers["ratio"] < NO_CONTROL,
        "leaky": numbers["share"] >= 100 * LEAKY,
    }
    columns = {
        **_thresholds(linear, root_tangent, known, common, numbers),
        **_constant_current(grid, curves, noise, levels, known, common, numbers),
        **_mobilities(linear, root_tangent, known, common, numbers),
        **_below_threshold(grid, levels, swings, known, classes, numbers),
        **_leakage(grid, gate_currents),
    }
    return Batch(columns=columns, numbers=numbers, classes=classes)


def _numbers(
    grid: Array,
    curves: Array,
    gate_currents: Array,
    known: Known,
    read: tuple[Noise, Levels, Tangents, Tangents, Swings],
) -> dict[str, Array]:
    noise, levels, linear, root, swings = read
    saturated = known.drain_voltage >= root.gate_voltage - root.intercept
    threshold = np.where(saturated, root.intercept, linear.intercept)
    rows, top = np.arange(len(curves)), np.argmax(curves, axis=1)
    leak = np.abs(gate_currents[rows, top])
    at_threshold = _interpolated(grid, curves, threshold)
    with np.errstate(divide="ignore", invalid="ignore"):
        room = np.log10(np.maximum(at_threshold, np.finfo(float).tiny) / levels.usable)
        return {
            "on": levels.on,
            "off": levels.off,
            "floor": np.where(
                levels.floor_limited, np.maximum(levels.off, np.nan_to_num(noise.floor)), levels.off
            ),
            "ratio": levels.on / levels.off,
            "share": 100.0 * leak / levels.on,
            "leak": leak,
            "drain": known.drain_voltage,
            "over": linear.gate_voltage - linear.intercept,
            "over_root": root.gate_voltage - root.intercept,
            "threshold": threshold,
            "criterion": known.width / known.length * SQUARE_CURRENT,
            "room": np.maximum(room, 0.0),
            "span": swings.span,
            "end": np.full(len(curves), grid[-1]),
            "zero": _interpolated(grid, curves, np.zeros(len(curves))),
        }


def _interpolated(grid: Array, curves: Array, volts: Array) -> Array:
    """Each curve at its own gate voltage, held at the ends."""
    held = np.clip(np.nan_to_num(volts, nan=grid[0]), grid[0], grid[-1])
    place = np.clip(np.searchsorted(grid, held) - 1, 0, len(grid) - 2)
    rows = np.arange(len(curves))
    part = (held - grid[place]) / (grid[place + 1] - grid[place])
    result: Array = curves[rows, place] * (1 - part) + curves[rows, place + 1] * part
    return result


def _classes(
    grid: Array, curves: Array, levels: Levels, linear: Tangents, numbers: Mapping[str, Array]
) -> dict[str, Flags]:
    swept = grid[-1] - grid[0]
    scatter = np.full(len(curves), 0.0)
    if len(grid) >= FEWEST_FOR_NOISE:
        scatter = np.sqrt(np.mean(third_differences(grid, curves) ** 2, axis=1))
    silent = np.abs(np.mean(curves, axis=1)) < 2.0 * scatter
    dead = ((numbers["ratio"] < NO_CONTROL) & silent) | (levels.on <= np.finfo(float).tiny)
    flat = ~dead & (numbers["ratio"] < NO_CONTROL)
    limit = levels.on * (1 - 5e-4)
    run = np.cumprod((curves >= limit[:, None])[:, ::-1], axis=1).sum(axis=1)
    before = np.maximum(curves.shape[1] - run - 1, 1)
    rows = np.arange(len(curves))
    rising = (curves[rows, before] - curves[rows, before - 1]) / (grid[before] - grid[before - 1])
    start = np.abs(curves[:, 0])
    alive = ~dead & ~flat
    return {
        "dead": dead,
        "no gate control (shorted or open gate)": flat,
        "never off": alive & (numbers["ratio"] < NEVER_OFF) & ~levels.floor_limited,
        "never on": alive & (numbers["threshold"] > grid[-1] - 0.05 * swept),
        "leaky gate": (numbers["share"] >= 100 * LEAK_SHOWN) & (~dead | (numbers["leak"] > 100 * levels.on)),
        "floor-limited": alive & levels.floor_limited,
        "clipped at compliance": alive & (run >= 3) & (rising > 0.3 * linear.slope),
        "depletion mode": alive & (grid[0] < 0) & (numbers["zero"] > 0.1 * levels.on),
        "ambipolar": alive & (start > 0.02 * levels.on) & (start > 10 * levels.off) & (start > levels.usable),
    }


def _thresholds(
    linear: Tangents,
    root: Tangents,
    known: Known,
    common: Mapping[str, Flags],
    numbers: Mapping[str, Array],
) -> dict[str, Column]:
    unknown = ~np.isfinite(known.drain_voltage)
    smoothing = "smoothed by a parabola over a window chosen from the noise"
    refusals = {
        **common,
        **_slope_refusals(linear),
        "no drain voltage": unknown,
        "not linear": known.drain_voltage >= numbers["over"],
    }
    root_refusals = {
        **common,
        **_slope_refusals(root),
        "no drain voltage": unknown,
        "not saturated": known.drain_voltage < numbers["over_root"],
    }
    base = {"low": linear.low, "high": linear.high, "unit": "V", "volts": True}
    return {
        "threshold_voltage_linear": Column(
            value=linear.intercept,
            std=linear.intercept_std,
            method=f"tangent at the largest transconductance, to zero current, without V_D/2; {smoothing}",
            refusals=refusals,
            **base,  # type: ignore[arg-type]
        ),
        "threshold_voltage_linear_less_half_drain": Column(
            value=linear.intercept - known.drain_voltage / 2.0,
            std=linear.intercept_std,
            method=f"tangent at the largest transconductance, to zero current, less V_D/2; {smoothing}",
            refusals=refusals,
            **base,  # type: ignore[arg-type]
        ),
        "threshold_voltage_saturation": Column(
            value=root.intercept,
            std=root.intercept_std,
            low=root.low,
            high=root.high,
            unit="V",
            method=f"tangent at the steepest place of the root of the current, to zero; {smoothing}",
            refusals=root_refusals,
            volts=True,
        ),
        "transconductance_max": Column(
            value=linear.slope,
            std=linear.slope_std,
            low=linear.low,
            high=linear.high,
            unit="A/V",
            method=f"largest dI_D/dV_G; {smoothing}",
            refusals={"dead": common["dead"], **_slope_refusals(linear)},
        ),
    }


def _slope_refusals(tangents: Tangents) -> dict[str, Flags]:
    with np.errstate(invalid="ignore"):
        return {"edge": ~(tangents.slope > 0), "noisy": tangents.slope_std > tangents.slope / 3.0}


def _constant_current(
    grid: Array,
    curves: Array,
    noise: Noise,
    levels: Levels,
    known: Known,
    common: Mapping[str, Flags],
    numbers: Mapping[str, Array],
) -> dict[str, Column]:
    criterion = numbers["criterion"]
    volts, std = crossings(grid, curves, np.where(np.isfinite(criterion), criterion, np.inf), noise)
    return {
        "threshold_voltage_constant_current": Column(
            value=volts,
            std=std,
            low=volts,
            high=volts,
            unit="V",
            method="gate voltage at I_D = (W/L)·10 nA, interpolated in the logarithm",
            refusals={
                **common,
                "size": ~np.isfinite(criterion),
                "not crossed": np.isfinite(criterion) & ~np.isfinite(volts),
                "floor": criterion < levels.usable,
            },
            volts=True,
        )
    }


def _mobilities(
    linear: Tangents,
    root: Tangents,
    known: Known,
    common: Mapping[str, Flags],
    numbers: Mapping[str, Array],
) -> dict[str, Column]:
    incomplete = ~np.isfinite(known.width * known.length * known.areal_capacitance)
    width, length, areal = (
        np.where(incomplete, 1.0, each) for each in (known.width, known.length, known.areal_capacitance)
    )
    biased = known.drain_voltage > 0
    drain = np.where(biased, known.drain_voltage, 1.0)
    field_effect = device.linear_mobility(linear.slope, width, length, areal, drain)
    field_effect = np.where(incomplete | ~biased, np.nan, field_effect)
    saturated = device.saturation_mobility(root.slope, width, length, areal)
    saturated = np.where(incomplete, np.nan, saturated)
    known_first = {**common, "geometry": incomplete, "ionic": known.ionic}
    return {
        "field_effect_mobility": Column(
            value=field_effect,
            std=field_effect * linear.slope_std / linear.slope,
            low=linear.low,
            high=linear.high,
            unit="cm^2/(V*s)",
            method="g_m·L/(W·C·V_D) at the largest transconductance; apparent, contacts not taken off",
            refusals={
                **known_first,
                **_slope_refusals(linear),
                "no drain voltage": ~np.isfinite(known.drain_voltage),
                "not linear": known.drain_voltage >= numbers["over"],
                "unphysical": field_effect > UNPHYSICAL_MOBILITY,
            },
        ),
        "saturation_mobility": Column(
            value=saturated,
            std=2.0 * saturated * root.slope_std / root.slope,
            low=root.low,
            high=root.high,
            unit="cm^2/(V*s)",
            method="2L/(W·C)·(d√I_D/dV_G)² at the steepest place; apparent, contacts not taken off",
            refusals={
                **known_first,
                **_slope_refusals(root),
                "no drain voltage": ~np.isfinite(known.drain_voltage),
                "not saturated": known.drain_voltage < numbers["over_root"],
                "unphysical": saturated > UNPHYSICAL_MOBILITY,
            },
        ),
    }


def _below_threshold(
    grid: Array,
    levels: Levels,
    swings: Swings,
    known: Known,
    classes: Mapping[str, Flags],
    numbers: Mapping[str, Array],
) -> dict[str, Column]:
    limit = np.array([device.subthreshold_limit(each) for each in np.unique(known.temperature)])
    limit = limit[np.unique(known.temperature, return_inverse=True)[1]]
    no_decade = ~np.isfinite(swings.swing)
    few: Flags = np.asarray(numbers["room"] < 2.0)
    three = swings.points <= 3
    coarse: Flags = np.asarray(three) & ((swings.span > 2.0) | (len(grid) < FEWEST_FOR_NOISE))
    low_swing: Flags = np.asarray(swings.swing + 3 * np.nan_to_num(swings.std) < limit)
    off_log = np.log10(levels.off)
    onset = swings.volts - (swings.decades - off_log) * swings.swing
    onset_std = np.hypot(
        (swings.decades - off_log) * swings.std, swings.swing * levels.off_std / levels.off / np.log(10.0)
    )
    ratio_std = numbers["ratio"] * np.hypot(levels.on_std / levels.on, levels.off_std / levels.off)
    dead = {"dead": classes["dead"]}
    never_off: Flags = np.asarray(numbers["ratio"] < NO_CONTROL)
    everywhere = np.full(len(levels.on), grid[0]), np.full(len(levels.on), grid[-1])
    return {
        "subthreshold_swing": Column(
            value=swings.swing,
            std=swings.std,
            low=swings.low,
            high=swings.high,
            unit="V/decade",
            method="steepest decade that stands clear of the floor (line through log I_D)",
            refusals={
                **dead,
                "never off": never_off,
                "no decade": no_decade,
                "coarse": coarse,
                "few decades": few,
                "below limit": low_swing,
            },
            bound="at most",
        ),
        "on_off_ratio": Column(
            value=numbers["ratio"],
            std=ratio_std,
            low=everywhere[0],
            high=everywhere[1],
            unit="",
            method="largest current over the smallest running mean of its size (a twentieth of the sweep)",
            refusals={**dead, "floor-limited": levels.floor_limited},
            bound="at least",
        ),
        "onset_voltage": Column(
            value=onset,
            std=onset_std,
            low=swings.low,
            high=swings.high,
            unit="V",
            method="where the line through the steepest decade meets the off level; it shifts with the floor",
            refusals={**dead, "never off": never_off, "no decade": no_decade, "coarse": coarse},
            volts=True,
        ),
    }


def _leakage(grid: Array, gate_currents: Array) -> dict[str, Column]:
    missing: Flags = np.asarray(~np.isfinite(gate_currents).any(axis=1))
    size = np.abs(np.where(missing[:, None], 0.0, np.nan_to_num(gate_currents)))
    place = np.argmax(size, axis=1)
    noise = read_noise(grid, np.nan_to_num(gate_currents))
    largest = size[np.arange(len(size)), place]
    return {
        "gate_leakage": Column(
            value=np.where(missing, np.nan, largest),
            std=np.where(missing, np.nan, np.sqrt(noise.variance(largest))),
            low=grid[place],
            high=grid[place],
            unit="A",
            method="largest size of the gate current in the sweep",
            refusals={"no gate current": missing},
        )
    }
