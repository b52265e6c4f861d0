"""Heights along a line: piecewise linear, with jumps."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from filmwright.numerics.coverage import polygonal
from filmwright.numerics.region import GRID_NM, Region

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Profile:
    """A height that is linear between neighbouring places and may jump at them.

    Attributes
    ----------
    x0, x1, z0, z1 : array (n,) [nm]
        Ends of each piece and the heights there, from left to right.
    """

    x0: Floats
    x1: Floats
    z0: Floats
    z1: Floats

    @property
    def points(self) -> Floats:
        """The profile as a polyline with vertical jumps, array (m, 2) [nm]."""
        both = np.column_stack([self.x0, self.z0, self.x1, self.z1]).reshape(-1, 2)
        again = np.concatenate([[True], np.any(np.abs(np.diff(both, axis=0)) > GRID_NM / 2, axis=1)])
        return np.asarray(both[again])

    @property
    def area(self) -> float:
        """Integral of the height [nm²]."""
        return float(np.sum((self.x1 - self.x0) * (self.z0 + self.z1) / 2))

    def runs(self, tolerance: float = GRID_NM) -> list[slice]:
        """The stretches without a jump."""
        jump = (np.abs(self.z1[:-1] - self.z0[1:]) > tolerance) | (
            np.abs(self.x1[:-1] - self.x0[1:]) > GRID_NM / 2
        )
        cuts = [0, *(np.flatnonzero(jump) + 1).tolist(), len(self.x0)]
        return [slice(a, b) for a, b in pairwise(cuts)]

    def __getitem__(self, part: slice | NDArray[np.bool_]) -> Profile:
        return Profile(self.x0[part], self.x1[part], self.z0[part], self.z1[part])


def lifted(profile: Profile, height: float) -> Region:
    """The region between a profile and the same profile moved up by ``height`` [nm]."""
    pieces = []
    for run in profile.runs():
        line = profile[run].points
        pieces.append(shapely.Polygon(np.vstack([line, line[::-1] + np.array([0.0, height])])))
    return Region(polygonal(shapely.union_all(pieces, grid_size=GRID_NM)))


def _mirrored(profile: Profile) -> Profile:
    """The profile with its mirror images at both ends."""
    left, right = profile.x0[0], profile.x1[-1]
    return Profile(
        np.concatenate([2 * left - profile.x1[::-1], profile.x0, 2 * right - profile.x1[::-1]]),
        np.concatenate([2 * left - profile.x0[::-1], profile.x1, 2 * right - profile.x0[::-1]]),
        np.concatenate([profile.z1[::-1], profile.z0, profile.z1[::-1]]),
        np.concatenate([profile.z0[::-1], profile.z1, profile.z0[::-1]]),
    )


def _second_integral(profile: Profile) -> Any:
    width = profile.x1 - profile.x0
    slope = (profile.z1 - profile.z0) / width
    area = np.concatenate([[0.0], np.cumsum(width * (profile.z0 + profile.z1) / 2)])[:-1]
    step = area * width + profile.z0 * width**2 / 2 + slope * width**3 / 6
    base = np.concatenate([[0.0], np.cumsum(step)])[:-1]

    def at(x: Floats) -> Floats:
        k = np.clip(np.searchsorted(profile.x0, x, side="right") - 1, 0, len(width) - 1)
        u = x - profile.x0[k]
        return np.asarray(base[k] + area[k] * u + profile.z0[k] * u**2 / 2 + slope[k] * u**3 / 6)

    return at


def tent_smoothed(profile: Profile, reach: float, tolerance: float = 0.05) -> Floats:
    """A profile averaged with a tent of half-width ``reach``, as a polyline (n, 2) [nm].

    The tent is the second difference of a step, so the average is the second difference of the profile's
    second integral: exact at every place, and its integral is that of the profile, which is mirrored at both
    ends.

    Parameters
    ----------
    profile : Profile
    reach : float [nm]
        Half-width of the tent, at most the length of the profile.
    tolerance : float [nm]
        By how much the polyline may differ from the curve.
    """
    left, right = float(profile.x0[0]), float(profile.x1[-1])
    reach = min(reach, right - left)
    level = float(np.min(np.concatenate([profile.z0, profile.z1])))
    shifted = Profile(profile.x0, profile.x1, profile.z0 - level, profile.z1 - level)
    step = float(np.max(np.concatenate([shifted.z0, shifted.z1, [tolerance]])))
    if step <= tolerance:
        return np.array([[left, level + step / 2], [right, level + step / 2]])
    integral = _second_integral(_mirrored(shifted))
    spacing = reach * min(0.25, float(np.sqrt(4 * tolerance / step)))
    breaks = np.unique(np.concatenate([profile.x0, profile.x1]))
    breaks = np.concatenate([breaks, breaks - reach, breaks + reach])
    near = np.concatenate([np.arange(left, right, spacing), breaks, [right]])
    x = np.unique(near[(near >= left) & (near <= right)])
    z = level + (integral(x + reach) - 2 * integral(x) + integral(x - reach)) / reach**2
    return np.asarray(
        shapely.get_coordinates(shapely.simplify(shapely.linestrings(np.column_stack([x, z])), tolerance))
    )


def under(line: Floats, base: float) -> Region:
    """The region between a polyline that runs to the right and a level ``base`` [nm] below it."""
    ends = np.array([[line[-1, 0], base], [line[0, 0], base]])
    return Region(shapely.Polygon(np.vstack([line, ends])))


def over(profile: Profile, ceiling: float) -> Region:
    """The region between a profile without gaps and a level ``ceiling`` [nm] above it."""
    line = profile.points
    ends = np.array([[line[-1, 0], ceiling], [line[0, 0], ceiling]])
    return Region(polygonal(shapely.make_valid(shapely.Polygon(np.vstack([line, ends])))))
