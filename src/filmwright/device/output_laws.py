"""What is read off an output curve: the definitions that ``measure`` extracts by, as functions of readings."""

from __future__ import annotations

from numpy.typing import ArrayLike

from filmwright.device.checks import Array, above_zero, not_negative, numbers


def early_voltage(current: ArrayLike, conductance: ArrayLike, drain_voltage: ArrayLike) -> Array:
    """How far left of zero the saturated stretch of an output curve meets zero current.

    Equation: V_A = I/g − V_D

    Parameters
    ----------
    current : array (any shape) [A]
        On the saturated stretch. Valid range: at least 0.
    conductance : array (same shape) [S]
        Slope of that stretch. Valid range: above 0.
    drain_voltage : array (same shape) [V]
        Where the current was read. Valid range: at least 0.

    Returns
    -------
    array (same shape) [V]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    J. M. Early, Proc. IRE 40, 1401 (1952), doi:10.1109/JRPROC.1952.273969 (from memory).
    """
    above_zero(conductance=conductance)
    not_negative(current=current, drain_voltage=drain_voltage)
    result: Array = numbers(current) / numbers(conductance) - numbers(drain_voltage)
    return result


def channel_length_modulation(current: ArrayLike, conductance: ArrayLike, drain_voltage: ArrayLike) -> Array:
    """Relative rise of the saturated current per volt, referred to the line's value at zero drain voltage.

    Equation: λ = g/(I − g·V_D), so that I = I₀·(1 + λ·V_D)

    Parameters
    ----------
    current : array (any shape) [A]
        On the saturated stretch. Valid range: above g·V_D.
    conductance : array (same shape) [S]
        Slope of that stretch; a falling current gives a negative λ. Valid range: finite.
    drain_voltage : array (same shape) [V]
        Where the current was read. Valid range: at least 0.

    Returns
    -------
    array (same shape) [1/V]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    H. Shichman, D. A. Hodges, IEEE J. Solid-State Circuits 3, 285 (1968), doi:10.1109/JSSC.1968.1049902 (from
    memory).
    """
    not_negative(drain_voltage=drain_voltage)
    at_zero = numbers(current) - numbers(conductance) * numbers(drain_voltage)
    above_zero(current_at_zero=at_zero)
    result: Array = numbers(conductance) / at_zero
    return result


def saturation_voltage(three_quarters: ArrayLike) -> Array:
    """Drain voltage at which a channel of the square law saturates, from a place where the curve is steep.

    Equation: V_Dsat = 2·V(¾), since I/I_sat = 1 − (1 − V_D/V_Dsat)² is ¾ at half of V_Dsat

    Parameters
    ----------
    three_quarters : array (any shape) [V]
        Drain voltage at which the current is three quarters of the saturated line. Valid range: above 0.

    Returns
    -------
    array (same shape) [V]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    S. M. Sze, K. K. Ng, Physics of Semiconductor Devices, 3rd ed., Wiley 2007, ch. 6, for the square law
    (from memory).
    """
    above_zero(three_quarters=three_quarters)
    return 2.0 * numbers(three_quarters)
