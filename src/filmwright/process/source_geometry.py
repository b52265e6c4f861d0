"""Film over a wafer from where its source stands and how the wafer moves: one integral for pockets, guns and planets."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np

from filmwright.process.ranges import not_negative, positive

Motion = Literal["at rest", "turning", "planetary"]

_ROUND = 24
"""Places of one round; the mean over a round of a smooth function converges faster than any power of them."""

_RADII = 9
"""Places from the middle of a wafer to its edge."""

_Array = np.ndarray[tuple[int, ...], np.dtype[np.float64]]


@dataclass(frozen=True, kw_only=True)
class Emitter:
    """What a film comes from: a small flat source, or the ring that a magnetron erodes.

    Attributes
    ----------
    throw : float [m]
        h, from the middle of the source to the plane of the wafers' centres, along the axis of the tool.
    offset : float [m]
        e, from the axis of the tool.
    around : float [rad]
        Where on its circle it stands, from the outward direction of a wafer at rest.
    tilt : float [rad]
        τ, of its normal towards the axis.
    power : float
        n of the cosine with which it sends: 1 a small flat source, 0 the same into every direction, more for a beam.
    ring : float [m]
        a, radius of the ring that sends; 0 for a small source.
    """

    throw: float
    offset: float = 0.0
    around: float = 0.0
    tilt: float = 0.0
    power: float = 1.0
    ring: float = 0.0

    def __post_init__(self) -> None:
        positive(throw=self.throw, cosine_of_tilt=math.pi / 2 - self.tilt)
        not_negative(offset=self.offset, tilt=self.tilt, power=self.power, ring=self.ring)


@dataclass(frozen=True, kw_only=True)
class Stage:
    """How the wafer is held and moved.

    Attributes
    ----------
    motion : 'at rest', 'turning' or 'planetary'
        Turning about its own middle; planetary about its own middle and about the axis of the tool.
    orbit : float [m]
        b, from the axis to the middle of the wafer.
    inclination : float [rad]
        β, of the wafer towards the axis.
    """

    motion: Motion = "at rest"
    orbit: float = 0.0
    inclination: float = 0.0

    def __post_init__(self) -> None:
        if self.motion not in get_args(Motion):
            raise ValueError(f"motion must be one of {get_args(Motion)}, got {self.motion!r}")
        not_negative(orbit=self.orbit, inclination=self.inclination)
        positive(cosine_of_inclination=math.pi / 2 - self.inclination)


@dataclass(frozen=True, kw_only=True)
class FilmShape:
    """A film over a wafer, each place over the mean of the area.

    Attributes
    ----------
    middle, half, edge : float
        In the middle, half-way out (mean of the round), and at the place of the edge that differs most from the mean.
    least, most : float
        Anywhere on the wafer.
    uneven : float
        (max − min)/(2 × mean).
    share : float [1/m²]
        Mean part of what is sent that arrives on unit area.
    """

    middle: float
    half: float
    edge: float
    least: float
    most: float
    uneven: float
    share: float


def arriving_share(radius: float, emitter: Emitter, stage: Stage, azimuth: float = 0.0) -> float:
    """Part of what a source sends that arrives on unit area: c = (n + 1)/(2π)·cosⁿθ·cos α / D², mean over the motion.

    Parameters
    ----------
    radius : float [m], 0 or more
        From the middle of the wafer to the place.
    emitter : Emitter [SI]
    stage : Stage [SI]
    azimuth : float [rad]
        Of the place, from the outward direction; it does not matter on a wafer that turns.

    Returns
    -------
    share : float [1/m²]
        θ is the angle from the normal of the source, α that from the normal of the wafer, D the way. Nothing arrives on what
        does not face the source.

    Raises
    ------
    ValueError
        When the radius is below zero or not finite.

    Notes
    -----
    Source: geometry; L. Holland, W. Steckelmacher, Vacuum 2, 346 (1952), doi 10.1016/0042-207X(52)93784-4, and K. L. Chopra, Thin
    Film Phenomena, ch. 2 (from memory). Free flight, every atom stays, many rounds during the film.
    """
    not_negative(radius=radius)
    return float(_shares(np.array([radius]), np.array([azimuth]), emitter, stage)[0, 0])


@functools.lru_cache(maxsize=512)
def film_over_wafer(wafer_radius: float, emitter: Emitter, stage: Stage) -> FilmShape:
    """A film in the middle, half-way out and at the edge of a wafer: c(l) of :func:`arriving_share` over its mean by area.

    Parameters
    ----------
    wafer_radius : float [m], above 0
    emitter : Emitter [SI]
    stage : Stage [SI]

    Returns
    -------
    shape : FilmShape

    Raises
    ------
    ValueError
        When the wafer has no radius, or nothing arrives on it.

    Notes
    -----
    Source: integral of :func:`arriving_share` by Simpson's rule. What is measured at some places of a wafer is near its mean.
    """
    positive(wafer_radius=wafer_radius)
    radii = np.linspace(0.0, wafer_radius, _RADII)
    alike = _alike(emitter, stage)
    rounds = (
        2 * math.pi * np.arange(_ROUND) / _ROUND if stage.motion == "at rest" and not alike else np.zeros(1)
    )
    shares = _shares(radii, rounds, emitter, stage)
    by_radius = shares.mean(axis=1)
    # Simpson over the area: rings of equal width weigh with their radius.
    simpson = np.array([1.0] + [4.0, 2.0] * ((_RADII - 3) // 2) + [4.0, 1.0]) * radii
    mean = float((by_radius * simpson).sum() / simpson.sum())
    if not mean > 0:
        raise ValueError("the wafer never faces the source")
    at_edge = shares[-1]
    edge = float(at_edge[np.abs(at_edge - mean).argmax()])
    least, most = float(shares.min()), float(shares.max())
    return FilmShape(
        middle=float(by_radius[0]) / mean,
        half=float(by_radius[(_RADII - 1) // 2]) / mean,
        edge=edge / mean,
        least=least / mean,
        most=most / mean,
        uneven=(most - least) / (2 * mean),
        share=mean,
    )


def _alike(emitter: Emitter, stage: Stage) -> bool:
    """On the axis and level no place of a round differs from another."""
    return emitter.offset == emitter.tilt == stage.orbit == stage.inclination == 0.0


def _shares(radii: _Array, azimuths: _Array, emitter: Emitter, stage: Stage) -> _Array:
    """Shares at radii × azimuths; the mean over ring, spin and orbit is taken."""
    whole, still = 2 * math.pi * (np.arange(_ROUND) + 0.5) / _ROUND, np.zeros(1)
    alike = _alike(emitter, stage)
    spins = azimuths[:, None] + (still if alike or stage.motion == "at rest" else whole)[None, :]
    orbits = emitter.around + (whole if stage.motion == "planetary" and not alike else still)
    along_ring = whole if emitter.ring > 0 else still
    # Axes of the arrays: radius, azimuth, spin, orbit, ring. Of space: outward to the wafer, along the orbit, up.
    far, spin = radii[:, None, None, None, None], spins[None, :, :, None, None]
    turn, ring = orbits[None, None, None, :, None], along_ring[None, None, None, None, :]
    lean, bank = stage.inclination, emitter.tilt
    out = stage.orbit + far * np.cos(spin) * math.cos(lean)
    side = far * np.sin(spin)
    up = emitter.throw - far * np.cos(spin) * math.sin(lean)
    # The ring lies in the plane of the source; its normal leans towards the axis.
    inward = emitter.offset + emitter.ring * np.cos(ring) * math.cos(bank)
    across = emitter.ring * np.sin(ring)
    raised = emitter.ring * np.cos(ring) * math.sin(bank)
    way_out = out - (inward * np.cos(turn) - across * np.sin(turn))
    way_side = side - (inward * np.sin(turn) + across * np.cos(turn))
    way_up = up - raised
    squared = way_out**2 + way_side**2 + way_up**2
    distance = np.sqrt(squared)
    leaving = (
        math.cos(bank) * way_up - math.sin(bank) * (way_out * np.cos(turn) + way_side * np.sin(turn))
    ) / distance
    facing = (math.sin(lean) * way_out + math.cos(lean) * way_up) / distance
    sent = np.where(leaving > 0, np.maximum(leaving, 0.0) ** emitter.power, 0.0)
    share = (emitter.power + 1) / (2 * math.pi) * sent * np.maximum(facing, 0.0) / squared
    found: _Array = share.mean(axis=(2, 3, 4))
    return found
