"""Auxiliary functions of the transfer curve from which thresholds are read: ratio, integral and transition."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from filmwright.device.checks import Array, above_zero, numbers


def ratio_function(drain_current: ArrayLike, transconductance: ArrayLike) -> Array:
    """Ratio (Y) function, straight above threshold whatever the contacts and the attenuation of the mobility.

    Equation: Y = I_D/√g_m = √(β·V_D)·(V_G − V_T − V_D/2) for I_D = β·V_D·x/(1 + θ·x), x = V_G − V_T − V_D/2

    Parameters
    ----------
    drain_current : array (any shape) [A]
    transconductance : array (same shape) [A/V]
        dI_D/dV_G. Valid range: above 0.

    Returns
    -------
    array (same shape) [A^½·V^½]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    G. Ghibaudo, Electron. Lett. 24, 543 (1988), doi:10.1049/el:19880369 (from memory).
    """
    above_zero(transconductance=transconductance)
    result: Array = numbers(drain_current) / np.sqrt(numbers(transconductance))
    return result


def gain_from_ratio(ratio_slope: ArrayLike, drain_voltage: ArrayLike) -> Array:
    """Gain factor from the slope of the ratio function.

    Equation: β = (dY/dV_G)²/V_D, with β = (W/L)·µ₀·C

    Parameters
    ----------
    ratio_slope : array (any shape) [A^½·V^-½]
    drain_voltage : array (broadcasts) [V]
        Valid range: above 0.

    Returns
    -------
    array (broadcast shape) [A/V²]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    G. Ghibaudo, Electron. Lett. 24, 543 (1988), doi:10.1049/el:19880369 (from memory).
    """
    above_zero(drain_voltage=drain_voltage)
    result: Array = numbers(ratio_slope) ** 2 / numbers(drain_voltage)
    return result


def attenuation_with_contacts(attenuation: float, gain: float, series_resistance: float) -> float:
    """Attenuation that a transfer curve shows when its contacts have a resistance.

    Equation: θ = θ₀ + β·R_SD

    Parameters
    ----------
    attenuation : float [1/V]
        θ₀, of the mobility itself.
    gain : float [A/V²]
        β = (W/L)·µ₀·C. Valid range: above 0.
    series_resistance : float [Ω]
        R_SD, source and drain together.

    Returns
    -------
    float [1/V]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    G. Ghibaudo, Electron. Lett. 24, 543 (1988), doi:10.1049/el:19880369 (from memory).
    """
    above_zero(gain=gain)
    return attenuation + gain * series_resistance


def integral_function(gate_voltage: ArrayLike, drain_current: ArrayLike) -> Array:
    """Integral (H) function, straight above threshold for any power of the overdrive.

    Equation: H = ∫I_D dV_G / I_D = (V_G − V_T)/(m + 1) for I_D ∝ (V_G − V_T)^m; the integral by trapezoids from the first point

    Parameters
    ----------
    gate_voltage : array (n,) [V]
        Valid range: rising, from below threshold on.
    drain_current : array (…, n) [A]
        Not zero where H is wanted (there it is infinite or not a number).

    Returns
    -------
    array (…, n) [V]

    Raises
    ------
    ValueError
        If the gate voltage does not rise.

    References
    ----------
    A. Cerdeira, M. Estrada, R. García, A. Ortiz-Conde, F. J. García Sánchez, Solid-State Electron. 45, 1077 (2001),
    doi:10.1016/S0038-1101(01)00143-5 (abstract read, the equation from memory).
    """
    current = numbers(drain_current)
    area = _area(numbers(gate_voltage), current)
    with np.errstate(divide="ignore", invalid="ignore"):
        result: Array = area / current
    return result


def _area(gate: Array, current: Array) -> Array:
    steps = np.diff(gate)
    if np.any(steps <= 0):
        raise ValueError("gate_voltage must rise")
    parts = steps * (current[..., 1:] + current[..., :-1]) / 2.0
    result: Array = np.concatenate([np.zeros((*current.shape[:-1], 1)), np.cumsum(parts, axis=-1)], axis=-1)
    return result


def power_from_integral(integral_slope: ArrayLike) -> Array:
    """Power of the overdrive from the slope of the integral function.

    Equation: m = 1/(dH/dV_G) − 1

    Parameters
    ----------
    integral_slope : array (any shape) [1]
        Valid range: above 0.

    Returns
    -------
    array (same shape)

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    A. Cerdeira, M. Estrada, R. García, A. Ortiz-Conde, F. J. García Sánchez, Solid-State Electron. 45, 1077 (2001),
    doi:10.1016/S0038-1101(01)00143-5 (abstract read, the equation from memory).
    """
    above_zero(integral_slope=integral_slope)
    result: Array = 1.0 / numbers(integral_slope) - 1.0
    return result


def transition_function(gate_voltage: ArrayLike, drain_current: ArrayLike) -> Array:
    """Auxiliary function of the transition method: it climbs below threshold and comes to rest at it.

    Equation: G = V_G − 2·∫I_D dV_G / I_D; V_G − 2·n·φ below threshold, V_T above it where I_D ∝ V_G − V_T. The threshold is its
    largest value.

    Parameters
    ----------
    gate_voltage : array (n,) [V]
        Valid range: rising, from below threshold on.
    drain_current : array (…, n) [A]

    Returns
    -------
    array (…, n) [V]

    Raises
    ------
    ValueError
        If the gate voltage does not rise.

    References
    ----------
    F. J. García Sánchez et al., Solid-State Electron. 44, 673 (2000), doi:10.1016/S0038-1101(99)00254-3 (abstract read, the function
    from memory); A. Ortiz-Conde et al., Microelectron. Reliab. 42, 583 (2002), doi:10.1016/S0026-2714(02)00027-6 (citation checked).
    """
    result: Array = numbers(gate_voltage) - 2.0 * integral_function(gate_voltage, drain_current)
    return result
