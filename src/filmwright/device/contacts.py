"""Ungated contacts and sheets."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from filmwright.device.checks import Array, above_zero, numbers


def transfer_length(specific_contact_resistance: ArrayLike, sheet_resistance: ArrayLike) -> Array:
    """Length over which current passes between a film and the contact on it.

    Equation: L_T = √(ρ_c / R_sh)

    Parameters
    ----------
    specific_contact_resistance : array (broadcasts with sheet_resistance) [Ω·m²]
        Valid range: above 0.
    sheet_resistance : array [Ω]
        Below the contact, per square. Valid range: above 0.

    Returns
    -------
    array (broadcast shape) [m]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    H. H. Berger, Solid-State Electron. 15, 145 (1972), doi:10.1016/0038-1101(72)90048-2 (from memory).
    """
    above_zero(specific_contact_resistance=specific_contact_resistance, sheet_resistance=sheet_resistance)
    result: Array = np.sqrt(numbers(specific_contact_resistance) / numbers(sheet_resistance))
    return result


def contact_front_resistance(
    specific_contact_resistance: ArrayLike, sheet_resistance: float, contact_length: ArrayLike, width: float
) -> Array:
    """Resistance of a contact of finite length, seen from its front edge.

    Equation: R_c = ρ_c/(L_T·W)·coth(L_c/L_T)

    Parameters
    ----------
    specific_contact_resistance : array (broadcasts with contact_length) [Ω·m²]
        Valid range: above 0.
    sheet_resistance : float [Ω]
        Per square. Valid range: above 0.
    contact_length : array [m]
        Valid range: above 0.
    width : float [m]
        Valid range: above 0.

    Returns
    -------
    array (broadcast shape) [Ω]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    G. K. Reeves, H. B. Harrison, IEEE Electron Device Lett. 3, 111 (1982), doi:10.1109/EDL.1982.25502 (from
    memory).
    """
    above_zero(contact_length=contact_length, width=width)
    reach = transfer_length(specific_contact_resistance, sheet_resistance)
    result: Array = (
        numbers(specific_contact_resistance) / (reach * width) / np.tanh(numbers(contact_length) / reach)
    )
    return result


def contact_end_resistance(
    specific_contact_resistance: ArrayLike, sheet_resistance: float, contact_length: ArrayLike, width: float
) -> Array:
    """Resistance of a contact seen from its far end.

    Equation: R_e = ρ_c/[L_T·W·sinh(L_c/L_T)]

    Parameters
    ----------
    specific_contact_resistance : array (broadcasts with contact_length) [Ω·m²]
        Valid range: above 0.
    sheet_resistance : float [Ω]
        Per square. Valid range: above 0.
    contact_length : array [m]
        Valid range: above 0.
    width : float [m]
        Valid range: above 0.

    Returns
    -------
    array (broadcast shape) [Ω]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    G. K. Reeves, H. B. Harrison, IEEE Electron Device Lett. 3, 111 (1982), doi:10.1109/EDL.1982.25502 (from
    memory).
    """
    above_zero(contact_length=contact_length, width=width)
    reach = transfer_length(specific_contact_resistance, sheet_resistance)
    result: Array = (
        numbers(specific_contact_resistance) / (reach * width) / np.sinh(numbers(contact_length) / reach)
    )
    return result
