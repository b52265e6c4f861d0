"""Noise, tangents, peaks, lines, levels and crossings of many noisy curves on one grid, each with its error.

Every result is an array; its error is the noise of the points carried through the derivative of the result by each point, widened by
Student's t for what is known of the noise. The loops are interpreted for a few curves and compiled for many,
and loaded when they are first needed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from filmwright.numerics.curve_weights import local_polynomials
from filmwright.numerics.interpreted import run

Floats = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True, kw_only=True)
class CurveNoise:
    """Noise of the points of many curves.

    Attributes
    ----------
    variance, floor_part : array (n_curves, n_points)
        Variance of each point and the part of it that does not follow the curve; NaN where not known.
    freedom : array (n_curves, 2)
        Degrees of freedom with which floor and share are known.
    """

    variance: Floats
    floor_part: Floats
    freedom: Floats

    def parts(self) -> tuple[Floats, Floats, Floats]:
        """As the kernels take it."""
        return self.variance, self.floor_part, self.freedom


def _solid(values: Floats) -> Floats:
    return np.ascontiguousarray(values, dtype=float)


def _whole(values: Index) -> Index:
    return np.ascontiguousarray(values, dtype=np.intp)


def noise_of_curves(curves: Floats, differences: Floats) -> Floats:
    """Floor, share and their degrees of freedom, (n_curves, 4): variance of a point = floor² + (share·y)².

    Parameters
    ----------
    curves : array (n_curves, n_points)
        At least 16 points.
    differences : array (n_points − 3, 4)
        Weights of third differences with a sum of squares of 1.
    """
    from filmwright.numerics.curve_noise_loops import fill_noise

    out = np.empty((len(curves), 4))
    run(fill_noise, len(curves), _solid(curves), _solid(differences), out)
    return out


def steepest_tangents(
    grid: Floats, curves: Floats, noise: CurveNoise, halves: tuple[int, ...], caution: float, narrower: int
) -> Floats:
    """Tangents where the slope less ``caution`` of its errors is largest over places and windows, (n_curves, 8).

    Columns: place, half width, value, slope, its error, value over slope, its error, slope by the wider window. The tangent is read by a
    window ``narrower`` sizes narrower than the one that found it.
    """
    from filmwright.numerics.curve_tangents_loops import fill_tangents

    found = local_polynomials(grid, halves, 2)
    out = np.full((len(curves), 9), np.nan)
    table = found.halves, found.weights, found.gains
    run(
        fill_tangents, len(curves), _solid(curves), noise.parts(), table, (float(caution), int(narrower)), out
    )
    return out


def peaks_of_derivative(
    grid: Floats,
    curves: Floats,
    noise: CurveNoise,
    halves: tuple[int, ...],
    order: int,
    rule: tuple[float, int],
) -> Floats:
    """Where a derivative is largest, by polynomials of two degrees more, (n_curves, 6).

    Columns: place, half width, shift of the peak from the place, its error, height, its error. ``rule``: caution and narrower as for
    tangents.
    """
    from filmwright.numerics.curve_tangents_loops import fill_peaks

    found = local_polynomials(grid, halves, order + 2)
    out = np.full((len(curves), 6), np.nan)
    table = found.halves, found.weights, found.gains
    run(
        fill_peaks,
        len(curves),
        _solid(curves),
        noise.parts(),
        table,
        (int(order), float(rule[0]), int(rule[1])),
        out,
    )
    return out


def root_ratio_lines(
    grid: Floats, curves: Floats, noise: CurveNoise, halves: tuple[int, ...], windows: Index
) -> Floats:
    """Line through y/√(dy/dx), (n_curves, 6): slope, intercept, fall from the hyperbola, each followed by its error.

    ``windows`` (n_curves, 3): first and last place and row of ``halves``. A curve y = b²·x/(1 + θ·x) has slope b, intercept 0, fall θ.
    """
    from filmwright.numerics.curve_lines_loops import fill_root_ratios

    found = local_polynomials(grid, halves, 2)
    out = np.full((len(curves), 6), np.nan)
    table = found.halves, found.weights, found.squares
    run(
        fill_root_ratios,
        len(curves),
        _solid(grid),
        _solid(curves),
        noise.parts(),
        table,
        _whole(windows),
        out,
    )
    return out


def integral_ratio_lines(grid: Floats, curves: Floats, noise: CurveNoise, windows: Index) -> Floats:
    """Line through ∫y dx / y, (n_curves, 6): slope and intercept, each followed by its error; both by a line from one point later on.

    ``windows`` (n_curves, 3): where the integral starts, first and last place of the line. A power m of x gives slope 1/(m + 1).
    """
    from filmwright.numerics.curve_lines_loops import fill_integral_ratios

    out = np.full((len(curves), 6), np.nan)
    run(fill_integral_ratios, len(curves), _solid(grid), _solid(curves), noise.parts(), _whole(windows), out)
    return out


def largest_transitions(
    grid: Floats,
    curves: Floats,
    noise: CurveNoise,
    halves: tuple[int, ...],
    windows: Index,
    rule: tuple[float, int],
) -> Floats:
    """Largest value of x − 2·∫y dx / y, (n_curves, 5): value, its error, place, half width, rise over the last fifth."""
    from filmwright.numerics.curve_lines_loops import fill_transitions

    found = local_polynomials(grid, halves, 2)
    out = np.full((len(curves), 5), np.nan)
    table = found.halves, found.weights, found.gains
    run(
        fill_transitions,
        len(curves),
        _solid(grid),
        _solid(curves),
        noise.parts(),
        table,
        _whole(windows),
        (float(rule[0]), int(rule[1])),
        out,
    )
    return out


def levels_of_curves(
    grid: Floats, curves: Floats, noise: CurveNoise, halves: tuple[int, ...], widths: Sequence[int]
) -> Floats:
    """Largest value, its error, smallest running mean of the size, its error, signed mean there, place and width, (n_curves, 7)."""
    from filmwright.numerics.curve_levels_loops import fill_levels

    found = local_polynomials(grid, halves, 2)
    out = np.empty((len(curves), 7))
    run(
        fill_levels,
        len(curves),
        _solid(curves),
        noise.parts(),
        (found.halves, found.weights),
        np.array(widths, dtype=np.intp),
        out,
    )
    return out


def level_crossings(
    grid: Floats,
    curves: Floats,
    noise: CurveNoise,
    halves: tuple[int, ...],
    starts: Index,
    targets: Floats,
) -> Floats:
    """Where curves rise through levels ``targets`` (n_curves, n_levels) from place ``starts`` on, and the error, (…, 2).

    By a parabola through the logarithm of the points within a factor of the level that follows from the noise (two at most); between
    the two neighbouring points where there are too few. NaN where a curve does not cross.
    """
    from filmwright.numerics.curve_levels_loops import fill_crossings

    found = local_polynomials(grid, halves, 2)
    out = np.full((*targets.shape, 2), np.nan)
    table = found.halves, found.weights
    run(
        fill_crossings,
        len(curves),
        _solid(grid),
        _solid(curves),
        noise.parts(),
        table,
        _whole(starts),
        _solid(targets),
        out,
    )
    return out


def steepest_logarithms(
    grid: Floats, curves: Floats, noise: CurveNoise, halves: tuple[int, ...], usable: Floats
) -> Floats:
    """Largest slope of log₁₀ y over a decade above ``usable`` (n_curves, n_points), (n_curves, 8).

    Columns: slope, its error, place, half width, logarithm there, its error, covariance of both, decades of the window.
    """
    from filmwright.numerics.curve_levels_loops import fill_steepest_logs

    found = local_polynomials(grid, halves, 2)
    out = np.full((len(curves), 8), np.nan)
    run(
        fill_steepest_logs,
        len(curves),
        _solid(curves),
        noise.parts(),
        (found.halves, found.weights),
        _solid(usable),
        out,
    )
    return out


def logarithm_lines(grid: Floats, curves: Floats, noise: CurveNoise, windows: Index) -> Floats:
    """Straight line through log₁₀ y between two places, (n_curves, 3): slope, its error, decades it covers."""
    from filmwright.numerics.curve_levels_loops import fill_log_lines

    out = np.full((len(curves), 3), np.nan)
    run(fill_log_lines, len(curves), _solid(grid), _solid(curves), noise.parts(), _whole(windows), out)
    return out
