"""The channel: from gate overdrive and drain voltage to current. A p-type device is the mirror image."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from filmwright.device.checks import Array, above_zero, at_least_one, not_negative, numbers
from filmwright.units import BOLTZMANN, ELEMENTARY_CHARGE


def thermal_voltage(temperature: float) -> float:
    """Voltage that belongs to the thermal energy of a charge carrier.

    Equation: φ = k·T/q

    Parameters
    ----------
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
    S. M. Sze, K. K. Ng, Physics of Semiconductor Devices, 3rd ed., Wiley 2007, ch. 1 (from memory); constants
    of
    the SI of 2019 (published).
    """
    above_zero(temperature=temperature)
    return BOLTZMANN * temperature / ELEMENTARY_CHARGE


def subthreshold_limit(temperature: float) -> float:
    """Smallest swing that a thermally activated channel can have.

    Equation: S₀ = (k·T/q)·ln 10

    Parameters
    ----------
    temperature : float [K]
        Valid range: above 0.

    Returns
    -------
    float [V per decade]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    S. M. Sze, K. K. Ng, Physics of Semiconductor Devices, 3rd ed., Wiley 2007, ch. 6 (from memory).
    """
    return thermal_voltage(temperature) * math.log(10.0)


def ideality_from_swing(swing: float, temperature: float) -> float:
    """How many times a swing exceeds the thermal limit.

    Equation: n = S / [(k·T/q)·ln 10]

    Parameters
    ----------
    swing : float [V per decade]
        Valid range: at least the thermal limit at this temperature.
    temperature : float [K]
        Valid range: above 0.

    Returns
    -------
    float

    Raises
    ------
    ValueError
        Outside the valid range: a swing below the limit is an error of units or a leakage.

    References
    ----------
    S. M. Sze, K. K. Ng, Physics of Semiconductor Devices, 3rd ed., Wiley 2007, ch. 6 (from memory).
    """
    above_zero(swing=swing)
    limit = subthreshold_limit(temperature)
    if swing < limit * (1 - 1e-9):
        raise ValueError(f"swing must be at least kT/q·ln10 = {limit:.4g} V per decade, got {swing:g}")
    return max(swing / limit, 1.0)


def effective_overdrive(overdrive: ArrayLike, ideality: float, temperature: float) -> Array:
    """Gate overdrive that joins the exponential below threshold to the straight line above it.

    Equation: V_eff = 2·n·φ·ln[1 + exp(V_ov/(2·n·φ))]

    Parameters
    ----------
    overdrive : array (any shape) [V]
        Gate voltage less threshold voltage. Valid range: finite.
    ideality : float
        n. Valid range: at least 1.
    temperature : float [K]
        Valid range: above 0.

    Returns
    -------
    array (shape of overdrive) [V]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    C. C. Enz, F. Krummenacher, E. A. Vittoz, Analog Integr. Circuits Signal Process. 8, 83 (1995),
    doi:10.1007/BF01239381 (from memory).
    """
    at_least_one(ideality=ideality)
    scale = 2.0 * ideality * thermal_voltage(temperature)
    return scale * np.logaddexp(0.0, numbers(overdrive) / scale)


def square_law_current(overdrive: ArrayLike, drain_voltage: ArrayLike, beta: float) -> Array:
    """Current of the gradual channel without diffusion, zero below threshold.

    Equation: I = β·[(V_G − V_T)·V_D − V_D²/2] up to V_D = V_G − V_T, then I = (β/2)·(V_G − V_T)²; β =
    (W/L)·µ·C

    Parameters
    ----------
    overdrive : array (broadcasts with drain_voltage) [V]
        V_G − V_T. Valid range: finite.
    drain_voltage : array [V]
        Valid range: at least 0.
    beta : float [A/V²]
        Valid range: at least 0.

    Returns
    -------
    array (broadcast shape) [A]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    S. M. Sze, K. K. Ng, Physics of Semiconductor Devices, 3rd ed., Wiley 2007, ch. 6 (from memory).
    """
    not_negative(drain_voltage=drain_voltage, beta=beta)
    over = np.maximum(numbers(overdrive), 0.0)
    drain = np.minimum(numbers(drain_voltage), over)
    return beta * (over * drain - drain**2 / 2.0)


def charge_based_current(
    overdrive: ArrayLike,
    drain_voltage: ArrayLike,
    beta: float,
    ideality: float,
    temperature: float,
    attenuation: float = 0.0,
    body_factor: float = 1.0,
) -> Array:
    """Current of the channel in all regions, from the charge at its two ends.

    Equation: I = (β/2m)·[V_eff(V_ov)² − V_eff(V_ov − m·V_D)²] / [1 + θ·V_eff(V_ov)]

    With m = 1 (thin film: its charge depends only on gate voltage less channel potential) it tends to the
    square law; with
    m = n it is the form of Enz, Krummenacher and Vittoz for a channel on a grounded bulk, whose saturation
    current is n
    times smaller.

    Parameters
    ----------
    overdrive : array (broadcasts with drain_voltage) [V]
        V_G − V_T. Valid range: finite.
    drain_voltage : array [V]
        Valid range: at least 0 (source and drain are exchanged by :func:`drain_current`).
    beta : float [A/V²]
        (W/L)·µ·C. Valid range: at least 0.
    ideality : float
        n. Valid range: at least 1.
    temperature : float [K]
        Valid range: above 0.
    attenuation : float [1/V]
        θ, fall of the mobility with overdrive. Valid range: at least 0.
    body_factor : float
        m. Valid range: at least 1.

    Returns
    -------
    array (broadcast shape) [A]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    C. C. Enz, F. Krummenacher, E. A. Vittoz, Analog Integr. Circuits Signal Process. 8, 83 (1995),
    doi:10.1007/BF01239381 (from memory).
    """
    not_negative(drain_voltage=drain_voltage, beta=beta, attenuation=attenuation)
    at_least_one(body_factor=body_factor)
    over = numbers(overdrive)
    at_source = effective_overdrive(over, ideality, temperature)
    at_drain = effective_overdrive(over - body_factor * numbers(drain_voltage), ideality, temperature)
    charge = (at_source - at_drain) * (at_source + at_drain) / (2.0 * body_factor)
    return beta * charge / (1.0 + attenuation * at_source)


def activated_mobility(mobility: float, energy: float, temperature: float, reference: float) -> float:
    """Mobility at another temperature than that of its measurement.

    Equation: µ(T) = µ(T₀)·exp[−(E_a/k)·(1/T − 1/T₀)]

    Parameters
    ----------
    mobility : float [m²/(V·s)]
        At the reference temperature. Valid range: above 0.
    energy : float [J]
        E_a. Valid range: finite; below zero where the mobility falls with temperature.
    temperature, reference : float [K]
        Valid range: above 0; tried between 200 K and 400 K.

    Returns
    -------
    float [m²/(V·s)]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    T. Kamiya, K. Nomura, H. Hosono, Sci. Technol. Adv. Mater. 11, 044305 (2010), doi:10.1088/1468-6996/11/4/044305 (from
    memory).
    """
    above_zero(mobility=mobility, temperature=temperature, reference=reference)
    if not math.isfinite(energy):
        raise ValueError(f"energy must be finite, got {energy}")
    return mobility * math.exp(-energy / BOLTZMANN * (1.0 / temperature - 1.0 / reference))
