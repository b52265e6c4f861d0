"""What surrounds a channel: the heat that leaves it, and the current that flows beside it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from filmwright.device.checks import Array, above_zero, not_negative, numbers


def thermal_resistance(
    width: float, length: float, thicknesses: Sequence[float], conductivities: Sequence[float], body: float
) -> float:
    """Warming of a channel for each watt, through the films beneath it and into the wafer.

    Equation: R = Σ dᵢ/(κᵢ·W·L) + 8/(3·π²·κ_b·a), a = √(W·L/π): films straight down, then from an evenly heated disc of the same
    area into a body much thicker than it

    Parameters
    ----------
    width, length : float [m]
        Of the channel. Valid range: above 0.
    thicknesses : sequence (n) [m]
        Of the films between channel and wafer. Valid range: at least 0, and small beside width and length: a thick film spreads
        the heat, which is then overestimated.
    conductivities : sequence (n) [W/(m·K)]
        Theirs. Valid range: above 0.
    body : float [W/(m·K)]
        Of the wafer. Valid range: above 0.

    Returns
    -------
    float [K/W]

    Raises
    ------
    ValueError
        Outside the valid range, or when the numbers of values differ.

    References
    ----------
    H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids, 2nd ed., Oxford 1959, 8.2 (from memory): mean temperature of a disc.
    """
    above_zero(width=width, length=length, body=body, conductivities=conductivities or [1.0])
    not_negative(thicknesses=thicknesses or [0.0])
    if len(thicknesses) != len(conductivities):
        raise ValueError(
            f"each film needs a thickness and a conductivity, got {len(thicknesses)} and {len(conductivities)}"
        )
    area = width * length
    films = sum(thick / conducts for thick, conducts in zip(thicknesses, conductivities, strict=True)) / area
    return films + 8.0 / (3.0 * math.pi**2 * body * math.sqrt(area / math.pi))


def fringe_width(length: ArrayLike, overhang: ArrayLike) -> Array:
    """Width that semiconductor beside the contacts adds to a channel, both sides together: an estimate.

    Equation: ΔW = (2·L/π)·ln(1 + π·s/L): a film that stands out by s at each side carries current along half circles whose length
    grows from L with the distance from the contact's corner

    Parameters
    ----------
    length : array (broadcasts with overhang) [m]
        L between the contacts. Valid range: above 0.
    overhang : array [m]
        s at each side. Valid range: at least 0; right to some 30 %.

    Returns
    -------
    array (broadcast shape) [m]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    Field lines as half circles about the gap: the usual estimate of fringing at the end of two coplanar plates (common practice).
    """
    above_zero(length=length)
    not_negative(overhang=overhang)
    gap = numbers(length)
    result: Array = 2.0 * gap / math.pi * np.log1p(math.pi * numbers(overhang) / gap)
    return result
