"""Loops: noise of many curves as a floor and a share of the curve, from what third differences leave."""

from __future__ import annotations

import numpy as np

from filmwright.numerics.curve_tangents_loops import Floats
from filmwright.numerics.interpreted import loop

_KEPT_MEAN = 0.3684
"""Mean square of the smaller three quarters of normal numbers: [3/4 − 2·q·φ(q)]/(3/4), q = 1.1503."""
_CUT = 9.0
"""Squares beyond three standard deviations are left out …"""
_CUT_MEAN = 0.9733
"""… and the mean of the others over the variance: [0.9973 − 6·φ(3)]/0.9973."""
_SHARED = 2.4
"""Squares of neighbouring third differences that count as one: 1 + 2·Σρ² with ρ = −15/20, 6/20, −1/20."""
_ON = 0.05
"""Share of the largest value from which a point tells the share."""
_LOW = 10.0
"""A point tells the floor below so many floors."""


@loop
def _smaller_first(values: Floats, count: int, kept: int) -> None:
    """Bring the smallest ``kept`` of the first ``count`` values to the front, in any order (Hoare's selection)."""
    low, high = 0, count - 1
    while low < high:
        pivot = values[(low + high) // 2]
        i, j = low, high
        while i <= j:
            while values[i] < pivot:
                i += 1
            while pivot < values[j]:
                j -= 1
            if i <= j:
                values[i], values[j] = values[j], values[i]
                i += 1
                j -= 1
        if kept - 1 <= j:
            high = j
        elif kept - 1 >= i:
            low = i
        else:
            return


@loop
def _mean(values: Floats, count: int) -> float:
    total = 0.0
    for j in range(count):
        total += values[j]
    return total / count


@loop
def _largest(values: Floats) -> float:
    most = values[0]
    for j in range(1, values.size):
        most = max(most, values[j])
    return float(most)


@loop
def _middle(squares: Floats, count: int) -> float:
    """Variance from the smaller three quarters; the order of the squares is lost."""
    kept = max(1, count * 3 // 4)
    _smaller_first(squares, count, kept)
    mean = _mean(squares, kept) / _KEPT_MEAN
    return float(mean if mean > 0.0 else _mean(squares, count))


@loop
def _share(squares: Floats, sizes: Floats, floor: float, buffer: Floats) -> tuple[float, float]:
    """Square of the share, and how many points told it."""
    most, count = _largest(sizes), 0
    least = max(_ON * _ON * most, 4.0 * floor)
    if most < 30.0 * floor:
        return 0.0, 0.0
    for j in range(squares.size):
        if sizes[j] > least:
            buffer[count] = squares[j] / sizes[j]
            count += 1
    if count < 4:
        return 0.0, float(count)
    rough = _middle(buffer, count)
    total, used = 0.0, 0
    for j in range(squares.size):
        if sizes[j] > least and squares[j] <= _CUT * rough * sizes[j]:
            total += max(squares[j], 0.0) / sizes[j] - floor / sizes[j] * _CUT_MEAN
            used += 1
    return max(total / used / _CUT_MEAN, 0.0), float(used)


@loop
def _floor(squares: Floats, sizes: Floats, first: float, share: float) -> tuple[float, float]:
    """Square of the floor from all points that are low, and how many they are."""
    floor, used = first, 0
    for _ in range(2):
        total, used = 0.0, 0
        for j in range(squares.size):
            known = share * sizes[j]
            if (
                sizes[j] < _LOW * _LOW * floor
                and known < 0.5 * floor
                and squares[j] <= _CUT * (floor + known)
            ):
                total += squares[j] - known * _CUT_MEAN
                used += 1
        if used < 4:
            return first, float(used)
        floor = max(total / used / _CUT_MEAN, 0.25 * floor)
    return floor, float(used)


@loop
def fill_noise(curves: Floats, weights: Floats, out: Floats) -> None:
    """Floor, share and the degrees of freedom of both, of each curve; ``weights`` are those of third differences."""
    n = curves.shape[1]
    m = n - 3
    squares, sizes, buffer = np.empty(m), np.empty(m), np.empty(m)
    wide = max(n // 8, 8)
    for c in range(curves.shape[0]):
        y = curves[c]
        for j in range(m):
            left, size = 0.0, 0.0
            for q in range(4):
                left += weights[j, q] * y[j + q]
                size += weights[j, q] ** 2 * y[j + q] ** 2
            squares[j], sizes[j] = left * left, size
        total = 0.0
        for j in range(wide):
            total += sizes[j]
        least, quiet = total, 0
        for j in range(1, m - wide + 1):
            total += sizes[j + wide - 1] - sizes[j - 1]
            if total < least:
                least, quiet = total, j
        for j in range(wide):
            buffer[j] = squares[quiet + j]
        low = _middle(buffer, wide)
        typical = max(least, 0.0) / wide
        share, told = _share(squares, sizes, low, buffer)
        low = max(low - share * typical, 0.0)
        if low > 0.0:
            low, used = _floor(squares, sizes, low, share)
            share, told = _share(squares, sizes, low, buffer)
        else:
            used = float(wide)
        out[c, 0], out[c, 1] = np.sqrt(low), np.sqrt(share)
        out[c, 2], out[c, 3] = max(max(used, wide) / _SHARED, 2.5), max(told / _SHARED, 2.5)
