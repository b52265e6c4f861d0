"""Capacitance against gate voltage: what a dielectric on a semiconductor shows, and what follows for the semiconductor."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from filmwright.device.checks import Array, above_zero, at_least_one, not_negative, numbers
from filmwright.device.laws import thermal_voltage
from filmwright.units import ELEMENTARY_CHARGE, VACUUM_PERMITTIVITY


def extrinsic_debye_length(carrier_density: ArrayLike, permittivity: float, temperature: float) -> Array:
    """Length over which free carriers of one density screen a small disturbance.

    Equation: L_D = √(ε₀·ε_r·kT / (q²·n))

    Parameters
    ----------
    carrier_density : array [1/m³]
        Valid range: above 0, far below the density of states.
    permittivity : float
        Relative. Valid range: at least 1.
    temperature : float [K]
        Valid range: above 0.

    Returns
    -------
    array (shape of carrier_density) [m]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    S. M. Sze, K. K. Ng, Physics of Semiconductor Devices, 3rd ed., Wiley 2007, ch. 2 (from memory).
    """
    above_zero(carrier_density=carrier_density)
    at_least_one(permittivity=permittivity)
    energy = VACUUM_PERMITTIVITY * permittivity * thermal_voltage(temperature) / ELEMENTARY_CHARGE
    result: Array = np.sqrt(energy / numbers(carrier_density))
    return result


def flat_band_capacitance(
    dielectric: ArrayLike, carrier_density: ArrayLike, permittivity: float, temperature: float
) -> Array:
    """Areal capacitance at flat bands, the semiconductor thicker than a few Debye lengths.

    Equation: 1/C_FB = 1/C_i + L_D/(ε₀·ε_r)

    Parameters
    ----------
    dielectric : array [F/m²]
        C_i. Valid range: above 0.
    carrier_density : array [1/m³]
        Valid range: above 0.
    permittivity : float
        Relative, of the semiconductor. Valid range: at least 1.
    temperature : float [K]
        Valid range: above 0.

    Returns
    -------
    array (broadcast shape) [F/m²]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    S. M. Sze, K. K. Ng, Physics of Semiconductor Devices, 3rd ed., Wiley 2007, ch. 4 (from memory).
    """
    above_zero(dielectric=dielectric)
    reach = extrinsic_debye_length(carrier_density, permittivity, temperature)
    result: Array = 1.0 / (1.0 / numbers(dielectric) + reach / (VACUUM_PERMITTIVITY * permittivity))
    return result


def depleted_width(capacitance: ArrayLike, dielectric: ArrayLike, permittivity: float) -> Array:
    """Thickness of semiconductor that carries no charge at the frequency of the measurement.

    Equation: w = ε₀·ε_r·(1/C − 1/C_i)

    Parameters
    ----------
    capacitance : array [F/m²]
        Valid range: above 0.
    dielectric : array [F/m²]
        C_i. Valid range: above 0.
    permittivity : float
        Relative, of the semiconductor. Valid range: at least 1.

    Returns
    -------
    array (broadcast shape) [m]
        Negative where the noise takes C above C_i.

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    Capacitors in series; vacuum permittivity of CODATA 2018 (published).
    """
    above_zero(capacitance=capacitance, dielectric=dielectric)
    at_least_one(permittivity=permittivity)
    result: Array = (
        VACUUM_PERMITTIVITY * permittivity * (1.0 / numbers(capacitance) - 1.0 / numbers(dielectric))
    )
    return result


def density_of_slope(slope: ArrayLike, permittivity: float) -> Array:
    """Density of ionised dopants from the slope of 1/C² in depletion.

    Equation: N = 2 / (q·ε₀·ε_r·|d(1/C²)/dV|)

    Parameters
    ----------
    slope : array [m⁴/(F²·V)]
        d(1/C²)/dV of the areal capacitance. Valid range: not zero.
    permittivity : float
        Relative, of the semiconductor. Valid range: at least 1.

    Returns
    -------
    array (shape of slope) [1/m³]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    S. M. Sze, K. K. Ng, Physics of Semiconductor Devices, 3rd ed., Wiley 2007, ch. 2 (from memory).
    """
    at_least_one(permittivity=permittivity)
    above_zero(size_of_slope=np.abs(numbers(slope)))
    result: Array = 2.0 / (ELEMENTARY_CHARGE * VACUUM_PERMITTIVITY * permittivity * np.abs(numbers(slope)))
    return result


def depletion_capacitance(
    voltage_beyond_flat_band: ArrayLike, dielectric: float, carrier_density: float, permittivity: float
) -> Array:
    """Areal capacitance of dielectric and depleted semiconductor in series.

    Equation: C = C_i / √(1 + 2·C_i²·(V − kT/q)/(q·ε·N)), the kT/q left to whoever gives V

    Parameters
    ----------
    voltage_beyond_flat_band : array [V]
        V, towards depletion. Valid range: at least 0.
    dielectric : float [F/m²]
        C_i. Valid range: above 0.
    carrier_density : float [1/m³]
        N. Valid range: above 0.
    permittivity : float
        Relative, of the semiconductor. Valid range: at least 1.

    Returns
    -------
    array (shape of voltage_beyond_flat_band) [F/m²]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    S. M. Sze, K. K. Ng, Physics of Semiconductor Devices, 3rd ed., Wiley 2007, ch. 4 (from memory).
    """
    not_negative(voltage_beyond_flat_band=voltage_beyond_flat_band)
    above_zero(dielectric=dielectric, carrier_density=carrier_density)
    at_least_one(permittivity=permittivity)
    charge = ELEMENTARY_CHARGE * VACUUM_PERMITTIVITY * permittivity * carrier_density
    result: Array = dielectric / np.sqrt(
        1.0 + 2.0 * dielectric**2 * numbers(voltage_beyond_flat_band) / charge
    )
    return result


def band_bending_at_inversion(density: float, intrinsic_density: float, temperature: float) -> float:
    """Twice the distance of the Fermi level from the middle of the gap: surface potential at strong inversion.

    Equation: ψ = 2·(kT/q)·ln(N/n_i)

    Parameters
    ----------
    density, intrinsic_density : float [1/m³]
        N above n_i above 0.
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
    S. M. Sze, K. K. Ng, Physics of Semiconductor Devices, 3rd ed., Wiley 2007, ch. 4 (from memory).
    """
    above_zero(density=density, intrinsic_density=intrinsic_density)
    if density <= intrinsic_density:
        raise ValueError(f"density must be above n_i = {intrinsic_density:g} 1/m³, got {density:g}")
    return 2.0 * thermal_voltage(temperature) * math.log(density / intrinsic_density)


def widest_depletion(
    density: float, intrinsic_density: float, permittivity: float, temperature: float
) -> float:
    """Depletion at which inversion takes over: the capacitance at high frequency falls no further.

    Equation: w = √(2·ε·ψ/(q·N)), ψ of :func:`band_bending_at_inversion`

    Parameters
    ----------
    density, intrinsic_density : float [1/m³]
        N above n_i above 0.
    permittivity : float
        Relative, of the semiconductor. Valid range: at least 1.
    temperature : float [K]
        Valid range: above 0.

    Returns
    -------
    float [m]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    S. M. Sze, K. K. Ng, Physics of Semiconductor Devices, 3rd ed., Wiley 2007, ch. 4 (from memory).
    """
    at_least_one(permittivity=permittivity)
    bending = band_bending_at_inversion(density, intrinsic_density, temperature)
    return math.sqrt(2.0 * VACUUM_PERMITTIVITY * permittivity * bending / (ELEMENTARY_CHARGE * density))


def series_resistance(capacitance: float, conductance: float, frequency: float) -> float:
    """Resistance in series with a capacitor, from what a meter in parallel mode shows in strong accumulation.

    Equation: R = G / (G² + ω²·C²)

    Parameters
    ----------
    capacitance : float [F]
        Valid range: above 0.
    conductance : float [S]
        Valid range: at least 0.
    frequency : float [1/s]
        Valid range: above 0.

    Returns
    -------
    float [Ω]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    E. H. Nicollian, J. R. Brews, MOS Physics and Technology, Wiley 1982, ch. 5 (from memory).
    """
    above_zero(capacitance=capacitance, frequency=frequency)
    not_negative(conductance=conductance)
    turn = 2 * math.pi * frequency * capacitance
    return conductance / (conductance**2 + turn**2)


def without_series_resistance(
    capacitance: ArrayLike, conductance: ArrayLike, resistance: float, frequency: float
) -> tuple[Array, Array]:
    """Capacitance and conductance of a device behind a resistance, from what a meter in parallel mode shows.

    Equation: 1/(1/(G + iωC) − R), its imaginary part over ω and its real part

    Parameters
    ----------
    capacitance : array [F]
        Valid range: above 0.
    conductance : array [S]
    resistance : float [Ω]
        Valid range: at least 0.
    frequency : float [1/s]
        Valid range: above 0.

    Returns
    -------
    tuple of array [F], [S]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    E. H. Nicollian, J. R. Brews, MOS Physics and Technology, Wiley 1982, ch. 5 (from memory).
    """
    above_zero(capacitance=capacitance, frequency=frequency)
    not_negative(resistance=resistance)
    turn = 2 * math.pi * frequency
    device = 1.0 / (1.0 / (numbers(conductance) + 1j * turn * numbers(capacitance)) - resistance)
    return np.asarray(device.imag / turn), np.asarray(device.real)
