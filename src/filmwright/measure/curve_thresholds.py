"""Thresholds by derivatives and integrals of the current: second, third, ratio (Y), integral (H), transition."""

from __future__ import annotations

import numpy as np

from filmwright import device, numerics
from filmwright.measure.context import Column, Context
from filmwright.measure.readings import Flags, Index, clear_to_the_end
from filmwright.measure.smoothing import FEWEST_FOR_NOISE, Array, half_widths, or_else
from filmwright.numerics import local_polynomials

LINE_FROM, LINE_TO = 0.3, 0.9
"""Shares of the way from the tangent's intercept to the end of the sweep between which lines are laid through Y and H."""

WELL_LINEAR = 2.0
"""Overdrive over drain voltage from which one power of the overdrive holds in the linear region (judgement)."""

QUANTUM = 1.0 / 12.0
"""Variance of where a line begins, in points, because it begins at a point."""

SLOPE_ERROR = 0.03
"""Relative error of the transconductance at the end of the line that the window for Y aims at."""

ON_FROM = 0.005
"""Share of the on current from which the auxiliary function of the transition is looked at."""

TRANSITION = (2.0, 4)
"""Caution and narrowing of the window for the transition method, as for tangents."""

RISING = 0.1
"""Slope of the auxiliary function over the last fifth [V/V] from which it has no largest value."""

CLEAR = {2: 4.0, 3: 7.0}
"""By order of the derivative: errors by which it stands clear of nothing."""

PEAKS = {2: (1.0, 1), 3: (1.0, 3)}
"""By order of the derivative: errors by which places are compared, and sizes by which the window is narrowed."""


def curve_thresholds(context: Context) -> dict[str, Column]:
    """Thresholds that need derivatives or integrals of the whole curve, and what the ratio method gives beside."""
    windows = line_windows(context)
    return {
        **_peak(context, 2, "threshold_voltage_second_derivative", "largest d²I_D/dV_G²"),
        **_peak(context, 3, "threshold_voltage_third_derivative", "largest d³I_D/dV_G³"),
        **_ratio(context, windows),
        **_integral(context, windows),
        **_transition(context, windows),
    }


def line_windows(context: Context) -> Index:
    """First and last place of the line and place where the current is off, (n_curves, 3)."""
    grid, end = context.grid, len(context.grid) - 1
    start = np.clip(or_else(context.linear.intercept, grid[-1]), grid[0], grid[-1])
    way = grid[-1] - start
    first = np.searchsorted(grid, start + LINE_FROM * way)
    last = np.searchsorted(grid, start + LINE_TO * way, side="right") - 1
    return np.stack([np.minimum(first, end), last, context.levels.place], axis=1).astype(np.intp)


def linear_refusals(context: Context) -> dict[str, Flags]:
    """What refuses a parameter of the linear region."""
    drain = context.known.drain_voltage
    return {
        **context.common,
        "no drain voltage": ~np.isfinite(drain),
        "not linear": np.asarray(drain >= context.numbers["over"]),
    }


def _peak(context: Context, order: int, name: str, words: str) -> dict[str, Column]:
    grid, count = context.grid, len(context.grid)
    halves = half_widths(count) if count >= FEWEST_FOR_NOISE else (1, 2, 3)
    least = (order + 3) // 2
    halves = tuple(each for each in halves if each >= least) or (least,)
    halves = halves[:1] if count < FEWEST_FOR_NOISE else halves
    # What lies on the off side of the smallest current belongs to the other branch of an ambipolar curve.
    place = context.levels.place[:, None]
    off = np.take_along_axis(context.curves, place, axis=1)
    branch = np.where(np.arange(count)[None, :] < place, off, context.curves)
    found = numerics.peaks_of_derivative(grid, branch, context.points, halves, order, PEAKS[order])
    at, half = found[:, 0].astype(np.intp), or_else(found[:, 1]).astype(np.intp)
    span = grid[np.minimum(at + half, count - 1)] - grid[np.maximum(at - half, 0)]
    inside = np.abs(found[:, 2]) < span / 2.0
    value = np.where(inside, grid[at] + found[:, 2], np.nan)
    noisy = ~(found[:, 4] > CLEAR[order] * or_else(found[:, 5])) | ~inside | (found[:, 3] > span / 5.0)
    return {
        name: Column(
            value=value,
            std=found[:, 3],
            low=grid[np.maximum(at - half, 0)],
            high=grid[np.minimum(at + half, count - 1)],
            unit="V",
            method=f"gate voltage of the {words}; polynomials of degree {order + 2} over a window chosen from the noise",
            refusals={**linear_refusals(context), "no peak": noisy},
            volts=True,
        )
    }


def _ratio_windows(context: Context, windows: Index, halves: tuple[int, ...]) -> Index:
    """Windows with the row of the half width at which the slope at the end of the line is known well enough."""
    count = len(context.grid)
    last, rows = np.minimum(windows[:, 1], count - 1), np.arange(len(windows))
    table = local_polynomials(context.grid, halves, 2)
    gains = table.gains[:, table.gains.shape[1] // 2, 1]
    slope = np.where(context.linear.slope > 0, context.linear.slope, np.inf)
    error = np.sqrt(or_else(context.points.variance[rows, last])) / slope
    room = np.minimum(windows[:, 0], count - 1 - last)
    fits = np.array(halves)[None, :] <= np.maximum(room, 1)[:, None]
    good = fits & (error[:, None] * gains[None, :] <= SLOPE_ERROR)
    widest = np.maximum(fits.sum(axis=1) - 1, 0)
    row = np.where(good.any(axis=1), np.argmax(good, axis=1), widest)
    return np.stack([windows[:, 0], last, row], axis=1).astype(np.intp)


def _ratio(context: Context, windows: Index) -> dict[str, Column]:
    halves = half_widths(len(context.grid))
    found = numerics.root_ratio_lines(
        context.grid, context.curves, context.points, halves, _ratio_windows(context, windows, halves)
    )
    drain, known = context.known.drain_voltage, context.known
    biased = np.where(drain > 0, drain, np.nan)
    gain, gain_std = (
        device.gain_from_ratio(found[:, 0], 1.0) / biased,
        2.0 * found[:, 0] * found[:, 1] / biased,
    )
    refusals = {
        **linear_refusals(context),
        "drain": drain == 0,
        "no line": ~np.isfinite(found[:, 0]),
        "noisy": found[:, 1] > found[:, 0] / 3.0,
    }
    low, high = (context.grid[np.clip(windows[:, each], 0, len(context.grid) - 1)] for each in (0, 1))
    line = "line through Y = I_D/√g_m between 30 and 90 % of the way from the tangent's intercept to the end"
    unknown = ~np.isfinite(known.width * known.length * known.areal_capacitance)
    squares = np.where(unknown, np.nan, known.length / (known.width * known.areal_capacitance))
    series, series_std = found[:, 4] / gain, np.hypot(found[:, 5], found[:, 4] * gain_std / gain) / gain
    return {
        "threshold_voltage_ratio": Column(
            value=found[:, 2],
            std=found[:, 3],
            unit="V",
            method=f"intercept of the {line}, without V_D/2",
            refusals=refusals,
            volts=True,
            low=low,
            high=high,
        ),
        "gain_factor": Column(
            value=gain,
            std=gain_std,
            unit="A/V^2",
            method=f"β = slope²/V_D of the {line}",
            refusals=refusals,
            low=low,
            high=high,
        ),
        "low_field_mobility": Column(
            value=gain * squares,
            std=gain_std * squares,
            unit="cm^2/(V*s)",
            method=f"β·L/(W·C) with β from the {line}; free of contacts and attenuation",
            refusals={**refusals, "geometry": unknown, "ionic": known.ionic},
            low=low,
            high=high,
        ),
        "mobility_attenuation": Column(
            value=found[:, 4],
            std=found[:, 5],
            unit="1/V",
            method=f"mean of β·V_D/I_D − 1/(V_G − V_T) with β and V_T from the {line}: θ₀ + β·R_SD",
            refusals=refusals,
            low=low,
            high=high,
        ),
        "series_resistance": Column(
            value=series,
            std=series_std,
            unit="ohm",
            method="θ/β: source and drain together, if all attenuation comes from the contacts",
            refusals={**refusals, "upper": np.ones(len(series), dtype=bool)},
            bound="at most",
            low=low,
            high=high,
        ),
    }


def _integral(context: Context, windows: Index) -> dict[str, Column]:
    ordered = np.stack([windows[:, 2], windows[:, 0], windows[:, 1]], axis=1)
    found = numerics.integral_ratio_lines(context.grid, context.curves, context.points, ordered)
    # Where the line is bent it matters at which point it begins, and that follows a noisy tangent.
    step = (context.grid[-1] - context.grid[0]) / (len(context.grid) - 1)
    points = (1.0 - LINE_FROM) * or_else(context.linear.intercept_std) / step
    wander = points**2 + QUANTUM
    for place in (0, 2):
        moved = or_else(found[:, 4 + place // 2] - found[:, place])
        found[:, place + 1] = np.sqrt(found[:, place + 1] ** 2 + moved**2 * wander)
    low, high = (context.grid[np.clip(windows[:, each], 0, len(context.grid) - 1)] for each in (0, 1))
    line = "line through H = ∫I_D dV_G/I_D between 30 and 90 % of the way from the tangent's intercept to the end"
    refusals = {
        **context.common,
        "no line": ~np.isfinite(found[:, 0]),
        "noisy": found[:, 1] > found[:, 0] / 3.0,
        "no drain voltage": ~np.isfinite(context.known.drain_voltage),
        "mixed regions": _mixed(context, low, high),
    }
    power = device.power_from_integral(np.where(found[:, 0] > 0, found[:, 0], 1.0))
    return {
        "threshold_voltage_integral": Column(
            value=found[:, 2],
            std=found[:, 3],
            low=low,
            high=high,
            unit="V",
            method=f"intercept of the {line}, without V_D/2",
            refusals=refusals,
            volts=True,
        ),
        "current_exponent": Column(
            value=np.where(np.isfinite(found[:, 0]), power, np.nan),
            std=found[:, 1] / found[:, 0] ** 2,
            low=low,
            high=high,
            unit="",
            method=f"power m of I_D ∝ (V_G − V_T)^m: 1/slope − 1 of the {line}",
            refusals=refusals,
        ),
    }


def _mixed(context: Context, low: Array, high: Array) -> Flags:
    """Whether a line from one gate voltage to another is neither linear nor saturated all along."""
    drain, threshold = context.known.drain_voltage, context.numbers["threshold"]
    linear = low - threshold >= WELL_LINEAR * drain
    saturated = high - threshold <= drain
    return np.asarray(np.isfinite(drain) & ~linear & ~saturated)


def _transition(context: Context, windows: Index) -> dict[str, Column]:
    grid, count = context.grid, len(context.grid)
    clear = context.curves > np.maximum(context.levels.clear_of, ON_FROM * context.levels.on[:, None])
    # The last stretch that is clear of the floor all the way to the end of the sweep.
    first = clear_to_the_end(clear)
    ordered = np.stack(
        [windows[:, 2], np.maximum(first, windows[:, 2] + 1), np.full(len(clear), count - 1)], axis=1
    )
    found = numerics.largest_transitions(
        grid, context.curves, context.points, half_widths(count), ordered, TRANSITION
    )
    place, half = (or_else(found[:, each]).astype(np.intp) for each in (2, 3))
    return {
        "threshold_voltage_transition": Column(
            value=found[:, 0],
            std=found[:, 1],
            low=grid[np.maximum(place - half, 0)],
            high=grid[np.minimum(place + half, count - 1)],
            unit="V",
            method="largest V_G − 2·∫I_D dV_G/I_D, parabolas over a window chosen from the noise; without V_D/2",
            refusals={
                **linear_refusals(context),
                "no line": ~np.isfinite(found[:, 0]),
                "still rising": found[:, 4] > RISING,
            },
            volts=True,
            numbers={"rise": found[:, 4]},
        )
    }
