"""The period of shapes along an axis, and lines that cut them along it."""

from __future__ import annotations

from collections.abc import Hashable, Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

FEWEST = 3
"""So many times must something repeat before its distance is a period."""

_SAME_NM = 1.0
_TRIED = 64


def period_of(boxes: Floats, forms: Sequence[Hashable], points: Floats, axis: int, window: Floats) -> Floats:
    """Lines across an axis that cut a window along the period of its shapes, the ends of the window included.

    The period is the largest distance at which shapes of one form lie in even steps. The lines run where they cut the fewest
    shapes, in the middle of the widest such stretch without a corner.

    Parameters
    ----------
    boxes : array (n, 4) [nm]
        Of the shapes.
    forms : sequence of n hashables
        Equal for shapes of the same form.
    points : array (k, 2) [nm]
        All corners.
    axis : int
        0: along x.
    window : array (4,) [nm]
    """
    ends = window[[axis, axis + 2]]
    pitch = _pitch(boxes[:, axis], forms)
    if pitch is None or ends[1] - ends[0] < 2 * pitch:
        return ends
    phase = _phase(boxes[:, [axis, axis + 2]], points[:, axis], pitch)
    first = np.ceil((ends[0] - phase) / pitch)
    lines = phase + pitch * np.arange(first, np.floor((ends[1] - phase) / pitch) + 1)
    inner = lines[(lines > ends[0] + _SAME_NM) & (lines < ends[1] - _SAME_NM)]
    return np.concatenate([ends[:1], inner, ends[1:]])


def _phase(spans: Floats, corners: Floats, pitch: float) -> float:
    """Where within a period the lines cut the fewest shapes, which reach from and to along the axis, array (n, 2)."""
    phases = np.unique(np.mod(corners, pitch))
    gaps = np.diff(np.append(phases, phases[0] + pitch))
    widest = np.argsort(-gaps, kind="stable")[:_TRIED]
    # Whole nanometres, so that tiles are moved onto each other without rounding.
    tried = np.rint(phases[widest] + gaps[widest] / 2)
    crossed = [np.diff(np.floor((spans - phase) / pitch), axis=1).sum() for phase in tried]
    return float(tried[int(np.argmin(crossed))])


def _pitch(places: Floats, forms: Sequence[Hashable]) -> float | None:
    """The largest step at which shapes of one form lie evenly; None where none does."""
    groups: dict[Hashable, list[float]] = {}
    for form, place in zip(forms, places.tolist(), strict=True):
        groups.setdefault(form, []).append(place)
    found = [step for group in groups.values() if (step := _step(np.unique(group))) is not None]
    return max(found, default=None)


def _step(places: Floats) -> float | None:
    if len(places) < FEWEST:
        return None
    steps = np.diff(places)
    least = float(steps.min())
    even = np.abs(steps / least - np.rint(steps / least)) * least < _SAME_NM
    return least if least > _SAME_NM and even.all() else None
