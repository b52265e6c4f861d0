"""Capacitance of a transistor against its gate, and up to which frequency its channel follows."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from filmwright.device.checks import Array, above_zero, numbers
from filmwright.device.film_transistor import ChargeTable, FilmTransistor, charge_table
from filmwright.units import VACUUM_PERMITTIVITY


def gate_capacitance(
    transistor: FilmTransistor, gate_voltage: ArrayLike, table: ChargeTable | None = None
) -> Array:
    """Capacitance between the gate and source and drain held together, slow enough for every state to follow.

    Equation: C_g = W·L·dQ_g/dV + W·(L_s + L_d)·max(dQ_g/dV, C_i·C_f/(C_i + C_f)), C_f = ε/t: under its contacts the film has
    metal behind it

    Parameters
    ----------
    transistor : FilmTransistor
        Overlaps are those of its gated contacts; none otherwise.
    gate_voltage : array (any shape) [V]
        Valid range: finite.
    table : ChargeTable or None [C/m²]
        Of the same film; None makes one that spans the voltages.

    Returns
    -------
    array (shape of gate_voltage) [F]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    S. M. Sze, K. K. Ng, Physics of Semiconductor Devices, 3rd ed., Wiley 2007, ch. 4 (from memory).
    """
    drive = numbers(gate_voltage) - transistor.offset
    if not np.all(np.isfinite(drive)):
        raise ValueError("gate_voltage must be finite")
    if table is None:
        low, high = float(np.min(drive, initial=-1.0)), float(np.max(drive, initial=0.0))
        table = charge_table(transistor.film, math.floor(low) - 1.0, math.ceil(high))
    film = transistor.film
    areal = table.capacitance(drive)
    behind = VACUUM_PERMITTIVITY * film.states.permittivity / film.thickness
    least = film.areal_capacitance * behind / (film.areal_capacitance + behind)
    made = transistor.contact
    overlaps = made.source_overlap + made.drain_overlap if made is not None else 0.0
    result: Array = transistor.width * (transistor.length * areal + overlaps * np.maximum(areal, least))
    return result


def charging_frequency(sheet_conductance: ArrayLike, areal_capacitance: ArrayLike, length: float) -> Array:
    """Frequency above which a channel charged from both ends no longer follows its gate.

    Equation: f = π·G/(2·C·L²), of the slowest way in which the charge spreads, τ = C·L²/(π²·G)

    Parameters
    ----------
    sheet_conductance : array (broadcasts with areal_capacitance) [S]
        Valid range: above 0.
    areal_capacitance : array [F/m²]
        Valid range: above 0.
    length : float [m]
        Between the contacts. Valid range: above 0.

    Returns
    -------
    array (broadcast shape) [1/s]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    Diffusion of charge along a line of resistors and capacitors held at both ends: H. S. Carslaw, J. C. Jaeger, Conduction of Heat in
    Solids, 2nd ed., Oxford 1959, 3.3 (from memory).
    """
    above_zero(sheet_conductance=sheet_conductance, areal_capacitance=areal_capacitance, length=length)
    result: Array = math.pi * numbers(sheet_conductance) / (2.0 * numbers(areal_capacitance) * length**2)
    return result
