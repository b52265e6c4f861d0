"""What the makers of figures share: fitting units, lines through windows, arrows of direction."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from filmwright.outputs.plot import Arrow, FloatArray, Span, Tangent
from filmwright.units import DIMENSIONS, plain, show, write

_ARROW = 0.05
"""Length of an arrow as a share of the panel."""


def best_unit(values: Sequence[FloatArray], dimension: str) -> str:
    """The unit in which the largest value reads best, as printed.

    Parameters
    ----------
    values : sequence of array [SI]
    dimension : str
        A key of :data:`filmwright.units.DIMENSIONS`.
    """
    finite = [np.abs(each[np.isfinite(each)]) for each in values]
    largest = max((float(each.max()) for each in finite if each.size), default=0.0)
    return show(largest, dimension).split(" ")[-1] if largest else DIMENSIONS[dimension].shown[-1]


def in_unit(values: FloatArray, unit: str) -> FloatArray:
    """Values in SI as numbers in a unit without offset."""
    return np.asarray(values, dtype=float) * plain(1.0, unit)


def printed_unit(unit: str) -> str:
    """A unit as it is printed, ``1`` for a pure number."""
    return write(1.0, unit).partition(" ")[2] or "1" if unit else "1"


def positive(values: FloatArray) -> FloatArray:
    """Sizes for a logarithmic axis; what is zero is left out."""
    size = np.abs(values)
    return np.where(size > 0, size, np.nan)


def direction_arrow(
    x: FloatArray,
    y: FloatArray,
    *,
    rising: bool,
    share: float,
    log: bool = False,
    ink: int = 0,
    label: str = "",
) -> Arrow | None:
    """An arrow along a curve where it has climbed to ``share`` of its height; None for a curve without height.

    Parameters
    ----------
    x, y : array (n,)
        x rising.
    rising : bool
        Whether x rose while the curve was measured.
    share : float
        From 0 to 1.
    log : bool
        The vertical axis is logarithmic.
    ink : int
    label : str
    """
    height = np.log10(positive(y)) if log else y
    good = np.flatnonzero(np.isfinite(height))
    if good.size < 3 or np.ptp(height[good]) == 0:
        return None
    across = (x[good] - x[good[0]]) / np.ptp(x[good])
    up = (height[good] - height[good].min()) / np.ptp(height[good])
    tail = int(np.argmin(np.abs(up - share)))
    away = np.hypot(across - across[tail], up - up[tail])
    after = np.flatnonzero(away[tail:] >= _ARROW)
    head = tail + int(after[0]) if after.size else len(good) - 1
    if head == tail:
        tail -= 1
    ends = [(float(x[good[at]]), float(abs(y[good[at]]) if log else y[good[at]])) for at in (tail, head)]
    first, last = ends if rising else ends[::-1]
    return Arrow(tail=first, head=last, ink=ink, label=label)


def tangent_from(
    foot: float,
    window: tuple[float, float],
    x: FloatArray,
    y: FloatArray,
    *,
    label: str,
    ink: int = 0,
    slope: float | None = None,
) -> tuple[Tangent, Span]:
    """The line from its foot on the horizontal axis through the points of a window, with the window.

    Equation: y = slope·(x − foot); without a slope, the one of least squares through the foot.

    Parameters
    ----------
    foot : float
        Where the line meets zero.
    window : tuple of float
    x, y : array (n,)
    label : str
    ink : int
    slope : float or None
    """
    low, high = min(window), max(window)
    margin = 1e-9 * (abs(low) + abs(high))
    inside = (x >= low - margin) & (x <= high + margin)
    arm = x[inside] - foot
    if slope is None:
        slope = float(np.sum(y[inside] * arm) / np.sum(arm**2)) if np.any(arm) else 0.0
    middle = (low + high) / 2.0
    beyond = middle + (middle - foot) * 0.6
    end = float(np.clip(beyond, x.min(), x.max()))
    if (end - middle) * (middle - foot) < 0:
        end = middle
    line = Tangent(start=(foot, 0.0), end=(end, slope * (end - foot)), foot=(foot, 0.0), label=label, ink=ink)
    return line, Span(low=low, high=high, label=f"window of {label}", ink=ink)
