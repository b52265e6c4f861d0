"""The compact transistor that stands closest to a film transistor: same gain and threshold turned on, same swing below."""

from __future__ import annotations

import numpy as np

from filmwright.device.checks import Array, above_zero
from filmwright.device.film_transistor import ChargeTable, FilmTransistor, charge_table
from filmwright.device.laws import ideality_from_swing, subthreshold_limit
from filmwright.device.transistor import TransistorDesign
from filmwright.units import ELEMENTARY_CHARGE

_DECADES = (-5.0, -2.0)
"""Between which shares of the electrons of the tangent the swing is looked for."""
_POINTS = 121


def drive_of(table: ChargeTable, electrons: float) -> float:
    """Drive at which a film holds so many free electrons per area.

    Parameters
    ----------
    table : ChargeTable
    electrons : float [1/m²]
        Valid range: above 0 and within the table.

    Returns
    -------
    float [V]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    The charge of the table turned around by halving (common practice).
    """
    above_zero(electrons=electrons)
    wanted = ELEMENTARY_CHARGE * electrons
    low, high = table.lowest, table.highest
    if not float(table.free(low)) < wanted < float(table.free(high)):
        raise ValueError(
            f"electrons must be reached between {low:g} V and {high:g} V of drive, got {electrons:.3g} 1/m²"
        )
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if float(table.free(middle)) < wanted else (low, middle)
    return (low + high) / 2


def smallest_swing(table: ChargeTable, electrons: float) -> float:
    """Smallest swing of the free charge between five and two decades below so many electrons per area.

    Equation: S = min dV_G / dlog₁₀ Q_free

    Parameters
    ----------
    table : ChargeTable
    electrons : float [1/m²]
        Valid range: above 0 and within the table.

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
    low, high = (drive_of(table, electrons * 10.0**decade) for decade in _DECADES)
    at = np.linspace(low, high, _POINTS)
    slope: Array = np.diff(np.log10(table.free(at))) / np.diff(at)
    limit = subthreshold_limit(table.of.states.temperature)
    return max(1.0 / float(np.max(slope)), limit)


def compact_twin(transistor: FilmTransistor, electrons: float, contact_resistance: float) -> TransistorDesign:
    """The compact design with the tangent of the film's free charge at so many electrons per area, and its swing.

    Equation: V_T = V − Q/(dQ/dV), µ' = µ·(Q/(q·n₀))^γ·(dQ/dV)/C, n = S/[(kT/q)·ln 10], at the V with Q_free = q·n

    Parameters
    ----------
    transistor : FilmTransistor
    electrons : float [1/m²]
        n. Valid range: above 0, and reached within 60 V of drive.
    contact_resistance : float [Ω·m]
        Of one contact of the twin (R·W). Valid range: at least 0.

    Returns
    -------
    TransistorDesign

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    Tangent and swing are the definitions of A. Ortiz-Conde et al., Microelectron. Reliab. 42, 583 (2002),
    doi:10.1016/S0026-2714(02)00027-6 (from memory), read off the charge.
    """
    film = transistor.film
    table = charge_table(
        film, *span_for(film.areal_capacitance, electrons, film.thickness, film.states.donors)
    )
    drive = drive_of(table, electrons)
    step = 1e-3
    slope = float(table.free(drive + step) - table.free(drive - step)) / (2 * step)
    follows = (electrons / transistor.reference) ** transistor.mobility_exponent
    return TransistorDesign(
        width=transistor.width,
        length=transistor.length,
        areal_capacitance=film.areal_capacitance,
        mobility=transistor.mobility * follows * slope / film.areal_capacitance,
        threshold_voltage=transistor.offset + drive - ELEMENTARY_CHARGE * electrons / slope,
        ideality=ideality_from_swing(smallest_swing(table, electrons), film.states.temperature),
        contact_resistance=contact_resistance,
        off_current=transistor.off_current,
        temperature=film.states.temperature,
    )


def span_for(capacitance: float, electrons: float, thickness: float, donors: float) -> tuple[float, float]:
    """Drives between which a film empties and holds so many electrons per area, whole volts.

    Parameters
    ----------
    capacitance : float [F/m²]
        Of the insulator. Valid range: above 0.
    electrons : float [1/m²]
    thickness : float [m]
        Of the film.
    donors : float [1/m³]

    Returns
    -------
    (float, float) [V]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    Charge over capacitance, with the volts that bend the bands to spare (common practice).
    """
    above_zero(capacitance=capacitance)
    emptied = ELEMENTARY_CHARGE * donors * thickness / capacitance
    filled = 3.0 * ELEMENTARY_CHARGE * electrons / capacitance
    return -float(np.ceil(emptied + 4.0)), float(np.ceil(filled + 2.0))
