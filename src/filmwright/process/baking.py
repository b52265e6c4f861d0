"""Bakes on a hot plate: how long a wafer takes to be warm, and what heat does to the photoactive compound."""

from __future__ import annotations

import math

from filmwright.process.ranges import finite, not_negative, positive
from filmwright.units import BOLTZMANN

__all__ = ["compound_after_bake", "dose_after_bake", "plate_time_constant", "time_to_temperature"]


def plate_time_constant(heat_capacity: float, thickness: float, air_gap: float, conductivity: float) -> float:
    """Time constant of a wafer over a hot plate, one lump heated through a film of air: τ = c·h·g/κ.

    Parameters
    ----------
    heat_capacity : float [J/(m³·K)], above 0
        c of the wafer body, per volume.
    thickness : float [m], above 0
        h of the wafer.
    air_gap : float [m], above 0
        g beneath it.
    conductivity : float [W/(m·K)], above 0
        κ of the air.

    Returns
    -------
    constant : float [s]

    Raises
    ------
    ValueError
        When one is not above zero.

    Notes
    -----
    Source: lumped heat balance, c·h·dT/dt = κ/g·(T_p − T) (common practice). It holds while κ/g·h is far below the conductivity of
    the body; a polymer foil that curls has no one gap.
    """
    positive(heat_capacity=heat_capacity, thickness=thickness, air_gap=air_gap, conductivity=conductivity)
    return heat_capacity * thickness * air_gap / conductivity


def time_to_temperature(constant: float, start: float, end: float, near: float) -> float:
    """Time until a lump is near the temperature that it goes to: t = τ·ln((T − T₀)/δ).

    Parameters
    ----------
    constant : float [s], above 0
        τ.
    start, end : float [K], above 0
        T₀ and T.
    near : float [K], above 0
        δ, how near is near enough; a start that is nearer takes no time.

    Returns
    -------
    time : float [s]

    Raises
    ------
    ValueError
        When one is not above zero.

    Notes
    -----
    Source: solution of the lumped heat balance, T − T_w = (T − T₀)·exp(−t/τ).
    """
    positive(constant=constant, start=start, end=end, near=near)
    return constant * math.log(max(abs(end - start) / near, 1.0))


def compound_after_bake(log_prefactor: float, energy: float, temperature: float, time: float) -> float:
    """Photoactive compound that a bake leaves: M₀ = exp(−k·t), k = exp(ln k₀ − E/(k_B·T)).

    Parameters
    ----------
    log_prefactor : float [1]
        ln k₀, of k₀ in 1/s.
    energy : float [J], above 0
    temperature : float [K], above 0
        Of the resist.
    time : float [s], 0 or more

    Returns
    -------
    left : float [1]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: F. H. Dill, J. M. Shaw, IBM J. Res. Dev. 21, 210 (1977), as a law of Arrhenius in C. A. Mack, Fundamental Principles of
    Optical Lithography (2007), ch. 5 (from memory). Tried from 80 °C to 130 °C.
    """
    positive(energy=energy, temperature=temperature)
    not_negative(time=time)
    finite(log_prefactor=log_prefactor)
    return math.exp(-math.exp(log_prefactor - energy / (BOLTZMANN * temperature)) * time)


def dose_after_bake(dose: float, sensitivity: float, left: float) -> float:
    """Dose that makes as much acid in a resist that lost compound to a bake: D' = −ln(1 − (1 − exp(−C·D))/M₀)/C.

    Parameters
    ----------
    dose : float [J/m²], above 0
        D of a resist that lost none.
    sensitivity : float [m²/J], above 0
        C.
    left : float [1], above 0 and at most 1
        M₀.

    Returns
    -------
    dose : float [J/m²]
        Infinite where too little compound is left to make that much.

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: acid made is M₀·(1 − exp(−C·D)), F. H. Dill et al. (1975) (from memory); what heat destroyed makes none.
    """
    positive(dose=dose, sensitivity=sensitivity, left=left)
    if left > 1:
        raise ValueError(f"what is left must be at most 1, got {left:g}")
    unmade = 1 - (1 - math.exp(-sensitivity * dose)) / left
    return -math.log(unmade) / sensitivity if unmade > 0 else math.inf
