"""Development of a positive resist: rate, time to clear, what goes where no light came."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from filmwright.process.ranges import finite, not_negative, positive
from filmwright.units import BOLTZMANN

Real = NDArray[np.float64]


def mack_rate(remaining: float, most: float, least: float, exponent: float, threshold: float) -> float:
    """Development rate: R = R_max·(a + 1)·(1 − M)ⁿ/(a + (1 − M)ⁿ) + R_min, a = (n + 1)/(n − 1)·(1 − M_th)ⁿ.

    Parameters
    ----------
    remaining : float [1], 0 to 1
        M, photoactive compound left.
    most, least : float [m/s]
        R_max of fully exposed resist, above 0, and R_min of unexposed, 0 or more.
    exponent : float [1], above 1
        n, selectivity of the developer.
    threshold : float [1], below 1
        M_th, where the rate turns over; negative ones are met.

    Returns
    -------
    rate : float [m/s]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: C. A. Mack, J. Electrochem. Soc. 134, 148 (1987) (from memory). At M = 0 it is R_max + R_min, at M = 1 R_min.
    """
    positive(most=most)
    finite(exponent=exponent, threshold=threshold)
    not_negative(least=least)
    if not 0 <= remaining <= 1:
        raise ValueError(f"what remains must lie between 0 and 1, got {remaining:g}")
    if not (exponent > 1 and threshold < 1):
        raise ValueError("the exponent must be above 1 and the threshold below 1")
    a = (exponent + 1) / (exponent - 1) * (1 - threshold) ** exponent
    reacted = (1 - remaining) ** exponent
    return float(most * (a + 1) * reacted / (a + reacted) + least)


def mack_rates(remaining: Real, most: Real, least: Real, exponent: Real, threshold: Real) -> Real:
    """:func:`mack_rate` of arrays: R = R_max·(a + 1)·(1 − M)ⁿ/(a + (1 − M)ⁿ) + R_min.

    Parameters
    ----------
    remaining : array [1], 0 to 1
    most, least : array [m/s]
    exponent : array [1], above 1
    threshold : array [1], below 1
        All broadcast together.

    Returns
    -------
    rate : array [m/s]

    Raises
    ------
    ValueError
        When an exponent or a threshold is out of its range.

    Notes
    -----
    Source: C. A. Mack, J. Electrochem. Soc. 134, 148 (1987) (from memory).
    """
    if not (np.all(exponent > 1) and np.all(threshold < 1)):
        raise ValueError("every exponent must be above 1 and every threshold below 1")
    a = (exponent + 1) / (exponent - 1) * (1 - threshold) ** exponent
    reacted = (1 - np.clip(remaining, 0.0, 1.0)) ** exponent
    return np.asarray(most * (a + 1) * reacted / (a + reacted) + least)


def time_to_clear(
    thickness: float, remaining: Sequence[float] | NDArray[np.float64], rate: Callable[[float], float]
) -> float:
    """Time until the developer reaches the bottom: t = ∫ dz / R(M(z)), by the trapezoidal rule.

    Parameters
    ----------
    thickness : float [m], above 0
    remaining : array (n,) [1], n at least 2
        M from the top to the bottom, evenly spaced.
    rate : callable (M) → rate [m/s], above 0

    Returns
    -------
    time : float [s]

    Raises
    ------
    ValueError
        When the thickness or a rate is not above zero, or fewer than two places are given.

    Notes
    -----
    Source: definition of a rate; straight down, without what comes from the side. Surface inhibition is left out: the first tenth of
    a micrometre may take longer.
    """
    positive(thickness=thickness)
    places = np.asarray(remaining, dtype=float)
    if places.size < 2:
        raise ValueError("at least the top and the bottom must be given")
    rates = [rate(float(m)) for m in places]
    positive(**{f"rate_{k}": r for k, r in enumerate(rates)})
    return float(np.trapezoid([1 / r for r in rates], dx=thickness / (places.size - 1)))


def dark_loss(rate: float, time: float) -> float:
    """Resist that goes where no light came: ΔT = R_min·t.

    Parameters
    ----------
    rate : float [m/s], 0 or more
    time : float [s], 0 or more

    Returns
    -------
    loss : float [m]

    Raises
    ------
    ValueError
        When one is below zero.

    Notes
    -----
    Source: definition of a rate.
    """
    not_negative(rate=rate, time=time)
    return rate * time


def undercut_of_layer(
    rate: float, energy: float, bake: float, usual: float, time: float, clear: float
) -> float:
    """Undercut of a lower layer that dissolves from when the upper one has cleared: u = R·exp(E/k·(1/T − 1/T₀))·max(t − t_c, 0).

    Parameters
    ----------
    rate : float [m/s], 0 or more
        R after the usual bake.
    energy : float [J], 0 or more
        E: a hotter bake slows it.
    bake, usual : float [K], above 0
        T and T₀.
    time, clear : float [s], 0 or more
        t in the developer and t_c until the upper layer has cleared.

    Returns
    -------
    undercut : float [m]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: definition of a rate, with the law of Arrhenius for the bake between 150 °C and 190 °C (common practice).
    """
    positive(bake=bake, usual=usual)
    not_negative(rate=rate, energy=energy, time=time, clear=clear)
    slower = math.exp(energy / BOLTZMANN * (1 / bake - 1 / usual))
    return rate * slower * max(time - clear, 0.0)
