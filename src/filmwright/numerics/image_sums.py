"""Potentials of point sources between walls that nothing crosses, by sums over their images."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Real = NDArray[np.float64]
_IMAGES = 60
"""Images that are summed one by one; the rest follows from Euler's and Maclaurin's formula."""
_ROWS = 12
"""Rows of images on each side: the pair's potential falls by exp(−2π) and more from row to row once turned the long way."""


def plane_potential(place: Real, source: Real) -> float:
    """Potential of a source in an endless plane: u = −ln|r − s| (times strength over 2π).

    Parameters
    ----------
    place, source : array (2,)
    """
    return -math.log(math.dist(place, source))


def half_plane_potential(place: Real, source: Real) -> float:
    """Potential of a source in the half plane y ≥ 0: u = −ln|r − s| − ln|r − s'|, s' mirrored at y = 0.

    Parameters
    ----------
    place, source : array (2,)
    """
    mirrored = np.array([source[0], -source[1]])
    return plane_potential(place, source) + plane_potential(place, mirrored)


def disc_potential(place: Real, source: Real, radius: float) -> float:
    """Potential of a source in a disc about the origin, the sink of a pair at any other place.

    Equation: u = −ln|r − s| − ln(|s|·|r − s·R²/|s|²|): the image at the inverse point; what goes out through the rim
    evenly cancels between the source and the sink of a pair.

    Parameters
    ----------
    place, source : array (2,)
    radius : float
        R.
    """
    distance = math.hypot(*source)
    if distance == 0:
        return plane_potential(place, source)
    image = source * (radius / distance) ** 2
    far = math.log(distance / radius * math.dist(place, image))
    return plane_potential(place, source) - far + math.log(radius)


def strip_potential(place: Real, source: Real, width: float) -> float:
    """Potential of a source in the endless strip 0 ≤ y ≤ b, the sink of a pair at any other place.

    Equation: u = −½·Σ± ln[cosh(π·(x − x₀)/b) − cos(π·(y ∓ y₀)/b)], the sum over all images in closed form

    Parameters
    ----------
    place, source : array (2,)
    width : float
        b.
    """
    across = math.pi * (place[0] - source[0]) / width
    return sum(_row(across, math.pi * (place[1] - side * source[1]) / width) for side in (1.0, -1.0))


def rectangle_potential(place: Real, source: Real, length: float, width: float) -> float:
    """Potential of a source in the rectangle 0 ≤ x ≤ a, 0 ≤ y ≤ b, the sink of a pair at any other place.

    Equation: the sum of :func:`strip_potential` over the sources at ±x₀ + 2·m·a

    Parameters
    ----------
    place, source : array (2,)
    length, width : float
        a, b.
    """
    if length < width:
        # Rows across the short way fall off fastest.
        turned = np.asarray(place)[::-1], np.asarray(source)[::-1]
        return rectangle_potential(*turned, width, length)
    total = 0.0
    for m in range(-_ROWS, _ROWS + 1):
        for side in (1.0, -1.0):
            image = np.array([side * source[0] + 2 * m * length, source[1]])
            total += strip_potential(place, image, width)
            # The even part, which cancels between source and sink, would swamp the rest.
            total += math.pi * abs(2 * m * length) / width
    return total


def _row(across: float, along: float) -> float:
    """−½·ln(cosh u − cos v), also where u is large."""
    size = abs(across)
    if size > 30:
        return -0.5 * (size - math.log(2.0))
    return -0.5 * math.log(
        max(2 * math.sinh(size / 2) ** 2 + 2 * math.sin(along / 2) ** 2, np.finfo(float).tiny)
    )


def slab_potential(distance: Real, thickness: float) -> Real:
    """Potential on the face of an endless slab of a source on the same face, less that of a source one thickness away.

    Equation: u(r) = Σₙ [1/√(r² + (2·n·w)²) − 1/√(w² + (2·n·w)²)], n from −∞ to ∞ (times strength over 2π)

    Parameters
    ----------
    distance : array [any length]
        r, along the face, above 0.
    thickness : float [the same]
        w, above 0; the other face is a wall that nothing crosses.

    Returns
    -------
    array
    """
    r = np.asarray(distance, dtype=float)[..., None]
    n = np.arange(1, _IMAGES)
    half = 2 * thickness

    def one(reach: Real) -> Real:
        first = 1 / reach[..., 0] + 2 * np.sum(1 / np.sqrt(reach**2 + (half * n) ** 2), axis=-1)
        # Euler–Maclaurin from n = N on: the integral, half the first term and the slope's twelfth.
        square = np.sqrt(reach[..., 0] ** 2 + (half * _IMAGES) ** 2)
        tail = -np.arcsinh(half * _IMAGES / reach[..., 0]) / half
        tail = tail + 0.5 / square + half**2 * _IMAGES / square**3 / 12
        # The integral to infinity differs between two reaches by the logarithm of their ratio alone.
        return np.asarray(first + 2 * tail - 2 * np.log(reach[..., 0]) / half)

    own = np.full((1,), thickness)
    return np.asarray(one(r) - one(own))
