"""Threshold of a thin-film transistor that is on by accumulation."""

from __future__ import annotations

import math

from filmwright.device.checks import above_zero, at_least_one
from filmwright.device.laws import thermal_voltage
from filmwright.units import ELEMENTARY_CHARGE, VACUUM_PERMITTIVITY


def fermi_depth(density_of_states: float, carrier_density: float, temperature: float) -> float:
    """How far the Fermi level lies below the conduction band, over q.

    Equation: (E_C − E_F)/q = (k·T/q)·ln(N_C / n)   (Boltzmann)

    Parameters
    ----------
    density_of_states : float [1/m³]
        Effective density of states of the conduction band, N_C. Valid range: above ``carrier_density``.
    carrier_density : float [1/m³]
        Valid range: above 0; at n close to N_C Fermi statistics should be used instead.
    temperature : float [K]
        Valid range: above 0.

    Returns
    -------
    float [V]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    S. M. Sze, K. K. Ng, Physics of Semiconductor Devices, 3rd ed., Wiley 2007, ch. 1 (from memory).
    """
    above_zero(density_of_states=density_of_states, carrier_density=carrier_density, temperature=temperature)
    if carrier_density >= density_of_states:
        raise ValueError(
            f"carrier_density must be below N_C = {density_of_states:g} 1/m³, got {carrier_density:g}"
        )
    return thermal_voltage(temperature) * math.log(density_of_states / carrier_density)


def flat_band_voltage(gate_work_function: float, electron_affinity: float, fermi_below_band: float) -> float:
    """Gate voltage at which the film has flat bands, without fixed charge.

    Equation: V_FB = (Φ_gate − χ)/q − (E_C − E_F)/q

    Parameters
    ----------
    gate_work_function, electron_affinity : float [J]
        Valid range: above 0.
    fermi_below_band : float [V]
        (E_C − E_F)/q.

    Returns
    -------
    float [V]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    S. M. Sze, K. K. Ng, Physics of Semiconductor Devices, 3rd ed., Wiley 2007, ch. 4 (from memory).
    """
    above_zero(gate_work_function=gate_work_function, electron_affinity=electron_affinity)
    return (gate_work_function - electron_affinity) / ELEMENTARY_CHARGE - fermi_below_band


def full_depletion_voltage(
    flat_band: float, carrier_density: float, thickness: float, permittivity: float, areal_capacitance: float
) -> float:
    """Gate voltage at which a thin film is just depleted through: the threshold of an accumulation device.

    Equation: V_T = V_FB − q·n·t·(1/C + t/(2·ε₀·ε_r))

    Parameters
    ----------
    flat_band : float [V]
    carrier_density : float [1/m³]
        Free electrons of the film at flat bands. Valid range: above 0.
    thickness : float [m]
        Of the film. Valid range: above 0.
    permittivity : float
        Relative, of the film. Valid range: at least 1.
    areal_capacitance : float [F/m²]
        Of the gate dielectric. Valid range: above 0.

    Returns
    -------
    float [V]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    Depletion approximation for a film on an insulator: the charge q·n·t times the series of the dielectric
    and
    half the film (from memory; follows from Poisson's equation).
    """
    above_zero(carrier_density=carrier_density, thickness=thickness, areal_capacitance=areal_capacitance)
    at_least_one(permittivity=permittivity)
    charge = ELEMENTARY_CHARGE * carrier_density * thickness
    return flat_band - charge * (1 / areal_capacitance + thickness / (2 * VACUUM_PERMITTIVITY * permittivity))
