"""What arrives from above in a plane: a flux over angle, summed up so that the share from any interval is two look-ups.

Angles in the plane are measured from straight up, positive to the right, -pi/2 to pi/2. What is seen is the same all along the
third axis, so a distribution in space may be folded into the plane first: a radiance that falls with the power p of the cosine
in space falls with the same power in the plane.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

CELLS = 4096
"""Cells of the table of an integral over a quarter turn; linear interpolation errs by less than 1e-7."""
LEAST_TILT = 1e-4
"""Directions nearer to straight up than this [rad] are taken as this one: 0.1 nm beside over a height of 1 µm."""


@dataclass(frozen=True, eq=False)
class Sky:
    """A flux over angle, scaled so that open flat ground receives 1.

    Attributes
    ----------
    summed : function of angles, array (n,) [rad] → array (n, 2)
        The flux vector (to the side from which it comes, and up) from -pi/2 to each angle.
    """

    summed: Callable[[Floats], Floats]

    def between(self, low: Floats, high: Floats) -> Floats:
        """Flux vector from each interval of angles, array (n, 2); its component along a normal is what a surface receives."""
        clear = high > low
        found = self.summed(np.where(clear, high, 0.0)) - self.summed(np.where(clear, low, 0.0))
        return np.asarray(np.where(clear[:, None], found, 0.0))


def cosine_sky(exponent: float) -> Sky:
    """A radiance proportional to a power of the cosine from straight up; 0 is a sky of even brightness.

    On flat ground the arrivals then go with the cosine to the power of one more.

    Parameters
    ----------
    exponent : float
        Above -1.
    """
    if not exponent > -1:
        raise ValueError(f"the exponent must be above -1, got {exponent}")
    edges = np.linspace(0.0, np.pi / 2, CELLS + 1)
    node, weight = np.polynomial.legendre.leggauss(5)
    inner = edges[:-1, None] + (node + 1) / 2 * (edges[1] - edges[0])
    table = np.concatenate([[0.0], np.cumsum(np.cos(inner) ** (exponent + 1) @ weight)])
    table *= (edges[1] - edges[0]) / 2
    whole = 2 * table[-1]

    def summed(angle: Floats) -> Floats:
        up = np.sign(angle) * np.interp(np.abs(angle), edges, table)
        aside = -(np.maximum(np.cos(angle), 0.0) ** (exponent + 1)) / (exponent + 1)
        return np.asarray(np.column_stack([aside, up]) / whole)

    return Sky(summed)


def cone_sky(tilts: Sequence[float], shares: Sequence[float]) -> Sky:
    """Directions on cones round the vertical, all azimuths alike: far sources seen from a ground that turns.

    Parameters
    ----------
    tilts : sequence of float [rad]
        Angle of each cone from straight up, 0 to below pi/2.
    shares : sequence of float
        What arrives from each on a surface that faces it.
    """
    angle, share = _checked(tilts, shares)
    whole = float(np.sum(share * np.cos(angle)))

    def summed(at: Floats) -> Floats:
        # Seen in the plane a direction of azimuth f lies at tan(a) = tan(tilt) cos(f).
        azimuth = np.arccos(np.clip(np.tan(at)[:, None] / np.tan(angle), -1.0, 1.0))
        aside = -(np.sin(azimuth) @ (share * np.sin(angle))) / np.pi
        up = (1 - azimuth / np.pi) @ (share * np.cos(angle))
        return np.column_stack([aside, up]) / whole

    return Sky(summed)


def beam_sky(tilts: Sequence[float], shares: Sequence[float], azimuth: float) -> Sky:
    """Directions of one azimuth, measured from the plane: far sources above a ground that stands still.

    Parameters
    ----------
    tilts, shares
        As of :func:`cone_sky`.
    azimuth : float [rad]
        0: they lean to the right.
    """
    angle, share = _checked(tilts, shares)
    aside, up = share * np.sin(angle) * np.cos(azimuth), share * np.cos(angle)
    seen = np.arctan2(aside, up)
    whole = float(np.sum(up))

    def summed(at: Floats) -> Floats:
        passed = (at[:, None] >= seen).astype(float)
        return np.column_stack([passed @ aside, passed @ up]) / whole

    return Sky(summed)


def _checked(tilts: Sequence[float], shares: Sequence[float]) -> tuple[Floats, Floats]:
    angle, share = np.array(tilts, dtype=float), np.array(shares, dtype=float)
    if len(angle) == 0 or angle.shape != share.shape:
        raise ValueError(f"one share per tilt is wanted, got {len(angle)} tilts and {len(share)} shares")
    if not ((angle >= 0) & (angle < np.pi / 2) & (share > 0)).all():
        raise ValueError(
            f"tilts lie between 0 and a right angle and shares above 0, got {tilts} and {shares}"
        )
    return np.maximum(angle, LEAST_TILT), share
