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


def transfer_length_of_front(front_over_sheet: ArrayLike, contact_length: float) -> Array:
    """Transfer length of a contact of finite length from what it shows at its front edge.

    Equation: L_T·coth(L_c/L_T) = R_c·W/R_sh, solved for L_T (the sheet below the contact as beside it)

    Parameters
    ----------
    front_over_sheet : array [m]
        R_c·W/R_sh: contact resistance by width over sheet resistance. Valid range: above 0.
    contact_length : float [m]
        L_c. Valid range: above 0; infinity for a contact much longer than the transfer length.

    Returns
    -------
    array (shape of front_over_sheet) [m]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    H. H. Berger, Solid-State Electron. 15, 145 (1972), doi:10.1016/0038-1101(72)90048-2 (from memory).
    """
    above_zero(front_over_sheet=front_over_sheet)
    wanted = numbers(front_over_sheet)
    if np.isinf(contact_length):
        return wanted
    above_zero(contact_length=contact_length)
    # q = coth(x)/x with x = L_c/L_T falls steadily from infinity to nought: Newton on ln q against ln x.
    target = wanted / contact_length
    x = np.where(target > 1.0, 1.0 / np.sqrt(target), 1.0 / target)
    for _ in range(60):
        wave = np.tanh(np.minimum(x, 350.0))
        miss = np.log(1.0 / (wave * x)) - np.log(target)
        slope = -1.0 - x * (1.0 - wave**2) / wave
        x = x * np.exp(np.clip(-miss / slope, -2.0, 2.0))
    result: Array = contact_length / x
    return result


def transfer_length_of_end(
    front_resistance: ArrayLike, end_resistance: ArrayLike, contact_length: float
) -> Array:
    """Transfer length of a contact from what it shows at its front edge and at its far end.

    Equation: L_T = L_c / arcosh(R_c/R_e), whatever the sheet resistance below the contact

    Parameters
    ----------
    front_resistance : array [Ω]
        R_c. Valid range: above ``end_resistance``.
    end_resistance : array [Ω]
        R_e. Valid range: above 0.
    contact_length : float [m]
        L_c. Valid range: above 0.

    Returns
    -------
    array (broadcast shape) [m]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    G. K. Reeves, H. B. Harrison, IEEE Electron Device Lett. 3, 111 (1982), doi:10.1109/EDL.1982.25502 (from
    memory).
    """
    above_zero(end_resistance=end_resistance, contact_length=contact_length)
    above_zero(front_less_end=numbers(front_resistance) - numbers(end_resistance))
    result: Array = contact_length / np.arccosh(numbers(front_resistance) / numbers(end_resistance))
    return result


def specific_contact_resistance_of_end(
    front_resistance: ArrayLike, end_resistance: ArrayLike, contact_length: float, width: float
) -> Array:
    """Specific contact resistance from front and end resistance, whatever the sheet resistance below the contact.

    Equation: ρ_c = R_e·W·L_T·sinh(L_c/L_T), L_T = L_c/arcosh(R_c/R_e)

    Parameters
    ----------
    front_resistance, end_resistance : array [Ω]
        R_c above R_e above 0.
    contact_length, width : float [m]
        Valid range: above 0.

    Returns
    -------
    array (broadcast shape) [Ω·m²]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    G. K. Reeves, H. B. Harrison, IEEE Electron Device Lett. 3, 111 (1982), doi:10.1109/EDL.1982.25502 (from
    memory).
    """
    above_zero(width=width)
    reach = transfer_length_of_end(front_resistance, end_resistance, contact_length)
    result: Array = numbers(end_resistance) * width * reach * np.sinh(contact_length / reach)
    return result
