"""How long, how many cycles, how much charge: films from rates, sources and gas."""

from __future__ import annotations

import math

from filmwright.process.ranges import finite, not_negative, positive
from filmwright.units import AVOGADRO, BOLTZMANN


def time_for_thickness(thickness: float, rate: float, rate_std: float = 0.0) -> tuple[float, float]:
    """Time for a film at a steady rate, with the spread that the rate's brings: t = d / R, σ_t = t·σ_R/R.

    Parameters
    ----------
    thickness : float [m], above 0
    rate, rate_std : float [m/s]
        Rate, above 0, and its standard deviation.

    Returns
    -------
    time, spread : float [s]

    Raises
    ------
    ValueError
        When thickness or rate is not above zero.

    Notes
    -----
    Source: definition of a rate. First order in σ_R/R.
    """
    positive(thickness=thickness, rate=rate)
    not_negative(rate_std=rate_std)
    time = thickness / rate
    return time, time * rate_std / rate


def thickness_in_time(time: float, rate: float, rate_std: float = 0.0) -> tuple[float, float]:
    """Film grown in a time at a steady rate: d = R·t, σ_d = σ_R·t.

    Parameters
    ----------
    time : float [s], 0 or more
    rate, rate_std : float [m/s]

    Returns
    -------
    thickness, spread : float [m]

    Raises
    ------
    ValueError
        When the rate is not above zero or the time is negative.

    Notes
    -----
    Source: definition of a rate.
    """
    positive(rate=rate)
    not_negative(time=time, rate_std=rate_std)
    return rate * time, rate_std * time


def cycles_for_thickness(
    thickness: float, per_cycle: float, per_cycle_std: float = 0.0, delay: float = 0.0
) -> tuple[int, float]:
    """Cycles of atomic layer deposition for a film: N = ⌈d/g⌉ + N₀, σ_N = (d/g)·σ_g/g.

    Parameters
    ----------
    thickness : float [m], above 0
    per_cycle, per_cycle_std : float [m]
        Growth per cycle, above 0, and its standard deviation.
    delay : float
        Cycles before growth sets in on this surface, 0 or more.

    Returns
    -------
    cycles : int
    spread : float [cycles]

    Raises
    ------
    ValueError
        When thickness or growth is not above zero.

    Notes
    -----
    Source: S. M. George, Chem. Rev. 110, 111 (2010) (from memory): linear growth after a nucleation delay.
    """
    positive(thickness=thickness, growth_per_cycle=per_cycle)
    not_negative(per_cycle_std=per_cycle_std, delay=delay)
    exact = thickness / per_cycle
    return math.ceil(round(exact, 6)) + math.ceil(delay), exact * per_cycle_std / per_cycle


def point_source_profile(offset: float, throw: float) -> float:
    """Thickness beside the axis over that on it, for a point source: (1 + (l/h)²)^(−3/2).

    Parameters
    ----------
    offset : float [m]
        Distance from the foot of the perpendicular, in the plane of the wafer.
    throw : float [m], above 0
        Distance from the source to the plane.

    Returns
    -------
    share : float, 0 to 1

    Raises
    ------
    ValueError
        When the throw is not above zero or the offset not finite.

    Notes
    -----
    Source: L. Holland, W. Steckelmacher, Vacuum 2, 346 (1952) (from memory).
    """
    positive(throw=throw)
    finite(offset=offset)
    return float((1 + (offset / throw) ** 2) ** -1.5)


def small_area_profile(offset: float, throw: float) -> float:
    """Thickness beside the axis over that on it, for a small flat source facing the wafer: (1 + (l/h)²)^(−2).

    Parameters
    ----------
    offset : float [m]
    throw : float [m], above 0

    Returns
    -------
    share : float, 0 to 1

    Raises
    ------
    ValueError
        When the throw is not above zero or the offset not finite.

    Notes
    -----
    Source: L. Holland, W. Steckelmacher, Vacuum 2, 346 (1952) (from memory).
    """
    positive(throw=throw)
    finite(offset=offset)
    return float((1 + (offset / throw) ** 2) ** -2)


def charge_needed(thickness: float, throw: float, density: float, *, flat_source: bool = True) -> float:
    """Mass that must evaporate for a film on the axis: m = π·ρ·h²·d (flat source), 4π·ρ·h²·d (point source).

    Parameters
    ----------
    thickness, throw : float [m], above 0
    density : float [kg/m³], above 0
    flat_source : bool
        A small flat source facing the wafer; else a point source in all directions.

    Returns
    -------
    mass : float [kg]

    Raises
    ------
    ValueError
        When any is not above zero.

    Notes
    -----
    Source: M. Ohring, Materials Science of Thin Films, ch. 3 (from memory). Valid in free molecular flow, see
    :func:`mean_free_path`.
    """
    positive(thickness=thickness, throw=throw, density=density)
    return (1.0 if flat_source else 4.0) * math.pi * density * throw**2 * thickness


def mean_free_path(pressure: float, diameter: float, temperature: float) -> float:
    """Mean free path of a gas among its own kind: λ = kT / (√2·π·d²·p).

    Parameters
    ----------
    pressure : float [Pa], above 0
    diameter : float [m], above 0
        Of the molecule, hard sphere.
    temperature : float [K], above 0

    Returns
    -------
    path : float [m]

    Raises
    ------
    ValueError
        When any is not above zero.

    Notes
    -----
    Source: kinetic theory of gases, e.g. M. Ohring, ch. 2 (from memory).
    """
    positive(pressure=pressure, diameter=diameter, temperature=temperature)
    return BOLTZMANN * temperature / (math.sqrt(2.0) * math.pi * diameter**2 * pressure)


def impingement_rate(pressure: float, molar_mass: float, temperature: float) -> float:
    """Molecules that strike a surface: Φ = p / √(2π·m·kT), m = M/N_A.

    Parameters
    ----------
    pressure : float [Pa], 0 or more
    molar_mass : float [kg/mol], above 0
    temperature : float [K], above 0

    Returns
    -------
    flux : float [1/(m²·s)]

    Raises
    ------
    ValueError
        When molar mass or temperature is not above zero.

    Notes
    -----
    Source: H. Hertz (1882), M. Knudsen (1915), unit sticking (from memory).
    """
    positive(molar_mass=molar_mass, temperature=temperature)
    not_negative(pressure=pressure)
    return pressure / math.sqrt(2 * math.pi * molar_mass / AVOGADRO * BOLTZMANN * temperature)


def residual_gas_ratio(gas_flux: float, rate: float, density: float, molar_mass: float) -> float:
    """Residual-gas molecules that arrive for each film atom: Φ_gas / (R·ρ·N_A/M).

    Parameters
    ----------
    gas_flux : float [1/(m²·s)], 0 or more
        See :func:`impingement_rate`.
    rate : float [m/s], above 0
    density : float [kg/m³], above 0
    molar_mass : float [kg/mol], above 0
        Of the film.

    Returns
    -------
    ratio : float
        Near 1 is usual and good enough for a gate; it matters for getters and contacts.

    Raises
    ------
    ValueError
        When rate, density or molar mass is not above zero.

    Notes
    -----
    Source: counting of arrivals, unit sticking.
    """
    positive(rate=rate, density=density, molar_mass=molar_mass)
    not_negative(gas_flux=gas_flux)
    return gas_flux / (rate * density * AVOGADRO / molar_mass)
