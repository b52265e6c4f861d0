"""What a transistor parameter is: the definitions that ``measure`` extracts by, as functions of readings."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from filmwright.device.checks import Array, above_zero, not_negative, numbers
from filmwright.device.laws import subthreshold_limit
from filmwright.units import ELEMENTARY_CHARGE


def tangent_intercept(gate_voltage: ArrayLike, ordinate: ArrayLike, slope: ArrayLike) -> Array:
    """Gate voltage at which the tangent to a curve meets zero: the extrapolated threshold.

    Equation: V_T = V_G − y/(dy/dV_G), with y = I_D (linear region, at the largest transconductance) or √I_D
    (saturation)

    Nothing is subtracted for the drain voltage; the intercept of an ideal device in the linear region is V_T
    + V_D/2.

    Parameters
    ----------
    gate_voltage : array (any shape) [V]
    ordinate : array (same shape) [A or A^½]
    slope : array (same shape) [A/V or A^½/V]
        Valid range: above 0.

    Returns
    -------
    array (same shape) [V]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    JEDEC dictionary, extrapolated threshold voltage, citing ASTM F617-86 and JESD28-A (published);
    A. Ortiz-Conde et al., Microelectron. Reliab. 42, 583 (2002), doi:10.1016/S0026-2714(02)00027-6 (from
    memory).
    """
    above_zero(slope=slope)
    result: Array = numbers(gate_voltage) - numbers(ordinate) / numbers(slope)
    return result


def linear_mobility(
    transconductance: ArrayLike,
    width: ArrayLike,
    length: ArrayLike,
    areal_capacitance: ArrayLike,
    drain_voltage: ArrayLike,
) -> Array:
    """Field-effect mobility in the linear region.

    Equation: µ = g_m·L / (W·C·V_D)

    Parameters
    ----------
    transconductance : array (any shape) [A/V]
        dI_D/dV_G. Valid range: finite.
    width, length : float or array [m]
        Valid range: above 0.
    areal_capacitance : float or array [F/m²]
        Valid range: above 0.
    drain_voltage : array (broadcasts with transconductance) [V]
        Valid range: above 0.

    Returns
    -------
    array (broadcast shape) [m²/(V·s)]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    D. K. Schroder, Semiconductor Material and Device Characterization, 3rd ed., Wiley 2006, ch. 8 (from
    memory).
    """
    above_zero(width=width, length=length, areal_capacitance=areal_capacitance, drain_voltage=drain_voltage)
    charge = numbers(areal_capacitance) * numbers(drain_voltage)
    result: Array = numbers(transconductance) * numbers(length) / (numbers(width) * charge)
    return result


def saturation_mobility(
    root_slope: ArrayLike, width: ArrayLike, length: ArrayLike, areal_capacitance: ArrayLike
) -> Array:
    """Mobility in saturation.

    Equation: µ = 2·L/(W·C)·(d√I_D/dV_G)²

    Parameters
    ----------
    root_slope : array (any shape) [A^½/V]
        d√I_D/dV_G. Valid range: finite.
    width, length : float or array [m]
        Valid range: above 0.
    areal_capacitance : float or array [F/m²]
        Valid range: above 0.

    Returns
    -------
    array (same shape) [m²/(V·s)]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    D. K. Schroder, Semiconductor Material and Device Characterization, 3rd ed., Wiley 2006, ch. 8 (from
    memory).
    """
    above_zero(width=width, length=length, areal_capacitance=areal_capacitance)
    gain = numbers(width) * numbers(areal_capacitance) / numbers(length)
    result: Array = 2.0 / gain * numbers(root_slope) ** 2
    return result


def constant_current_criterion(width: float, length: float, square_current: float) -> float:
    """Drain current at which a threshold by constant current is read.

    Equation: I = (W/L)·I₀

    Parameters
    ----------
    width, length : float [m]
        Valid range: above 0.
    square_current : float [A]
        I₀, the current of a square channel, customarily 1, 10 or 100 nA. Valid range: above 0.

    Returns
    -------
    float [A]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    A. Ortiz-Conde et al., Microelectron. Reliab. 42, 583 (2002), doi:10.1016/S0026-2714(02)00027-6 (from
    memory).
    """
    above_zero(width=width, length=length, square_current=square_current)
    return width / length * square_current


def trap_density(swing: ArrayLike, areal_capacitance: float, temperature: float) -> Array:
    """Density of traps per area and energy that a swing implies at most.

    Equation: N = [S / ((k·T/q)·ln 10) − 1]·C/q

    Parameters
    ----------
    swing : array (any shape) [V per decade]
        Valid range: at least the thermal limit.
    areal_capacitance : float [F/m²]
        Valid range: above 0.
    temperature : float [K]
        Valid range: above 0.

    Returns
    -------
    array (same shape) [1/(m²·V), that is per m² and eV]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    A. Rolland et al., J. Electrochem. Soc. 140, 3679 (1993) (from memory).
    """
    above_zero(swing=swing, areal_capacitance=areal_capacitance)
    excess: Array = numbers(swing) / subthreshold_limit(temperature) - 1.0
    if np.any(excess < -1e-9):
        raise ValueError(
            f"swing must be at least the thermal limit {subthreshold_limit(temperature):.4g} V per decade"
        )
    return excess * areal_capacitance / ELEMENTARY_CHARGE


def reliability_linear(
    largest_current: ArrayLike, zero_current: ArrayLike, gate_voltage: ArrayLike, transconductance: ArrayLike
) -> Array:
    """Share of the claimed mobility that the whole curve supports, linear region.

    Equation: r = [(|I|max − |I|₀)/|V_G|max] / g_m, since W·C·V_D·µ_claimed/L is the transconductance claimed

    Parameters
    ----------
    largest_current : array (any shape) [A]
        At the largest gate voltage. Valid range: at least 0.
    zero_current : array (same shape) [A]
        At V_G = 0. Valid range: at least 0.
    gate_voltage : array (same shape) [V]
        The largest. Valid range: above 0.
    transconductance : array (same shape) [A/V]
        From which the mobility was claimed. Valid range: above 0.

    Returns
    -------
    array (same shape)

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    H. H. Choi et al., Nat. Mater. 17, 2 (2018), doi:10.1038/nmat5035 (from memory).
    """
    not_negative(largest_current=largest_current, zero_current=zero_current)
    above_zero(gate_voltage=gate_voltage, transconductance=transconductance)
    mean: Array = (numbers(largest_current) - numbers(zero_current)) / numbers(gate_voltage)
    return mean / numbers(transconductance)


def reliability_saturation(
    largest_current: ArrayLike, zero_current: ArrayLike, gate_voltage: ArrayLike, root_slope: ArrayLike
) -> Array:
    """Share of the claimed mobility that the whole curve supports, saturation.

    Equation: r = {[(√|I|max − √|I|₀)/|V_G|max] / (d√I/dV_G)}²

    Parameters
    ----------
    largest_current : array (any shape) [A]
        At the largest gate voltage. Valid range: at least 0.
    zero_current : array (same shape) [A]
        At V_G = 0. Valid range: at least 0.
    gate_voltage : array (same shape) [V]
        The largest. Valid range: above 0.
    root_slope : array (same shape) [A^½/V]
        From which the mobility was claimed. Valid range: above 0.

    Returns
    -------
    array (same shape)

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    H. H. Choi et al., Nat. Mater. 17, 2 (2018), doi:10.1038/nmat5035 (from memory).
    """
    not_negative(largest_current=largest_current, zero_current=zero_current)
    above_zero(gate_voltage=gate_voltage, root_slope=root_slope)
    mean: Array = (np.sqrt(numbers(largest_current)) - np.sqrt(numbers(zero_current))) / numbers(gate_voltage)
    return (mean / numbers(root_slope)) ** 2
