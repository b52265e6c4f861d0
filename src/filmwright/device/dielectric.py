"""Areal capacitance of the gate dielectric."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from filmwright.device.checks import Array, above_zero, at_least_one, numbers
from filmwright.units import VACUUM_PERMITTIVITY


def areal_capacitance(permittivity: ArrayLike, thickness: ArrayLike) -> Array:
    """Capacitance per area of one film between plates.

    Equation: C = ε₀·ε_r / d

    Parameters
    ----------
    permittivity : array (broadcasts with thickness)
        Relative permittivity. Valid range: at least 1.
    thickness : array [m]
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
    Parallel-plate law; vacuum permittivity of CODATA 2018 (published).
    """
    at_least_one(permittivity=permittivity)
    above_zero(thickness=thickness)
    result: Array = VACUUM_PERMITTIVITY * numbers(permittivity) / numbers(thickness)
    return result


def stack_capacitance(permittivities: Sequence[float], thicknesses: Sequence[float]) -> float:
    """Capacitance per area of films on top of each other.

    Equation: 1/C = Σ dᵢ / (ε₀·εᵢ)

    Parameters
    ----------
    permittivities : sequence (n_films)
        Relative permittivities. Valid range: at least 1.
    thicknesses : sequence (n_films) [m]
        Valid range: above 0.

    Returns
    -------
    float [F/m²]

    Raises
    ------
    ValueError
        Outside the valid range, without films, or when the numbers of values differ.

    References
    ----------
    Capacitors in series; vacuum permittivity of CODATA 2018 (published).
    """
    if len(permittivities) != len(thicknesses) or not len(thicknesses):
        raise ValueError(
            f"a stack needs one permittivity for each thickness and at least one film, "
            f"got {len(permittivities)} and {len(thicknesses)}"
        )
    return float(1.0 / np.sum(1.0 / areal_capacitance(permittivities, thicknesses)))
