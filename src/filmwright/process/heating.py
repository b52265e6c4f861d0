"""How warm a wafer gets in vacuum: what condenses and glows at it, and what it radiates itself."""

from __future__ import annotations

import math

from filmwright.numerics import root_between
from filmwright.process.ranges import not_negative, positive
from filmwright.units import AVOGADRO, BOLTZMANN, PLANCK, SPEED_OF_LIGHT

_RADIATION = 2 * math.pi**5 * BOLTZMANN**4 / (15 * SPEED_OF_LIGHT**2 * PLANCK**3)
"""σ of Stefan and Boltzmann [W/(m²·K⁴)]."""


def evaporation_enthalpy(temperature: float, coefficients: tuple[float, float, float, float]) -> float:
    """Heat that a mole of vapour brings when it condenses: ΔH = R·ln 10·(−B + C·T/ln 10 + D·T²/1000).

    Parameters
    ----------
    temperature : float [K], above 0
    coefficients : (A, B, C, D)
        Of :func:`~filmwright.process.vapour_pressure`.

    Returns
    -------
    enthalpy : float [J/mol]

    Raises
    ------
    ValueError
        When the temperature is not above zero.

    Notes
    -----
    Source: R. Clausius, B. Clapeyron: d ln p/d(1/T) = −ΔH/R (from memory), of the vapour pressure of Alcock (1984).
    """
    positive(temperature=temperature)
    _, b, c, d = coefficients
    slope = -b + c * temperature / math.log(10) + d * temperature**2 / 1000
    return BOLTZMANN * AVOGADRO * math.log(10) * slope


def condensing_heat(rate: float, density: float, molar_mass: float, enthalpy: float) -> float:
    """Heat of a growing film: q = R·ρ/M·ΔH.

    Parameters
    ----------
    rate : float [m/s], 0 or more
    density : float [kg/m³], above 0
    molar_mass : float [kg/mol], above 0
    enthalpy : float [J/mol], 0 or more

    Returns
    -------
    heat : float [W/m²]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: conservation of energy; the motion of the atoms adds a few per cent.
    """
    not_negative(rate=rate, enthalpy=enthalpy)
    positive(density=density, molar_mass=molar_mass)
    return rate * density / molar_mass * enthalpy


def source_glow(temperature: float, emissivity: float, radius: float, share: float) -> float:
    """Light of a hot source at the wafer: q = ε·σ·T⁴·π·a²·c.

    Parameters
    ----------
    temperature : float [K], above 0
    emissivity : float [of a black body], 0 or more
        ε.
    radius : float [m], above 0
        a, of what glows.
    share : float [1/m²], above 0
        c, see :func:`~filmwright.process.ring_share`: light leaves with the same cosine as atoms.

    Returns
    -------
    heat : float [W/m²]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: J. Stefan (1879), L. Boltzmann (1884), J. H. Lambert (from memory). Crucible, filament and scattered electrons add to it.
    """
    positive(temperature=temperature, radius=radius, share=share)
    not_negative(emissivity=emissivity)
    return emissivity * _RADIATION * temperature**4 * math.pi * radius**2 * share


def heated_wafer(heat: float, time: float, capacity: float, emissivity: float, start: float) -> float:
    """Temperature of a wafer that touches nothing: C·dT/dt = q − 2·ε·σ·(T⁴ − T₀⁴).

    Solved: 4·ε·σ·T_s³·t/C = [artanh(T/T_s) + arctan(T/T_s)] from T₀ to T, with T_s⁴ = T₀⁴ + q/(2·ε·σ).

    Parameters
    ----------
    heat : float [W/m²], 0 or more
        q, on one face.
    time : float [s], 0 or more
    capacity : float [J/(m²·K)], above 0
        C, of the wafer for its area.
    emissivity : float [of a black body], above 0
        Of both faces.
    start : float [K], above 0
        T₀, of the wafer and of the walls.

    Returns
    -------
    temperature : float [K]
        From T₀ towards T_s; a wafer that is clamped or cooled stays below.

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: J. Stefan (1879), L. Boltzmann (1884) (from memory); balance of a thin plate, the same temperature through it.
    """
    not_negative(heat=heat, time=time)
    positive(capacity=capacity, emissivity=emissivity, start=start)
    steady = float((start**4 + heat / (2 * emissivity * _RADIATION)) ** 0.25)
    if time == 0.0 or steady <= start * (1 + 1e-12):
        return start

    def passed(temperature: float) -> float:
        ratio = temperature / steady
        return math.atanh(ratio) + math.atan(ratio)

    target = passed(start) + 4 * emissivity * _RADIATION * steady**3 * time / capacity
    nearly = steady - (steady - start) * 1e-9
    if passed(nearly) <= target:
        return steady
    return root_between(lambda temperature: passed(temperature) - target, start, nearly, tolerance=1e-6)
