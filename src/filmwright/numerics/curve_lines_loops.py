"""Loops: straight lines through combinations of a curve with its slope and its integral, with their errors."""

from __future__ import annotations

import numpy as np

from filmwright.numerics.curve_tangents_loops import (
    Floats,
    Index,
    Noise,
    derivatives,
    dot_at,
    filtered,
    shared_out,
    spread,
)
from filmwright.numerics.interpreted import loop


@loop
def _line(x: Floats, y: Floats) -> tuple[float, float, float, float]:
    """Slope, mean of y, mean of x, sum of squares of x about its mean."""
    mx, my = 0.0, 0.0
    for j in range(x.size):
        mx += x[j]
        my += y[j]
    mx, my = mx / x.size, my / x.size
    sxx, sxy = 0.0, 0.0
    for j in range(x.size):
        sxx += (x[j] - mx) * (x[j] - mx)
        sxy += (x[j] - mx) * (y[j] - my)
    return sxy / sxx, my, mx, sxx


@loop
def _above_zero(y: Floats, first: int, last: int) -> bool:
    """Whether all points from first to last are above zero."""
    good = True
    for i in range(first, last + 1):
        good = good and y[i] > 0.0
    return good


@loop
def _slopes(
    grid: Floats, curve: Floats, table: tuple[Index, Floats], k: int, bounds: tuple[int, int], out: Floats
) -> bool:
    """Slopes between two places; whether all are above zero."""
    halves, weights = table
    filtered(weights[k, :, 1], curve, (halves[k], bounds[0], bounds[1]), out)
    return _above_zero(out, bounds[0], bounds[1])


@loop
def _ratios(
    y: Floats,
    slope: Floats,
    variance: Floats,
    bounds: tuple[int, int],
    window: tuple[int, Floats],
    out: Floats,
) -> bool:
    """Curve over the root of its slope, freed of the bias that noise in the slope makes; whether the curve is above zero.

    ``window``: half width, and squares of the weights of the slope.
    """
    filtered(window[1], variance, (window[0], bounds[0], bounds[1]), out)
    for i in range(bounds[0], bounds[1] + 1):
        loss = out[i] / (slope[i] * slope[i]) if out[i] > 0.0 else 0.0
        out[i] = y[i] / np.sqrt(slope[i]) * (1.0 - 0.375 * loss)
    return _above_zero(y, bounds[0], bounds[1])


@loop
def fill_root_ratios(
    grid: Floats,
    curves: Floats,
    noise: Noise,
    table: tuple[Index, Floats, Floats],
    windows: Index,
    out: Floats,
) -> None:
    """Line through y/√(dy/dx) between two places: slope, intercept, fall of the curve from the hyperbola, each with its error.

    ``windows``: first and last place and row of the half width of each curve. ``table``: half widths, weights and their squares.
    """
    halves, weights, squared = table
    n = grid.size
    slope, ratio, lean = np.empty(n), np.empty(n), np.empty(n)
    along, down = np.empty((3, n)), np.empty(n)
    for c in range(curves.shape[0]):
        a, b, k = windows[c, 0], windows[c, 1], windows[c, 2]
        half, y = halves[k], curves[c]
        if (
            b - a < 3
            or a < half
            or b > n - 1 - half
            or not _slopes(grid, y, (halves, weights), k, (a, b), slope)
        ):
            continue
        clear = _ratios(y, slope, noise[0][c], (a, b), (half, squared[k, :, 1]), ratio)
        x = grid[a : b + 1]
        rise, mean, centre, sxx = _line(x, ratio[a : b + 1])
        if not (rise > 0.0 and clear):
            continue
        zero, m = centre - mean / rise, x.size
        inverse, far = 0.0, 0.0
        for i in range(a, b + 1):
            v = noise[0][c, i] / (y[i] * y[i])
            inverse += (1.0 - v if v > 0.0 else 1.0) / y[i] / m
            far += 1.0 / (grid[i] - zero) / m
        fall = rise * rise * inverse - far
        squares = 0.0
        for i in range(a, b + 1):
            squares += 1.0 / (grid[i] - zero) ** 2 / m
        for i in range(a, b + 1):
            up = (grid[i] - centre) / sxx
            along[0, i] = up
            along[1, i] = -1.0 / (m * rise) + mean / (rise * rise) * up
            along[2, i] = 2.0 * rise * inverse * up - squares * along[1, i]
        out[c, 0], out[c, 2], out[c, 4] = rise, zero, fall
        for q in range(3):
            for i in range(a, b + 1):
                down[i] = -0.5 * along[q, i] * y[i] / (np.sqrt(slope[i]) * slope[i])
            shared_out(weights[k, :, 1], down, (half, a, b), lean)
            for i in range(a, b + 1):
                lean[i] += along[q, i] / np.sqrt(slope[i])
                if q == 2:
                    lean[i] -= rise * rise / (m * y[i] * y[i])
            out[c, 2 * q + 1] = spread(lean[a - half : b + half + 1], a - half, c, noise)


@loop
def _integral_ratio(grid: Floats, y: Floats, variance: Floats, start: int, out: Floats) -> None:
    """Integral from ``start`` over the curve itself, freed of the bias that noise below the stroke makes."""
    area = 0.0
    for i in range(start + 1, grid.size):
        area += (grid[i] - grid[i - 1]) * (y[i] + y[i - 1]) / 2.0
        v = variance[i] / (y[i] * y[i])
        out[i] = area / y[i] * (1.0 - v if 0.0 < v < 0.25 else 1.0)


@loop
def _lean_of_integral(
    grid: Floats, y: Floats, ratio: Floats, along: Floats, bounds: tuple[int, int, int], lean: Floats
) -> None:
    """Derivatives by the points of a sum of the ratios from a to b, each times its part of ``along``."""
    start, a, b = bounds
    after = 0.0
    for j in range(b, start - 1, -1):
        own = along[j] / y[j] if j >= a else 0.0
        left = grid[j] - grid[j - 1] if j > start else 0.0
        right = grid[j + 1] - grid[j] if j < b else 0.0
        lean[j] = (left + right) / 2.0 * after + left / 2.0 * own - (own * ratio[j] if j >= a else 0.0)
        after += own


@loop
def fill_integral_ratios(grid: Floats, curves: Floats, noise: Noise, windows: Index, out: Floats) -> None:
    """Line through ∫y dx / y between two places: slope and intercept, each with its error; both of the line from one point later on.

    ``windows``: where the integral starts, first and last place of the line, of each curve.
    """
    n = grid.size
    ratio, along, lean = np.empty(n), np.empty(n), np.empty(n)
    for c in range(curves.shape[0]):
        start, a, b = windows[c, 0], windows[c, 1], windows[c, 2]
        y = curves[c]
        if b - a < 3 or a <= start or not _above_zero(y, a, b):
            continue
        _integral_ratio(grid, y, noise[0][c], start, ratio)
        rise, mean, centre, sxx = _line(grid[a : b + 1], ratio[a : b + 1])
        if not rise > 0.0:
            continue
        m = b - a + 1
        out[c, 0], out[c, 2] = rise, centre - mean / rise
        for q in range(2):
            for i in range(a, b + 1):
                up = (grid[i] - centre) / sxx
                along[i] = up if q == 0 else -1.0 / (m * rise) + mean / (rise * rise) * up
            _lean_of_integral(grid, y, ratio, along, (start, a, b), lean)
            out[c, 2 * q + 1] = spread(lean[start : b + 1], start, c, noise)
        rise, mean, centre, sxx = _line(grid[a + 1 : b + 1], ratio[a + 1 : b + 1])
        if m > 4 and rise > 0.0:
            out[c, 4], out[c, 5] = rise, centre - mean / rise


@loop
def fill_transitions(
    grid: Floats,
    curves: Floats,
    noise: Noise,
    table: tuple[Index, Floats, Floats],
    windows: Index,
    rule: tuple[float, int],
    out: Floats,
) -> None:
    """Largest value of x − 2·∫y dx / y: value, its error, place, half width, and rise of the function over the last fifth.

    ``windows``: where the integral starts, first and last place of each curve.
    """
    halves, weights, gains = table
    caution, narrower = rule
    n = grid.size
    ratio, along, lean = np.empty(n), np.zeros(n), np.empty(n)
    level, error, smooth = np.empty(n), np.empty(n), np.empty((halves.size, n))
    for c in range(curves.shape[0]):
        start, a, b = windows[c, 0], windows[c, 1], windows[c, 2]
        y = curves[c]
        if b - a < 3 or a <= start or not _above_zero(y, a, b):
            continue
        _integral_ratio(grid, y, noise[0][c], start, ratio)
        for i in range(a, b + 1):
            level[i] = grid[i] - 2.0 * ratio[i]
            v = noise[0][c, i] / (y[i] * y[i])
            error[i] = 2.0 * ratio[i] * np.sqrt(v) if v > 0.0 else 0.0
        derivatives(level, (halves, weights), (0, a, b), smooth)
        best, wide, at = -np.inf, -1, -1
        for k in range(halves.size):
            half = halves[k]
            careful = caution + np.sqrt(2.0 * np.log(n / half))
            if b - a < 2 * half:
                break
            for p in range(a + half, b - half + 1):
                if smooth[k, p] > best:
                    bound = smooth[k, p] - careful * gains[k, 0 if gains.shape[1] == 1 else p, 0] * error[p]
                    if bound > best:
                        best, wide, at = bound, k, p
        if wide < 0:
            continue
        k = max(wide - narrower, 0)
        half, row = halves[k], 0 if weights.shape[1] == 1 else at
        wider = dot_at(weights[wide, row, 0], level, at - halves[wide], 2 * halves[wide] + 1)
        total = dot_at(weights[k, row, 0], level, at - half, 2 * half + 1)
        along[a : b + 1] = 0.0
        for j in range(2 * half + 1):
            i = at - half + j
            along[i] = -2.0 * weights[k, row, 0, j]
        _lean_of_integral(grid, y, ratio, along, (start, a, b), lean)
        fifth = max((b - a) // 5, 2)
        rise, _, _, _ = _line(grid[b - fifth : b + 1], ratio[b - fifth : b + 1])
        out[c, 0], out[c, 1] = total, spread(lean[start : b + 1], start, c, noise)
        out[c, 2], out[c, 3] = at, half
        out[c, 4] = 1.0 - 2.0 * rise
        hidden = (wider - total) ** 2 - out[c, 1] ** 2
        if hidden > 0.0:
            out[c, 1] = np.sqrt(out[c, 1] ** 2 + hidden)
