"""From which angles atoms arrive, and what a wall gets of them."""

from __future__ import annotations

import math
from collections.abc import Sequence

from filmwright.process.ranges import finite, not_negative, positive

DISC_POINTS = 7
"""Points across a source: its width is small beside its distance."""
TURN_POINTS = 24
"""Places of a planet on half of its way round; the other half mirrors them."""


def cosine_wall_fraction(exponent: float) -> float:
    """Thickness on an upright wall that stands free over that on flat ground, for a radiance ∝ cosᵖ of the angle from the
    normal: w = Γ(p/2 + 3/2) / ((p + 1)·√π·Γ(p/2 + 1)); 1/2, 1/π, 1/4, 2/(3π) for p = 0, 1, 2, 3.

    Parameters
    ----------
    exponent : float
        p, above -1. On flat ground the arrivals go with the power p + 1.

    Returns
    -------
    share : float [of the thickness on the flat]

    Raises
    ------
    ValueError
        When the exponent is not above -1.

    Notes
    -----
    Source: the two integrals ∫₀^{π/2} sin a·cosᵖ a da and ∫_{-π/2}^{π/2} cosᵖ⁺¹ a da. Every atom stays where it strikes.
    """
    finite(exponent=exponent)
    positive(exponent_plus_one=exponent + 1)
    top, bottom = math.lgamma(exponent / 2 + 1.5), math.lgamma(exponent / 2 + 1)
    return math.exp(top - bottom) / ((exponent + 1) * math.sqrt(math.pi))


def far_source_wall_fraction(tilts: Sequence[float], shares: Sequence[float]) -> float:
    """Thickness on an upright wall that stands free over that on flat ground, on a wafer that turns under a far source:
    w = Σ s·sin α / (π·Σ s·cos α).

    Parameters
    ----------
    tilts : sequence of float [rad]
        Angles between the wafer normal and the source, 0 to below π/2.
    shares : sequence of float [of the whole]
        What arrives from each on a surface that faces it, above 0.

    Returns
    -------
    share : float

    Raises
    ------
    ValueError
        When there is no tilt, one lies outside its range, or a share is not above zero.

    Notes
    -----
    Source: mean of the part of the azimuths that strikes the wall, (1/2π)·∫ sin α·cos f df over -π/2 to π/2.
    """
    if not tilts or len(tilts) != len(shares):
        raise ValueError(f"one share per tilt is wanted, got {len(tilts)} tilts and {len(shares)} shares")
    for tilt, share in zip(tilts, shares, strict=True):
        not_negative(tilt=tilt)
        positive(share=share, cosine_of_tilt=math.pi / 2 - tilt)
    wall = sum(share * math.sin(tilt) for tilt, share in zip(tilts, shares, strict=True))
    flat = sum(share * math.cos(tilt) for tilt, share in zip(tilts, shares, strict=True))
    return wall / (math.pi * flat)


def disc_source_tilts(
    throw: float, offset: float, radius: float
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Angles under which a place on a level wafer sees a small round source that faces it, and what arrives from each:
    tan α = |l + x| / h, share ∝ h / (h² + (l + x)²)^{3/2}, x across the source weighted by its chord.

    Parameters
    ----------
    throw : float [m], above 0
        h, from the source to the plane of the wafer.
    offset : float [m], 0 or more
        l, from the place to the foot of the perpendicular.
    radius : float [m], above 0
        Of the source, small beside the throw.

    Returns
    -------
    tilts : tuple of float [rad]
    shares : tuple of float
        They add up to 1.

    Raises
    ------
    ValueError
        When throw or radius is not above zero, or the offset is below it.

    Notes
    -----
    Source: L. Holland, W. Steckelmacher, Vacuum 2, 346 (1952) (from memory): a small flat source radiates with the cosine. The
    chord weights are those of a Chebyshev rule of the second kind.
    """
    positive(throw=throw, radius=radius)
    not_negative(offset=offset)
    angles = [math.pi * k / (DISC_POINTS + 1) for k in range(1, DISC_POINTS + 1)]
    beside = [abs(offset + radius * math.cos(angle)) for angle in angles]
    weights = [
        math.sin(angle) ** 2 * throw / math.hypot(throw, away) ** 3
        for angle, away in zip(angles, beside, strict=True)
    ]
    return tuple(math.atan2(away, throw) for away in beside), _scaled(weights)


def planetary_tilts(
    throw: float, orbit: float, inclination: float, source_offset: float
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Angles under which a wafer on a planet sees a small source through one round of the planet, and what arrives from each:
    cos α = n·d / |d| with d from wafer to source, share ∝ h / |d|³.

    Parameters
    ----------
    throw : float [m], above 0
        h, from the source to the plane in which the planets go round.
    orbit : float [m], above 0
        Radius of the planets' way.
    inclination : float [rad], 0 to below π/2
        By how much a wafer is inclined towards the axis.
    source_offset : float [m], 0 or more
        From the axis to the source.

    Returns
    -------
    tilts : tuple of float [rad]
        Places in which the wafer does not face the source are left out.
    shares : tuple of float
        They add up to 1.

    Raises
    ------
    ValueError
        When a length is out of its range, or the wafer never faces the source.

    Notes
    -----
    Source: geometry; K. L. Chopra, Thin Film Phenomena, ch. 2 (from memory) for its use. The planet also spins about its own
    normal, so all azimuths are alike.
    """
    positive(throw=throw, orbit=orbit)
    not_negative(inclination=inclination, source_offset=source_offset)
    positive(cosine_of_inclination=math.pi / 2 - inclination)
    tilts, weights = [], []
    for k in range(TURN_POINTS):
        around = math.pi * (k + 0.5) / TURN_POINTS
        outward = source_offset * math.cos(around) - orbit
        across = source_offset * math.sin(around)
        distance = math.hypot(outward, across, throw)
        facing = (throw * math.cos(inclination) - outward * math.sin(inclination)) / distance
        if facing > 0:
            tilts.append(math.acos(min(facing, 1.0)))
            weights.append(throw / distance**3)
    if not tilts:
        raise ValueError("the wafer never faces the source")
    return tuple(tilts), _scaled(weights)


def _scaled(weights: Sequence[float]) -> tuple[float, ...]:
    whole = sum(weights)
    return tuple(weight / whole for weight in weights)
