"""Loops: largest and smallest level, crossings of levels and steepest logarithm of many curves, with their errors."""

from __future__ import annotations

import numpy as np

from filmwright.numerics.curve_tangents_loops import (
    QUIET,
    Floats,
    Index,
    Noise,
    at_offset,
    derivatives,
    dot,
    dot_at,
    reach_of,
    spread,
    widened,
)
from filmwright.numerics.interpreted import loop

_FACTOR = 0.25
"""Logarithm of the factor around a level within which points count, where the noise is a hundredth; it goes as the root."""
_TWICE = np.log(2.0)


@loop
def _luck(alike: int, size: int) -> float:
    """By how many errors the best of so many overlapping windows that are alike is expected to be too good."""
    number = 1.0 + 3.0 * (alike - 1) / size
    return float(0.56 * (np.log(number) / _TWICE) ** 0.85)


@loop
def _place_of_largest(y: Floats) -> int:
    top = 0
    for j in range(1, y.size):
        if y[j] > y[top]:
            top = j
    return top


@loop
def fill_levels(
    curves: Floats, noise: Noise, table: tuple[Index, Floats], widths: Index, out: Floats
) -> None:
    """Largest value and its error, smallest running mean of the size, its error, signed mean, place and width of each curve."""
    halves, weights = table
    n = curves.shape[1]
    total, signed = np.zeros(n + 1), np.zeros(n + 1)
    flat, std, smooth = np.empty(n), np.empty(n), np.empty((halves.size, n))
    for c in range(curves.shape[0]):
        y, v = curves[c], noise[0][c]
        top = _place_of_largest(y)
        out[c, 0], out[c, 1] = y[top], np.sqrt(v[top])
        if np.sqrt(v[top]) > QUIET * y[top]:
            derivatives(y, table, (0, 0, n - 1), smooth)
            best = -np.inf
            for k in range(halves.size):
                best = _top((y, smooth[k]), (halves[k], weights[k]), c, noise, out, best)
            if y[top] - out[c, 0] > 4.0 * np.sqrt(v[top]):
                out[c, 0], out[c, 1] = y[top], np.sqrt(v[top])
        for j in range(n):
            std[j] = np.sqrt(v[j]) if v[j] > 0.0 else 0.0
            total[j + 1] = total[j] + abs(y[j])
            signed[j + 1] = signed[j] + y[j]
        best = np.inf
        for k in range(widths.size):
            w = widths[k]
            careful = (0.5 + np.sqrt(2.0 * np.log(n / w))) / np.sqrt(w)
            before, after, middle = total[: n - w + 1], total[w:], std[w // 2 :]
            for p in range(n - w + 1):
                bound = (after[p] - before[p]) / w + careful * middle[p]
                if bound < best:
                    best = bound
                    out[c, 5], out[c, 6] = p, w
        p, w = int(out[c, 5]), int(out[c, 6])
        out[c, 2], out[c, 4] = (total[p + w] - total[p]) / w, (signed[p + w] - signed[p]) / w
        flat[:w] = 1.0 / w
        error = spread(flat[:w], p, c, noise)
        out[c, 3] = error
        if error > QUIET * out[c, 2]:
            alike = 0
            for q in range(n - w + 1):
                if (total[q + w] - total[q]) / w <= out[c, 2] + 2.0 * error:
                    alike += 1
            luck = _luck(alike, w) * error
            out[c, 2] += luck
            out[c, 3] = np.sqrt(error * error + luck * luck / 3.0)


@loop
def _follows(y: Floats, v: Floats, row: Floats, window: tuple[int, int]) -> bool:
    """Whether a parabola leaves of its points what noise leaves: across a knee it would overshoot."""
    at, half = window
    size = 2 * half + 1
    near = y[at - half : at + half + 1]
    level, slope, bend = dot(row[0], near), dot(row[1], near), dot(row[2], near)
    step = half / reach_of(row, half)
    rest = 0.0
    for j in range(size):
        x = (j - half) / step
        left = near[j] - level - x * (slope + x * bend / 2.0)
        rest += left * left / v[at - half + j]
    free = max(size - 3.0, 1.0)
    return bool(rest <= free + 3.0 * np.sqrt(2.0 * free))


@loop
def _top(
    curve: tuple[Floats, Floats], window: tuple[int, Floats], c: int, noise: Noise, out: Floats, least: float
) -> float:
    """Largest value of parabolas of one width, at the last point by the last parabola; kept if it surely exceeds ``least``."""
    y, smooth = curve
    half, weights = window
    n, one = y.size, weights.shape[0] == 1
    size = 2 * half + 1
    lean = np.empty(size)
    best, at = -np.inf, half
    for p in range(half, n - half):
        if smooth[p] >= best:
            best, at = smooth[p], p
    p = n - 1 - half
    row = weights[0 if one else p]
    at_offset(row, reach_of(row, half), 0, size, lean)
    last = dot_at(lean, y, p - half, size)
    if at > p - half:
        # A curve that is largest near its end is read there, with the error of the end of the last parabola.
        best, at = last, p
    else:
        row = weights[0 if one else at]
        at_offset(row, 0.0, 0, size, lean)
    error = spread(lean, at - half, c, noise)
    bound = best - (0.5 + np.sqrt(2.0 * np.log(n / half))) * error
    if not bound > least or not _follows(y, noise[0][c], row, (at, half)):
        return least
    alike = 0
    for q in range(half, n - half):
        if smooth[q] >= best - 2.0 * error:
            alike += 1
    alike = max(alike, 1)
    luck = _luck(alike, size) * error
    out[c, 0], out[c, 1] = best - luck, np.sqrt(error * error + luck * luck / 3.0)
    return float(bound)


@loop
def _rises(y: Floats, start: int, target: float) -> tuple[int, int]:
    """First and last place from ``start`` on after which the curve rises through a level; -1 where it does not."""
    first, last = -1, -1
    for i in range(start, y.size - 1):
        if y[i] < target <= y[i + 1]:
            last = i
            if first < 0:
                first = i
    return first, last


@loop
def _reach(y: Floats, at: int, target: float, factor: float) -> int:
    """Half width around a place within which the curve stays within a factor of a level, and above zero."""
    reach = 0
    while True:
        low, high = at - reach - 1, at + reach + 1
        if low < 0 or high >= y.size or y[low] < target / factor or y[high] > target * factor:
            return reach
        if not y[high] > target / factor / factor:
            return reach
        reach += 1


@loop
def fill_crossings(
    grid: Floats,
    curves: Floats,
    noise: Noise,
    table: tuple[Index, Floats],
    starts: Index,
    targets: Floats,
    out: Floats,
) -> None:
    """Where each curve rises through its levels, in the logarithm, and the error: ``out`` is (n_curves, n_levels, 2)."""
    halves, weights = table
    widest = weights.shape[3] if halves.size else 1
    lean = np.empty(widest)
    for c in range(curves.shape[0]):
        y, v = curves[c], noise[0][c]
        for q in range(targets.shape[1]):
            t = targets[c, q]
            first, last = _rises(y, starts[c], t)
            if last < 0 or not t > 0.0:
                continue
            at = (first + last + 1) // 2
            if t - y[at] > y[min(at + 1, y.size - 1)] - t:
                at += 1
            share = np.sqrt(v[at]) / t
            factor = np.exp(min(_TWICE, _FACTOR * np.sqrt(100.0 * share))) if share > 0.0 else 1.0
            reach, k = _reach(y, at, t, factor), -1
            while k + 1 < halves.size and halves[k + 1] <= reach:
                k += 1
            done = k >= 0 and last - first <= 2 * halves[k]
            if done:
                done = _local_crossing(grid, (y, t, at), (c, q), noise, (halves[k], weights[k]), lean, out)
            if not done:
                _between(grid, y, (t, last), v, out[c, q], noise[2][c], noise[1][c])


@loop
def _local_crossing(
    grid: Floats,
    what: tuple[Floats, float, int],
    place: tuple[int, int],
    noise: Noise,
    window: tuple[int, Floats],
    lean: Floats,
    out: Floats,
) -> bool:
    """By a parabola through the logarithm around the place; False where it does not cross near it."""
    y, t, at = what
    c, q = place
    half, weights = window
    row = weights[0 if weights.shape[0] == 1 else at]
    level, slope, bend = -np.log(t), 0.0, 0.0
    for j in range(2 * half + 1):
        i = at - half + j
        if not y[i] > 0.0:
            return False
        loss = noise[0][c, i] / (y[i] * y[i])
        log = np.log(y[i]) + (0.5 * loss if 0.0 < loss < 0.25 else 0.0)
        level += row[0, j] * log
        slope += row[1, j] * log
        bend += row[2, j] * log
    x = -level / slope
    for _ in range(3):
        x = -(level + bend * x * x / 2.0) / slope
    steep = slope + bend * x
    if not (slope > 0.0 and steep > 0.25 * slope and abs(x) < grid[at + half] - grid[at]):
        return False
    for j in range(2 * half + 1):
        lean[j] = (row[0, j] + x * row[1, j] + x * x / 2.0 * row[2, j]) / (steep * y[at - half + j])
    out[c, q, 0] = grid[at] + x
    out[c, q, 1] = spread(lean[: 2 * half + 1], at - half, c, noise)
    return True


@loop
def _between(
    grid: Floats,
    y: Floats,
    what: tuple[float, int],
    v: Floats,
    out: Floats,
    freedom: Floats,
    floor: Floats,
) -> None:
    """Between two neighbouring points, in the logarithm where both are above zero."""
    t, i = what
    low, high, step = y[i], y[i + 1], grid[i + 1] - grid[i]
    if low > 0.0:
        part = np.log(t / low) / np.log(high / low)
        slope = np.log(high / low) / step
        left, right = (1.0 - part) / (slope * low), part / (slope * high)
    else:
        part, slope = (t - low) / (high - low), (high - low) / step
        left, right = (1.0 - part) / slope, part / slope
    out[0] = grid[i] + part * step
    out[1] = widened(
        left * left * v[i] + right * right * v[i + 1],
        left * left * floor[i] + right * right * floor[i + 1],
        freedom,
    )


@loop
def _steepest_decade(logs: Floats, clear: Floats, table: tuple[Index, Floats]) -> tuple[int, int]:
    """Row of the narrowest half width that holds a decade somewhere, and the steepest place; else the steepest three points."""
    halves, weights = table
    n = logs.size
    rest, rest_slope = -1, 0.0
    for k in range(halves.size):
        half, best, at = halves[k], 0.0, -1
        for p in range(half, n - half):
            if clear[p + half + 1] - clear[p - half] < 2 * half + 1:
                continue
            row = weights[k, 0 if weights.shape[1] == 1 else p]
            slope = dot_at(row[1], logs, p - half, 2 * half + 1)
            if k == 0 and slope > rest_slope:
                rest, rest_slope = p, slope
            if logs[p + half] - logs[p - half] >= 1.0 and slope > best:
                best, at = slope, p
        if at >= 0:
            return k, at
    return 0, rest


@loop
def fill_steepest_logs(
    curves: Floats, noise: Noise, table: tuple[Index, Floats], usable: Floats, out: Floats
) -> None:
    """Slope of log₁₀ y over the narrowest window that holds a decade of points above ``usable``: slope, error, place, half width,
    log there, its error, covariance of both, span in decades. Without a decade the steepest three points.
    """
    halves, weights = table
    n = curves.shape[1]
    logs, clear = np.empty(n), np.empty(n + 1)
    lean, other = np.empty(weights.shape[3]), np.empty(weights.shape[3])
    for c in range(curves.shape[0]):
        y, v = curves[c], noise[0][c]
        clear[0] = 0.0
        for j in range(n):
            good = y[j] > usable[c, j]
            clear[j + 1] = clear[j] + (1.0 if good else 0.0)
            loss = v[j] / (y[j] * y[j])
            logs[j] = (
                (np.log(y[j]) + (0.5 * loss if 0.0 < loss < 0.25 else 0.0)) / np.log(10.0) if good else 0.0
            )
        chosen, at = _steepest_decade(logs, clear, table)
        if at < 0:
            continue
        half = halves[chosen]
        row = weights[chosen, 0 if weights.shape[1] == 1 else at]
        near = logs[at - half : at + half + 1]
        out[c, 0], out[c, 2], out[c, 3] = dot(row[1], near), at, half
        out[c, 4], out[c, 7] = dot(row[0], near), near[2 * half] - near[0]
        for j in range(2 * half + 1):
            unit = y[at - half + j] * np.log(10.0)
            lean[j], other[j] = row[1, j] / unit, row[0, j] / unit
        out[c, 1] = spread(lean[: 2 * half + 1], at - half, c, noise)
        out[c, 5] = spread(other[: 2 * half + 1], at - half, c, noise)
        total = 0.0
        for j in range(2 * half + 1):
            total += lean[j] * other[j] * v[at - half + j]
        out[c, 6] = total
        if out[c, 1] > QUIET * out[c, 0]:
            _too_steep(logs, clear, (halves, weights), (chosen, at), out[c])


@loop
def _too_steep(
    logs: Floats, clear: Floats, table: tuple[Index, Floats], what: tuple[int, int], out: Floats
) -> None:
    """Takes off by what the steepest of windows that are alike is too steep, and adds what other widths would tell to the error."""
    halves, weights = table
    k, at = what
    half, n, error, alike = halves[k], logs.size, out[1], 0
    for p in range(half, n - half):
        if clear[p + half + 1] - clear[p - half] == 2 * half + 1:
            slope = dot_at(weights[k, 0 if weights.shape[1] == 1 else p, 1], logs, p - half, 2 * half + 1)
            if slope >= out[0] - 2.0 * error:
                alike += 1
    luck = _luck(max(alike, 1), 2 * half + 1) * error
    # Whether a width holds a decade is told by two noisy points; their error follows from that of the slope.
    doubt = 4.0 * error * abs(out[7]) / out[0] * np.sqrt(half + 1.0)
    more = 0.0
    for q in (k - 1, k + 1):
        if q < 0 or q >= halves.size:
            continue
        wide = halves[q]
        if at < wide or at + wide >= n or clear[at + wide + 1] - clear[at - wide] < 2 * wide + 1:
            continue
        span = logs[at + wide] - logs[at - wide] if q < k else out[7]
        if abs(span - 1.0) <= doubt:
            row = weights[q, 0 if weights.shape[1] == 1 else at, 1]
            shift = dot_at(row, logs, at - wide, 2 * wide + 1) - out[0]
            more = max(more, shift * shift - error * error)
    out[0] -= luck
    out[1] = np.sqrt(error * error + luck * luck / 3.0 + max(more, 0.0))


@loop
def fill_log_lines(grid: Floats, curves: Floats, noise: Noise, windows: Index, out: Floats) -> None:
    """Straight line through log₁₀ y between two places: slope, its error, decades it covers."""
    lean, logs = np.empty(grid.size), np.empty(grid.size)
    for c in range(curves.shape[0]):
        a, b = windows[c, 0], windows[c, 1]
        y, v = curves[c], noise[0][c]
        mean, clear = 0.0, b - a >= 2
        for i in range(a, b + 1):
            mean += grid[i] / (b + 1 - a)
            clear = clear and y[i] > 0.0
        if not clear:
            continue
        total, squares = 0.0, 0.0
        for i in range(a, b + 1):
            loss = v[i] / (y[i] * y[i])
            logs[i] = (np.log(y[i]) + (0.5 * loss if 0.0 < loss < 0.25 else 0.0)) / np.log(10.0)
            total += (grid[i] - mean) * logs[i]
            squares += (grid[i] - mean) ** 2
        for i in range(a, b + 1):
            lean[i] = (grid[i] - mean) / squares / (y[i] * np.log(10.0))
        out[c, 0], out[c, 2] = total / squares, logs[b] - logs[a]
        out[c, 1] = spread(lean[a : b + 1], a, c, noise)
