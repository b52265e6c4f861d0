"""Evaporation: how hot the source, how much of it arrives where, and what arrives with it."""

from __future__ import annotations

import math

import numpy as np

from filmwright.numerics import root_between
from filmwright.process.deposition import impingement_rate
from filmwright.process.ranges import Noted, check_range, not_negative, positive
from filmwright.process.vapour import vapour_pressure
from filmwright.units import AVOGADRO, to_si

_ATMOSPHERE = to_si(1.01325, "bar")
_COOLEST, _HOTTEST = 200.0, 5000.0
_TURN_POINTS = 24
"""Places of one round; the mean over a round of a smooth function converges faster than any power of them."""


def evaporated_mass_flux(pressure: float, molar_mass: float, temperature: float) -> float:
    """Mass that leaves a surface into a vacuum: Γ = p·√(M / (2π·R·T)), unit sticking.

    Parameters
    ----------
    pressure : float [Pa], 0 or more
        Vapour pressure at the temperature.
    molar_mass : float [kg/mol], above 0
    temperature : float [K], above 0

    Returns
    -------
    flux : float [kg/(m²·s)]

    Raises
    ------
    ValueError
        When molar mass or temperature is not above zero.

    Notes
    -----
    Source: H. Hertz (1882), M. Knudsen (1915), I. Langmuir (1913) (from memory). An upper limit: impurities and oxide on the melt
    lower it.
    """
    return impingement_rate(pressure, molar_mass, temperature) * molar_mass / AVOGADRO


def temperature_for_rate(
    rate: float,
    share: float,
    source_radius: float,
    density: float,
    molar_mass: float,
    coefficients: tuple[float, float, float, float],
) -> float:
    """Temperature of a small flat source that gives a rate: R = Γ(T)·π·a²·c / ρ, Γ = p(T)·√(M / (2π·R_gas·T)).

    Parameters
    ----------
    rate : float [m/s], above 0
    share : float [1/m²], above 0
        c, part of what it sends that arrives on unit area, see :func:`ring_share`.
    source_radius : float [m], above 0
        a, of the part of the source that evaporates.
    density : float [kg/m³], above 0
    molar_mass : float [kg/mol], above 0
    coefficients : (A, B, C, D)
        Of :func:`~filmwright.process.vapour_pressure`.

    Returns
    -------
    temperature : float [K]

    Raises
    ------
    ValueError
        When one is not above zero, or no temperature between 200 and 5000 K gives the rate.

    Notes
    -----
    Source: L. Holland, W. Steckelmacher, Vacuum 2, 346 (1952), doi 10.1016/0042-207X(52)93784-4 (from memory), with the vapour
    pressure of Alcock (1984). A beam heats a spot that is hotter and smaller than the pool.
    """
    positive(rate=rate, share=share, source_radius=source_radius, density=density, molar_mass=molar_mass)
    wanted = math.log(rate * density / (share * math.pi * source_radius**2))

    def miss(temperature: float) -> float:
        pressure = vapour_pressure(temperature, coefficients) * _ATMOSPHERE
        flux = evaporated_mass_flux(pressure, molar_mass, temperature)
        return math.log(max(flux, 5e-324)) - wanted

    if miss(_COOLEST) > 0 or miss(_HOTTEST) < 0:
        raise ValueError(f"no temperature between {_COOLEST:g} and {_HOTTEST:g} K gives {rate:g} m/s")
    return root_between(miss, _COOLEST, _HOTTEST, tolerance=1e-3)


def evaporated_mass(thickness: float, density: float, share: float) -> float:
    """Mass that leaves the source for a film: m = ρ·d / c.

    Parameters
    ----------
    thickness : float [m], above 0
    density : float [kg/m³], above 0
    share : float [1/m²], above 0
        c, part of what it sends that arrives on unit area, see :func:`ring_share`.

    Returns
    -------
    mass : float [kg]

    Raises
    ------
    ValueError
        When any is not above zero.

    Notes
    -----
    Source: conservation of mass; what the shutter stops before and after comes on top.
    """
    positive(thickness=thickness, density=density, share=share)
    return density * thickness / share


def ring_share(offset: float, throw: float, ring: float) -> float:
    """Part of what a small flat source sends that arrives on unit area, where source or place turns on a ring:
    c = h²·s / (π·(s² − (2·l·a)²)^(3/2)), s = h² + l² + a².

    Parameters
    ----------
    offset : float [m], 0 or more
        l, from the axis to the place.
    throw : float [m], above 0
        h, between the two planes.
    ring : float [m], 0 or more
        a, from the axis to the source; 0 is a source on the axis.

    Returns
    -------
    share : float [1/m²]
        1/(π·h²) on the axis of a source on the axis.

    Raises
    ------
    ValueError
        When the throw is not above zero, or a distance below it.

    Notes
    -----
    Source: mean over a round of h²/(π·D⁴), D² = h² + l² + a² − 2·l·a·cos φ; of a wafer that turns over a source beside its axis,
    L. Holland, W. Steckelmacher, Vacuum 2, 346 (1952) (from memory), and of the ring that a magnetron erodes. A cosine source.
    """
    positive(throw=throw)
    not_negative(offset=offset, ring=ring)
    whole = throw**2 + offset**2 + ring**2
    return throw**2 * whole / (math.pi * math.sqrt(whole**2 - (2 * offset * ring) ** 2) ** 3)


def planetary_share(
    radius: float, throw: float, orbit: float, inclination: float, source_offset: float = 0.0
) -> float:
    """Part of what a small flat source sends that arrives on unit area of a wafer that turns twice: mean of
    c = h·cos α / (π·D³) over the orbit and the spin.

    Parameters
    ----------
    radius : float [m], 0 or more
        From the centre of the wafer to the place.
    throw : float [m], above 0
        h, from the source to the plane in which the centres of the wafers go round.
    orbit : float [m], above 0
    inclination : float [rad], 0 to below π/2
        By how much a wafer is inclined towards the axis.
    source_offset : float [m], 0 or more

    Returns
    -------
    share : float [1/m²]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: geometry; K. L. Chopra, Thin Film Phenomena, ch. 2 (from memory). A source and wafers that touch one sphere get the same
    everywhere: c = 1/(4π·r²), the sphere's radius r.
    """
    positive(throw=throw, orbit=orbit, cosine_of_inclination=math.pi / 2 - inclination)
    not_negative(radius=radius, inclination=inclination, source_offset=source_offset)
    round_ = 2 * math.pi * (np.arange(_TURN_POINTS) + 0.5) / _TURN_POINTS
    around, spin = np.meshgrid(round_, round_, indexing="ij")
    lean = (math.cos(inclination), math.sin(inclination))
    # Axes: outward from the axis of the orbit, along the orbit, up. The normal looks down and inward.
    out = orbit + radius * np.cos(spin) * lean[0]
    along = radius * np.sin(spin)
    up = throw - radius * np.cos(spin) * lean[1]
    away = np.stack([source_offset * np.cos(around) - out, -source_offset * np.sin(around) - along, -up])
    distance = np.sqrt((away**2).sum(axis=0))
    facing = np.maximum((-lean[1] * away[0] - lean[0] * away[2]) / distance, 0.0)
    leaving = np.maximum(up / distance, 0.0)
    return float((facing * leaving / (math.pi * distance**2)).mean())


def scattered_share(throw: float, path: float) -> Noted:
    """Atoms that meet gas on their way: s = 1 − exp(−h/λ).

    Parameters
    ----------
    throw : float [m], above 0
    path : float [m], above 0
        Mean free path, see :func:`~filmwright.process.mean_free_path`.

    Returns
    -------
    share : Noted
        Noted above one in ten: the film then covers walls and does not lift off.

    Raises
    ------
    ValueError
        When one is not above zero.

    Notes
    -----
    Source: kinetic theory of gases, e.g. M. Ohring, Materials Science of Thin Films, ch. 2 (from memory).
    """
    positive(throw=throw, path=path)
    share = -math.expm1(-throw / path)
    return Noted(value=share, notes=check_range("scattered share", share, 0.0, 0.1, "fraction"))
