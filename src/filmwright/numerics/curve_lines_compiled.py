"""Compiled: straight lines through combinations of a curve with its slope and its integral, with their errors."""

from __future__ import annotations

import numpy as np

from filmwright.numerics.curve_tangents_compiled import Floats, Index, Noise, dot_at, fast, filtered, spread


@fast
def _line(x: Floats, y: Floats) -> tuple[float, float, float, float]:  # pragma: no cover - compiled
    """Slope, mean of y, mean of x, sum of squares of x about its mean."""
    mx, my = float(np.mean(x)), float(np.mean(y))
    sxx, sxy = 0.0, 0.0
    for j in range(x.size):
        sxx += (x[j] - mx) * (x[j] - mx)
        sxy += (x[j] - mx) * (y[j] - my)
    return sxy / sxx, my, mx, sxx


@fast
def _slopes(
    grid: Floats, curve: Floats, table: tuple[Index, Floats], k: int, bounds: tuple[int, int], out: Floats
) -> bool:  # pragma: no cover - compiled
    """Slopes between two places; whether all are above zero."""
    halves, weights = table
    half, good = halves[k], True
    filtered(weights[k, :, 1], curve, (half, bounds[0], bounds[1]), out)
    for i in range(bounds[0], bounds[1] + 1):
        good = good and out[i] > 0.0
    return good


@fast
def _ratios(
    y: Floats,
    slope: Floats,
    variance: Floats,
    bounds: tuple[int, int],
    window: tuple[int, Floats],
    out: Floats,
) -> bool:  # pragma: no cover - compiled
    """Curve over the root of its slope, freed of the bias that noise in the slope makes; whether the curve is above zero."""
    half, weights = window
    clear = True
    for i in range(bounds[0], bounds[1] + 1):
        row = 0 if weights.shape[0] == 1 else i
        loss = 0.0
        for j in range(2 * half + 1):
            loss += weights[row, 1, j] ** 2 * variance[i - half + j]
        loss = loss / slope[i] ** 2 if loss > 0.0 else 0.0
        out[i] = y[i] / np.sqrt(slope[i]) * (1.0 - 0.375 * loss)
        clear = clear and y[i] > 0.0
    return clear


@fast
def fill_root_ratios(
    grid: Floats,
    curves: Floats,
    noise: Noise,
    table: tuple[Index, Floats],
    windows: Index,
    out: Floats,
) -> None:  # pragma: no cover - compiled
    """Line through y/√(dy/dx) between two places: slope, intercept, fall of the curve from the hyperbola, each with its error.

    ``windows``: first and last place and row of the half width of each curve.
    """
    halves, weights = table
    n = grid.size
    slope, ratio, lean = np.empty(n), np.empty(n), np.empty(n)
    along = np.empty((3, n))
    for c in range(curves.shape[0]):
        out[c, :] = np.nan
        a, b, k = windows[c]
        half, y = halves[k], curves[c]
        if b - a < 3 or a < half or b > n - 1 - half or not _slopes(grid, y, table, k, (a, b), slope):
            continue
        clear = _ratios(y, slope, noise[0][c], (a, b), (half, weights[k]), ratio)
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
            lean[a - half : b + half + 1] = 0.0
            for i in range(a, b + 1):
                row = 0 if weights.shape[1] == 1 else i
                root = np.sqrt(slope[i])
                lean[i] += along[q, i] / root
                if q == 2:
                    lean[i] -= rise * rise / (m * y[i] * y[i])
                down = -0.5 * along[q, i] * y[i] / (root * slope[i])
                for j in range(2 * half + 1):
                    lean[i - half + j] += down * weights[k, row, 1, j]
            out[c, 2 * q + 1] = spread(lean[a - half : b + half + 1], a - half, c, noise)


@fast
def _integral_ratio(
    grid: Floats, y: Floats, variance: Floats, start: int, out: Floats
) -> None:  # pragma: no cover - compiled
    """Integral from ``start`` over the curve itself, freed of the bias that noise below the stroke makes."""
    area = 0.0
    for i in range(start + 1, grid.size):
        area += (grid[i] - grid[i - 1]) * (y[i] + y[i - 1]) / 2.0
        v = variance[i] / (y[i] * y[i])
        out[i] = area / y[i] * (1.0 - v if 0.0 < v < 0.25 else 1.0)


@fast
def _lean_of_integral(
    grid: Floats, y: Floats, ratio: Floats, along: Floats, bounds: tuple[int, int, int], lean: Floats
) -> None:  # pragma: no cover - compiled
    """Derivatives by the points of a sum of the ratios from a to b, each times its part of ``along``."""
    start, a, b = bounds
    after = 0.0
    for j in range(b, start - 1, -1):
        own = along[j] / y[j] if j >= a else 0.0
        left = grid[j] - grid[j - 1] if j > start else 0.0
        right = grid[j + 1] - grid[j] if j < b else 0.0
        lean[j] = (left + right) / 2.0 * after + left / 2.0 * own - (own * ratio[j] if j >= a else 0.0)
        after += own


@fast
def fill_integral_ratios(
    grid: Floats, curves: Floats, noise: Noise, windows: Index, out: Floats
) -> None:  # pragma: no cover - compiled
    """Line through ∫y dx / y between two places: slope and intercept, each with its error.

    ``windows``: where the integral starts, first and last place of the line, of each curve.
    """
    n = grid.size
    ratio, along, lean = np.empty(n), np.empty(n), np.empty(n)
    for c in range(curves.shape[0]):
        out[c, :] = np.nan
        start, a, b = windows[c]
        y = curves[c]
        if b - a < 3 or a <= start or not np.min(y[a : b + 1]) > 0.0:
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


@fast
def fill_transitions(
    grid: Floats,
    curves: Floats,
    noise: Noise,
    table: tuple[Index, Floats, Floats],
    windows: Index,
    rule: tuple[float, int],
    out: Floats,
) -> None:  # pragma: no cover - compiled
    """Largest value of x − 2·∫y dx / y: value, its error, place, half width, and rise of the function over the last fifth.

    ``windows``: where the integral starts, first and last place of each curve.
    """
    halves, weights, gains = table
    caution, narrower = rule
    n = grid.size
    ratio, along, lean = np.empty(n), np.zeros(n), np.empty(n)
    level, error, smooth = np.empty(n), np.empty(n), np.empty(n)
    for c in range(curves.shape[0]):
        out[c, :] = np.nan
        start, a, b = windows[c]
        y = curves[c]
        if b - a < 3 or a <= start or not np.min(y[a : b + 1]) > 0.0:
            continue
        _integral_ratio(grid, y, noise[0][c], start, ratio)
        for i in range(a, b + 1):
            level[i] = grid[i] - 2.0 * ratio[i]
            v = noise[0][c, i] / (y[i] * y[i])
            error[i] = 2.0 * ratio[i] * np.sqrt(v) if v > 0.0 else 0.0
        best, wide, at = -np.inf, -1, -1
        for k in range(halves.size):
            half = halves[k]
            careful = caution + np.sqrt(2.0 * np.log(n / half))
            if b - a < 2 * half:
                break
            filtered(weights[k, :, 0], level, (half, a + half, b - half), smooth)
            for p in range(a + half, b - half + 1):
                if smooth[p] > best:
                    bound = smooth[p] - careful * gains[k, 0 if gains.shape[1] == 1 else p, 0] * error[p]
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
