"""Width and length of a channel as drawn: read off the edges of the masks, without any bias or undercut."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from filmwright.numerics import Region
from filmwright.units import convert, to_si
from filmwright.wafer import Device

Real = NDArray[np.float64]
_BIN_NM = convert(to_si(100, "um"), "nm")
_REACH_NM = convert(to_si(1.5, "um"), "nm")
"""A drawn edge farther than this from the made one is another edge (judgement: no print bias is larger)."""

_PART = 0.4
"""… and so is one farther than this part of the size itself."""


class DrawnEdges:
    """The edges of all mask levels, to be asked near which of them a line runs.

    Parameters
    ----------
    levels : iterable of Region [nm]
    """

    def __init__(self, levels: Iterable[Region]) -> None:
        rings = [ring for level in levels for ring in level.rings()]
        self.ends: Real = np.vstack(
            [np.hstack((ring[:-1], ring[1:])) for ring in rings] or [np.empty((0, 4))]
        )
        self.bins: dict[tuple[int, int], list[int]] = {}
        low = np.floor(np.minimum(self.ends[:, :2], self.ends[:, 2:]) / _BIN_NM).astype(int)
        high = np.floor(np.maximum(self.ends[:, :2], self.ends[:, 2:]) / _BIN_NM).astype(int)
        for k, ((i0, j0), (i1, j1)) in enumerate(zip(low.tolist(), high.tolist(), strict=True)):
            for i in range(i0, i1 + 1):
                for j in range(j0, j1 + 1):
                    self.bins.setdefault((i, j), []).append(k)

    def size(self, middle: tuple[float, float], towards: tuple[float, float], made: float) -> float | None:
        """Distance [nm] between the two drawn edges nearest to where a line through a middle leaves what was made.

        Parameters
        ----------
        middle : (x, y) [nm]
        towards : (dx, dy), length 1
        made : float [nm]

        Returns
        -------
        float or None [nm]
            None where no edge was drawn near one of the ends.
        """
        near = min(_REACH_NM, _PART * made)
        ends = []
        for side in (-0.5, 0.5):
            places = self._crossings(middle, towards, side * made, near)
            if not places.size:
                return None
            ends.append(float(places[np.argmin(np.abs(places - side * made))]))
        return ends[1] - ends[0]

    def _crossings(
        self, middle: tuple[float, float], towards: tuple[float, float], at: float, near: float
    ) -> Real:
        """Where edges cross a line, measured from its middle, around a place on it [nm]."""
        (x, y), (dx, dy) = middle, towards
        ends = [(x + (at + far) * dx, y + (at + far) * dy) for far in (-near, near)]
        i0, i1 = sorted(math.floor(end[0] / _BIN_NM) for end in ends)
        j0, j1 = sorted(math.floor(end[1] / _BIN_NM) for end in ends)
        found = {k for i in range(i0, i1 + 1) for j in range(j0, j1 + 1) for k in self.bins.get((i, j), ())}
        edges = self.ends[sorted(found)] - np.array([x, y, x, y])
        first, second = edges[:, :2] @ (-dy, dx), edges[:, 2:] @ (-dy, dx)
        crossing = (first > 0) != (second > 0)
        edges, first, second = edges[crossing], first[crossing], second[crossing]
        part = first / (first - second)
        places: Real = (edges[:, :2] + part[:, None] * (edges[:, 2:] - edges[:, :2])) @ (dx, dy)
        return places[np.abs(places - at) <= near]


def drawn_size(device: Device, edges: DrawnEdges) -> tuple[float | None, float | None]:
    """Width and length [m] of a straight channel as drawn; None where its edges are not found beside the made ones."""
    if not device.width or not device.length:
        return None, None
    dx, dy = device.towards
    width = edges.size(device.place, (-dy, dx), convert(device.width, "nm"))
    length = edges.size(device.place, (dx, dy), convert(device.length, "nm"))
    return (
        None if width is None else to_si(width, "nm"),
        None if length is None else to_si(length, "nm"),
    )
