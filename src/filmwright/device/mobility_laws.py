"""Mobilities of a gated channel whose mobility may depend on the gate voltage, and what contacts take of it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from filmwright.device.checks import Array, above_zero, not_negative, numbers


def effective_mobility(
    conductance: ArrayLike,
    width: ArrayLike,
    length: ArrayLike,
    areal_capacitance: ArrayLike,
    overdrive: ArrayLike,
) -> Array:
    """Mobility from the conductance of the channel.

    Equation: µ = g·L/[W·C·(V_G − V_T)]; with g = I/V_D at a finite V_D the overdrive is V_G − V_T − V_D/2

    Parameters
    ----------
    conductance : array (any shape) [S]
        Valid range: finite.
    width, length : float or array [m]
        Valid range: above 0.
    areal_capacitance : float or array [F/m²]
        Valid range: above 0.
    overdrive : array (broadcasts with conductance) [V]
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
    above_zero(width=width, length=length, areal_capacitance=areal_capacitance, overdrive=overdrive)
    charge = numbers(areal_capacitance) * numbers(overdrive)
    result: Array = numbers(conductance) * numbers(length) / (numbers(width) * charge)
    return result


def average_mobility(
    current: ArrayLike,
    width: ArrayLike,
    length: ArrayLike,
    areal_capacitance: ArrayLike,
    overdrive: ArrayLike,
    drain_voltage: ArrayLike,
) -> Array:
    """Mean of a mobility that depends on the gate voltage, weighted with the charge along the channel.

    Equation: µ̄ = I·L/{W·C·[u·v − v²/2]} with u = V_G − V_on and v = V_D, or v = u where V_D is larger

    Exact for any µ: the gradual channel gives I = (W/L)·C·∫µ(x)·x dx from u − v to u, and the bracket is ∫x dx. For
    V_D → 0 it is the average mobility of the charge at V_G.

    Parameters
    ----------
    current : array (any shape) [A]
        Valid range: finite.
    width, length : float or array [m]
        Valid range: above 0.
    areal_capacitance : float or array [F/m²]
        Valid range: above 0.
    overdrive : array (broadcasts with current) [V]
        u, above the voltage at which charge begins to be induced. Valid range: above 0.
    drain_voltage : array (broadcasts with current) [V]
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
    R. L. Hoffman, J. Appl. Phys. 95, 5813 (2004), doi:10.1063/1.1712015 (from memory); Y. Zhou, X. Wang,
    A. Dodabalapur, Adv. Electron. Mater. (2022), doi:10.1002/aelm.202200786 (abstract published).
    """
    above_zero(width=width, length=length, areal_capacitance=areal_capacitance)
    above_zero(overdrive=overdrive, drain_voltage=drain_voltage)
    over = numbers(overdrive)
    across = np.minimum(numbers(drain_voltage), over)
    charge = numbers(areal_capacitance) * (over * across - across**2 / 2.0)
    result: Array = numbers(current) * numbers(length) / (numbers(width) * charge)
    return result


def sheet_conductance_by_differences(
    gate_voltage: ArrayLike, transconductance: ArrayLike, drain_voltage: float, width: float, length: float
) -> Array:
    """Sheet conductance of the channel at its source end, exact for any dependence on the gate voltage.

    Equation: σ(V_G) = (L/W)·Σ_k g_m(V_G − k·V_D), k = 0, 1, … to below the sweep, because the gradual channel gives
    (L/W)·g_m = σ(V_G) − σ(V_G − V_D)

    Between readings the transconductance is interpolated in a straight line. In saturation one term is left.

    Parameters
    ----------
    gate_voltage : array (n_points,) [V]
        Valid range: rising, from where the channel is off.
    transconductance : array (n_points,) [A/V]
    drain_voltage : float [V]
        Valid range: above 0.
    width, length : float [m]
        Valid range: above 0.

    Returns
    -------
    array (n_points,) [S per square]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    Y. Zhou, X. Wang, A. Dodabalapur, Adv. Electron. Mater. (2022), doi:10.1002/aelm.202200786 (abstract published:
    finite differences within the gradual channel); the sum is worked out here.
    """
    above_zero(drain_voltage=drain_voltage, width=width, length=length)
    gate, slope = numbers(gate_voltage), numbers(transconductance)
    if np.any(np.diff(gate) <= 0):
        raise ValueError("gate_voltage must rise")
    total = np.zeros_like(slope)
    shifts = np.arange(int(np.floor((gate[-1] - gate[0]) / drain_voltage)) + 1) * drain_voltage
    for shift in shifts:
        total += np.interp(gate - shift, gate, slope, left=0.0)
    result: Array = length / width * total
    return result


def incremental_mobility(conductance_slope: ArrayLike, areal_capacitance: float) -> Array:
    """Mobility of the charge that the next step of the gate voltage adds.

    Equation: µ = (dσ/dV_G)/C, with σ the sheet conductance

    Parameters
    ----------
    conductance_slope : array (any shape) [S/V per square]
    areal_capacitance : float [F/m²]
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
    R. L. Hoffman, J. Appl. Phys. 95, 5813 (2004), doi:10.1063/1.1712015 (from memory).
    """
    above_zero(areal_capacitance=areal_capacitance)
    return numbers(conductance_slope) / areal_capacitance


def conductance_without_contacts(
    current: ArrayLike, drain_voltage: ArrayLike, contact_ohms: ArrayLike
) -> Array:
    """Conductance of the channel alone, where the resistance of the contacts is known.

    Equation: g = 1/(V_D/I − 2·R), R of one contact; NaN where the contacts take all of the voltage

    Parameters
    ----------
    current : array (any shape) [A]
        Valid range: above 0.
    drain_voltage : array (broadcasts) [V]
        Valid range: above 0.
    contact_ohms : array (broadcasts) [Ω]
        Valid range: at least 0.

    Returns
    -------
    array (broadcast shape) [S]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    D. K. Schroder, Semiconductor Material and Device Characterization, 3rd ed., Wiley 2006, ch. 4 (from
    memory).
    """
    above_zero(current=current, drain_voltage=drain_voltage)
    not_negative(contact_ohms=contact_ohms)
    channel = numbers(drain_voltage) / numbers(current) - 2.0 * numbers(contact_ohms)
    return np.where(channel > 0, 1.0 / np.where(channel > 0, channel, 1.0), np.nan)


def contact_share(attenuation: ArrayLike, overdrive: ArrayLike) -> Array:
    """Largest share that contacts can have in the resistance between drain and source, from one curve alone.

    Equation: s = θ·x/(1 + θ·x), x the overdrive, since V_D/I = 1/(β·x) + θ/β and θ/β is R_SD plus what the mobility loses

    Parameters
    ----------
    attenuation : array (any shape) [1/V]
        θ of the whole curve, from the ratio method. Below zero the mobility rises and s says nothing: NaN.
    overdrive : array (broadcasts) [V]
        Valid range: above 0.

    Returns
    -------
    array (broadcast shape)

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    G. Ghibaudo, Electron. Lett. 24, 543 (1988), doi:10.1049/el:19880369 (from memory).
    """
    above_zero(overdrive=overdrive)
    product = numbers(attenuation) * numbers(overdrive)
    return np.where(product >= 0, product / (1.0 + np.maximum(product, 0.0)), np.nan)
