"""Loops: tangents at the steepest place and peaks of derivatives of many curves, with their errors.

A curve's noise is a triple of arrays: variance of each point, the part of it that comes from the floor (both (n_curves, n_points)),
and degrees of freedom of floor and share (n_curves, 2). Variances that are not finite count as zero where a window is chosen.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from filmwright.numerics.interpreted import arrays_instead, loop

Floats = NDArray[np.float64]
Index = NDArray[np.intp]
Noise = tuple[Floats, Floats, Floats]

QUIET = 1e-5
"""Relative error of a derivative below which no wider window is tried."""


@loop
def dot(weights: Floats, values: Floats) -> float:
    total = 0.0
    for j in range(values.size):
        total += weights[j] * values[j]
    return total


@loop
def dot_at(weights: Floats, values: Floats, first: int, size: int) -> float:
    """Weights times so many values from one on; quicker than a slice."""
    return dot(weights, values[first : first + size])


@loop
def widened(total: float, floor: float, freedom: Floats) -> float:
    """Standard deviation widened as Student's t is beside the normal one, degrees of freedom after Welch and Satterthwaite."""
    share = max(total - floor, 0.0)
    if not total > 0.0:
        return float(np.sqrt(total))
    inverse = (floor * floor / freedom[0] + share * share / freedom[1]) / (total * total)
    inverse = min(inverse, 0.4)
    return float(np.sqrt(total) * (1.0 + inverse * (1.21 + inverse * (1.44 + inverse * 0.9))))


@loop
def spread(lean: Floats, first: int, row: int, noise: Noise) -> float:
    """Error of a number that leans on the points from ``first`` on with these derivatives."""
    total, floor = 0.0, 0.0
    for j in range(lean.size):
        square = lean[j] * lean[j]
        total += square * noise[0][row, first + j]
        floor += square * noise[1][row, first + j]
    return widened(total, floor, noise[2][row])


@loop
def _bound(value: float, error: float) -> float:
    """What a value surely reaches; a value that is mostly error is worth much less than itself less its error."""
    if value <= 0.0:
        return value - error
    return value - error * (1.0 + error / value)


def _filtered(weights: Floats, curve: Floats, bounds: tuple[int, int, int], out: Floats) -> None:
    """As ``filtered``, written out for the compiler."""
    half, first, last = bounds
    if weights.shape[0] > 1:
        for p in range(first, last + 1):
            out[p] = dot_at(weights[p], curve, p - half, 2 * half + 1)
        return
    # Slices from zero on spare the check for places counted from the end, so that the loop runs in the vector unit; four points at
    # a time spare most of the loads and stores of the sum.
    w, there, count = weights[0], out[first : last + 1], last + 1 - first
    here = curve[first - half : last + 1]
    first_weight = w[0]
    for i in range(count):
        there[i] = first_weight * here[i]
    for j in range(1, 2 * half - 2, 4):
        a, b = curve[first + j - half : last + half + 1], curve[first + j + 1 - half : last + half + 1]
        c, d = curve[first + j + 2 - half : last + half + 1], curve[first + j + 3 - half : last + half + 1]
        wa, wb, wc, wd = w[j], w[j + 1], w[j + 2], w[j + 3]
        for i in range(count):
            there[i] += wa * a[i] + wb * b[i] + wc * c[i] + wd * d[i]
    if half % 2 == 1:
        j = 2 * half - 1
        a, b = curve[first + j - half : last + half + 1], curve[first + j + 1 - half : last + half + 1]
        wa, wb = w[j], w[j + 1]
        for i in range(count):
            there[i] += wa * a[i] + wb * b[i]


@arrays_instead(_filtered)
def filtered(weights: Floats, curve: Floats, bounds: tuple[int, int, int], out: Floats) -> None:
    """Weights (n_places, …) times the curve at every place from first to last, of a half width: quick where the steps are equal."""
    half, first, last = bounds
    near, size = curve[first - half : last + half + 1], 2 * half + 1
    if weights.shape[0] > 1:
        windows = np.lib.stride_tricks.sliding_window_view(near, size)
        out[first : last + 1] = np.einsum("ij,ij->i", weights[first : last + 1, :size], windows)
    else:
        out[first : last + 1] = np.correlate(near, weights[0, :size], mode="valid")


def _derivatives(curve: Floats, table: tuple[Index, Floats], what: tuple[int, int, int], out: Floats) -> None:
    """As ``derivatives``, written out for the compiler: by running sums where the steps are equal and a parabola is all there is."""
    halves, weights = table
    order, a, b = what
    if weights.shape[1] > 1 or weights.shape[2] > 3:
        for k in range(halves.size):
            half = halves[k]
            if b - a >= 2 * half:
                filtered(weights[k, :, order], curve, (half, a + half, b - half), out[k])
        return
    # Sums of the points, of them times their place counted from the middle, and times that squared: any window is the difference of
    # two, whatever its width. Where a derivative is largest is looked for with them; it is then read by the weights themselves.
    n, near = b + 1 - a, curve[a : b + 1]
    sums = np.zeros((3, n + 1))
    for i in range(n):
        x = i - 0.5 * (n - 1)
        sums[0, i + 1] = sums[0, i] + near[i]
        sums[1, i + 1] = sums[1, i] + x * near[i]
        sums[2, i + 1] = sums[2, i] + x * x * near[i]
    for k in range(halves.size):
        half = halves[k]
        if 2 * half >= n:
            return
        w, there, first = weights[k, 0, order], out[k, a + half : b + 1 - half], half - 0.5 * (n - 1)
        from_0, to_0, from_1, to_1 = sums[0], sums[0, 2 * half + 1 :], sums[1], sums[1, 2 * half + 1 :]
        if order == 1:
            steep = w[half + 1]
            for i in range(n - 2 * half):
                there[i] = steep * ((to_1[i] - from_1[i]) - (i + first) * (to_0[i] - from_0[i]))
            continue
        from_2, to_2 = sums[2], sums[2, 2 * half + 1 :]
        level, bend = w[half], w[half + 1] - w[half]
        for i in range(n - 2 * half):
            x, points = i + first, to_0[i] - from_0[i]
            squares = (to_2[i] - from_2[i]) - x * (2.0 * (to_1[i] - from_1[i]) - x * points)
            there[i] = level * points + bend * squares


@arrays_instead(_derivatives)
def derivatives(curve: Floats, table: tuple[Index, Floats], what: tuple[int, int, int], out: Floats) -> None:
    """Derivatives of an order by each half width between two places, where the window lies between them: ``what`` is order, first, last."""
    halves, weights = table
    order, a, b = what
    for k in range(halves.size):
        half = halves[k]
        if b - a >= 2 * half:
            filtered(weights[k, :, order], curve, (half, a + half, b - half), out[k])


@loop
def shared_out(weights: Floats, parts: Floats, bounds: tuple[int, int, int], out: Floats) -> None:
    """What each point adds to a sum of filtered values, each times its part, from first to last: ``filtered`` turned round."""
    half, first, last = bounds
    there = out[first - half : last + half + 1]
    there[:] = 0.0
    if weights.shape[0] > 1:
        for i in range(first, last + 1):
            row, near, part = weights[i], out[i - half : i + half + 1], parts[i]
            for j in range(near.size):
                near[j] += part * row[j]
        return
    row, here = weights[0], parts[first : last + 1]
    for j in range(2 * half + 1):
        w, near = row[j], there[j:]
        for i in range(here.size):
            near[i] += w * here[i]


@loop
def _best_place(
    std: Floats, slopes: Floats, table: tuple[Index, Floats, Floats], order: int, caution: float
) -> tuple[int, int, int]:
    """Row of the half width and place at which the derivative less so many of its errors is largest, and how many rows were tried.

    ``slopes``: derivatives by each half width (n_halves, n_points).
    """
    halves, _, gains = table
    best, chosen, at = -np.inf, -1, -1
    one = gains.shape[1] == 1
    for k in range(halves.size):
        half = halves[k]
        careful = caution + np.sqrt(2.0 * np.log(std.size / half))
        top, place = -np.inf, half
        for p in range(half, std.size - half):
            value = slopes[k, p]
            # A value bounds itself from above: most places need no more than this comparison.
            if value > top:
                bound = _bound(value, careful * gains[k, 0 if one else p, order] * std[p])
                if bound > top:
                    top, place = bound, p
        if top > best:
            best, chosen, at = top, k, place
        if gains[k, 0 if one else place, order] * std[place] < QUIET * top:
            return chosen, at, k + 1
    return chosen, at, halves.size


@loop
def at_offset(row: Floats, ahead: float, order: int, size: int, out: Floats) -> None:
    """Weights of value (order 0) or slope (order 1) of a parabola at a distance from the middle of its window."""
    for j in range(size):
        if order == 0:
            out[j] = row[0, j] + ahead * (row[1, j] + ahead / 2.0 * row[2, j])
        else:
            out[j] = row[1, j] + ahead * row[2, j]


@loop
def reach_of(row: Floats, half: int) -> float:
    """Distance from the middle of an even window to its end, from the weights of the slope."""
    step = 0.0
    for j in range(2 * half + 1):
        step += row[1, j] * (j - half)
    return half / step


@loop
def fill_tangents(
    curves: Floats,
    noise: Noise,
    table: tuple[Index, Floats, Floats],
    rule: tuple[float, int],
    out: Floats,
) -> None:
    """Place, half width, value, slope, its error, value over slope, its error, scatter of that over places as steep."""
    halves, weights, _ = table
    caution, narrower = rule
    count = curves.shape[1]
    one = weights.shape[1] == 1
    std, slopes = np.empty(count), np.empty((halves.size, count))
    lean, level, steep = np.empty(weights.shape[3]), np.empty(weights.shape[3]), np.empty(weights.shape[3])
    for c in range(curves.shape[0]):
        curve = curves[c]
        out[c, 0] = 0
        for j in range(count):
            v = noise[0][c, j]
            std[j] = np.sqrt(v) if v > 0.0 else 0.0
        derivatives(curve, (halves, weights), (1, 0, count - 1), slopes)
        wide, at, tried = _best_place(std, slopes, table, 1, caution)
        if wide < 0:
            continue
        k = max(wide - narrower, 0)
        half = halves[k]
        ahead, place = 0.0, at
        if at == count - 1 - halves[wide]:
            k, half, place = wide, halves[wide], count - 1
            ahead = reach_of(weights[k, 0 if one else at], half)
        size = 2 * half + 1
        row = weights[k, 0 if one else at]
        at_offset(row, ahead, 0, size, level)
        at_offset(row, ahead, 1, size, steep)
        near = curve[at - half : at + half + 1]
        value, slope = dot(level, near), dot(steep, near)
        arm = value / slope
        for j in range(size):
            lean[j] = (level[j] - arm * steep[j]) / slope
        out[c, 0], out[c, 1], out[c, 2], out[c, 3], out[c, 5] = place, half, value, slope, arm
        out[c, 4] = spread(steep[:size], at - half, c, noise)
        out[c, 6] = spread(lean[:size], at - half, c, noise)
        out[c, 7], out[c, 8] = 0.0, 0.0
        if ahead == 0.0:
            out[c, 7] = _scatter(curve, (weights[k], half), (at, halves[wide]), out[c])
            out[c, 8] = _hidden(std, slopes, table, min(wide + 1, tried), out[c])


@loop
def _hidden(
    std: Floats, slopes: Floats, table: tuple[Index, Floats, Floats], rows: int, read: Floats
) -> float:
    """Largest square by which the slope is exceeded, beyond noise, at places that are known as well."""
    halves, _, gains = table
    one = gains.shape[1] == 1
    most = 0.0
    for k in range(min(rows, 7)):
        for p in range(halves[k], std.size - halves[k]):
            more = slopes[k, p] - read[3]
            if more > 0.0:
                error = gains[k, 0 if one else p, 1] * std[p]
                if error <= 1.5 * read[4]:
                    most = max(most, more * more - 2.0 * (error * error + read[4] * read[4]))
    return most


@loop
def _scatter(curve: Floats, window: tuple[Floats, int], around: tuple[int, int], read: Floats) -> float:
    """Largest square by which the intercept at places that are as steep differs beyond its noise."""
    weights, half = window
    at, reach = around
    one = weights.shape[0] == 1
    row = weights[0 if one else at]
    step = reach_of(row, half) / half
    most = 0.0
    for p in range(max(half, at - reach), min(curve.size - half, at + reach + 1)):
        row = weights[0 if one else p]
        near = curve[p - half : p + half + 1]
        slope = dot(row[1], near)
        if slope >= read[3] - 2.0 * read[4]:
            shift = step * (p - at) - (dot(row[0], near) / slope - read[5])
            most = max(most, shift * shift - 4.0 * read[6] * read[6])
    return most


@loop
def _shape_of_peak(
    curve: Floats, table: tuple[Index, Floats, Floats], what: tuple[int, int, int], shift: float, error: float
) -> float:
    """Square by which the wider window places the peak elsewhere, beyond noise: what shape adds to the narrower one at most."""
    halves, weights, _ = table
    order, k, at = what
    half, row = halves[k], 0 if weights.shape[1] == 1 else at
    near = curve[at - half : at + half + 1]
    bend = dot(weights[k, row, order + 2, : near.size], near)
    if not bend < 0.0:
        return error * error
    moved = -dot(weights[k, row, order + 1, : near.size], near) / bend - shift
    return float(max(2.0 * moved * moved - error * error, 0.0))


@loop
def _breadth_of_peak(heights: Floats, what: tuple[Floats, int, int], error: float, noise: Floats) -> float:
    """Square of how far beyond the window the derivative is as high as at the peak: on a plateau there is no peak."""
    row, half, at = what
    step, far = reach_of(row, half) / half, 0
    for p in range(half, heights.size - half):
        # What is as high by its noise alone is left out.
        if abs(p - at) > far and heights[p] >= heights[at] - error and heights[p] > 4.0 * noise[p]:
            far = abs(p - at)
    return float((max(far - half, 0) * step) ** 2 / 4.0)


@loop
def fill_peaks(
    curves: Floats,
    noise: Noise,
    table: tuple[Index, Floats, Floats],
    rule: tuple[int, float, int],
    out: Floats,
) -> None:
    """Place, half width, shift of the peak from the place, its error, height and its error, of each curve."""
    halves, weights, gains = table
    order, caution, narrower = rule
    count = curves.shape[1]
    std, lean = np.empty(count), np.empty(weights.shape[3])
    slopes = np.empty((halves.size, count))
    for c in range(curves.shape[0]):
        curve = curves[c]
        for j in range(count):
            v = noise[0][c, j]
            std[j] = np.sqrt(v) if v > 0.0 else 0.0
        derivatives(curve, (halves, weights), (order, 0, count - 1), slopes)
        wide, at, _ = _best_place(std, slopes, table, order, caution)
        out[c, 0] = 0
        if wide < 0:
            continue
        k = max(wide - narrower, 0)
        half, row = halves[k], 0 if weights.shape[1] == 1 else at
        near = curve[at - half : at + half + 1]
        height, turn = dot(weights[k, row, order], near), dot(weights[k, row, order + 1], near)
        bend = dot(weights[k, row, order + 2], near)
        shift = -turn / bend
        for j in range(near.size):
            lean[j] = -(weights[k, row, order + 1, j] + shift * weights[k, row, order + 2, j]) / bend
        out[c, 0], out[c, 1], out[c, 4] = at, half, height
        out[c, 5] = spread(weights[k, row, order, : near.size], at - half, c, noise)
        if bend < 0.0:
            out[c, 2] = shift
            error = spread(lean[: near.size], at - half, c, noise)
            more = _shape_of_peak(curve, table, (order, wide, at), shift, error)
            reach = halves[wide]
            there = spread(weights[wide, row, order, : 2 * reach + 1], at - reach, c, noise)
            # Of the third derivative noise alone is as high elsewhere, where the current is large.
            if order == 2:
                noisy = gains[wide, 0 if gains.shape[1] == 1 else at, order]
                more += _breadth_of_peak(slopes[wide], (weights[wide, row], reach, at), there, noisy * std)
            out[c, 3] = np.sqrt(error * error + more)
