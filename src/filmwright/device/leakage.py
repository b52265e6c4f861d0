"""Current through an insulator: out of traps helped by the field, and by tunnelling."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from filmwright.device.checks import Array, above_zero, at_least_one, not_negative, numbers
from filmwright.device.laws import thermal_voltage
from filmwright.units import ELECTRON_MASS, ELEMENTARY_CHARGE, PLANCK, VACUUM_PERMITTIVITY


def poole_frenkel_slope(high_frequency_permittivity: float, temperature: float) -> float:
    """Slope of ln(J/E) over √E where electrons leave traps helped by the field.

    Equation: b = √[q/(π·ε₀·ε_∞)] / (k·T/q)

    Parameters
    ----------
    high_frequency_permittivity : float
        ε_∞, relative. Valid range: at least 1.
    temperature : float [K]
        Valid range: above 0.

    Returns
    -------
    float [(m/V)^½]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    S. M. Sze, K. K. Ng, Physics of Semiconductor Devices, 3rd ed., Wiley 2007, ch. 4 (from memory); J. Frenkel, Phys. Rev. 54, 647
    (1938), doi:10.1103/PhysRev.54.647 (from memory).
    """
    at_least_one(high_frequency_permittivity=high_frequency_permittivity)
    lowering = ELEMENTARY_CHARGE / (math.pi * VACUUM_PERMITTIVITY * high_frequency_permittivity)
    return math.sqrt(lowering) / thermal_voltage(temperature)


def poole_frenkel_current(
    field: ArrayLike,
    conductivity: float,
    trap_depth: float,
    high_frequency_permittivity: float,
    temperature: float,
) -> Array:
    """Current density out of traps in an insulator.

    Equation: J = σ·E·exp{−[φ_t − √(q·E/(π·ε₀·ε_∞))]/(k·T/q)}, the barrier at least 0

    Parameters
    ----------
    field : array (any shape) [V/m]
        Size of the field. Valid range: at least 0.
    conductivity : float [S/m]
        σ. Valid range: at least 0.
    trap_depth : float [V]
        φ_t, below the conduction band of the insulator, over q. Valid range: above 0.
    high_frequency_permittivity : float
        Relative. Valid range: at least 1.
    temperature : float [K]
        Valid range: above 0.

    Returns
    -------
    array (shape of field) [A/m²]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    S. M. Sze, J. Appl. Phys. 38, 2951 (1967), doi:10.1063/1.1710030 (from memory).
    """
    not_negative(field=field, conductivity=conductivity)
    above_zero(trap_depth=trap_depth)
    unit, size = thermal_voltage(temperature), numbers(field)
    helped = poole_frenkel_slope(high_frequency_permittivity, temperature) * np.sqrt(size) * unit
    result: Array = conductivity * size * np.exp(-np.maximum(trap_depth - helped, 0.0) / unit)
    return result


def fowler_nordheim_field(barrier: float, tunnelling_mass: float) -> float:
    """Field that stands in the exponent of tunnelling through a triangle.

    Equation: B = 8·π·√(2·m)·(q·φ)^{3/2} / (3·q·h): minus the slope of ln(J/E²) over 1/E

    Parameters
    ----------
    barrier : float [V]
        φ, over q. Valid range: above 0.
    tunnelling_mass : float
        m over that of a free electron. Valid range: above 0.

    Returns
    -------
    float [V/m]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    M. Lenzlinger, E. H. Snow, J. Appl. Phys. 40, 278 (1969), doi:10.1063/1.1657043 (from memory).
    """
    above_zero(barrier=barrier, tunnelling_mass=tunnelling_mass)
    mass, height = tunnelling_mass * ELECTRON_MASS, ELEMENTARY_CHARGE * barrier
    steep: float = 8.0 * math.pi * math.sqrt(2.0 * mass) * height**1.5 / (3.0 * ELEMENTARY_CHARGE * PLANCK)
    return steep


def tunnelling_current(field: ArrayLike, barrier: float, tunnelling_mass: float, thickness: float) -> Array:
    """Current density by tunnelling through an insulator: a triangle at high fields, the whole film at low ones.

    Equation: J = A·E²·exp(−B/E·[1 − (1 − V/φ)^{3/2}]) / [1 − √(1 − V/φ)]², with V = E·d below φ and as φ above; then
    J = A·E²·exp(−B/E), A = q³/(8·π·h·φ·m), B = 8·π·√(2m)·φ^{3/2}/(3·q·h)

    Parameters
    ----------
    field : array (any shape) [V/m]
        Size of the field. Valid range: at least 0.
    barrier : float [V]
        φ, between the electrode's Fermi level and the conduction band of the insulator, over q. Valid range: above 0.
    tunnelling_mass : float
        m over that of a free electron. Valid range: above 0.
    thickness : float [m]
        d. Valid range: above 0.

    Returns
    -------
    array (shape of field) [A/m²]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    M. Lenzlinger, E. H. Snow, J. Appl. Phys. 40, 278 (1969), doi:10.1063/1.1657043 (from memory); the whole film: K. F. Schuegraf,
    C. Hu, IEEE Trans. Electron Devices 41, 761 (1994), doi:10.1109/16.285029 (from memory).
    """
    not_negative(field=field)
    above_zero(thickness=thickness)
    steep = fowler_nordheim_field(barrier, tunnelling_mass)
    size = np.maximum(numbers(field), 1.0)
    before = ELEMENTARY_CHARGE**3 / (8.0 * math.pi * PLANCK * ELEMENTARY_CHARGE * barrier * tunnelling_mass)
    rest = np.sqrt(np.maximum(1.0 - size * thickness / barrier, 0.0))
    result: Array = before * size**2 * np.exp(-steep / size * (1.0 - rest**3)) / (1.0 - rest) ** 2
    return np.where(numbers(field) > 0, result, 0.0)
