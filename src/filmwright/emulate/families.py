"""Families of predicted curves of one transistor: transfer, output, gate current and capacitance, from one table of charge."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from filmwright.device import charge_table, film_current, gate_capacitance
from filmwright.emulate.predict import Array, Prediction
from filmwright.emulate.predicted_leak import GateLeak

TRANSFER_POINTS, OUTPUT_POINTS, OUTPUT_GATES = 201, 101, 5


@dataclass(frozen=True, kw_only=True)
class Families:
    """Curves of one device.

    Attributes
    ----------
    gate : array (201) [V]
    drains : array (2) [V]
        Of the transfer curves.
    transfer, gate_current : array (201, 2) [A]
        The second is None where the leakage is not known.
    drain : array (101) [V]
    gates : array (5) [V]
        Of the output curves.
    output : array (5, 101) [A]
    capacitance : array (201) [F] or None
        Against ``gate``, source and drain together; None without the states of the film.
    """

    gate: Array
    drains: Array
    transfer: Array
    gate_current: Array | None
    drain: Array
    gates: Array
    output: Array
    capacitance: Array | None


def families(
    prediction: Prediction, leak: GateLeak | None, highest_gate: float, highest_drain: float, low_drain: float
) -> Families:
    """Transfer curves from minus to plus the highest gate voltage at two drain voltages, output curves at five gate voltages.

    Parameters
    ----------
    prediction : Prediction
    leak : GateLeak or None
        What flows through the insulator on the drain's side leaves the drain.
    highest_gate, highest_drain, low_drain : float [V]
    """
    gate = np.linspace(-highest_gate, highest_gate, TRANSFER_POINTS)
    drains = np.array([low_drain, highest_drain])
    drain = np.linspace(0.0, highest_drain, OUTPUT_POINTS)
    gates = np.linspace(0.0, highest_gate, OUTPUT_GATES)
    made, capacitance = prediction.transistor, None
    if made is None:
        transfer = prediction.currents(gate[:, None], drains[None, :])
        output = prediction.currents(gates[:, None], drain[None, :])
    else:
        ends = (-highest_gate - highest_drain - made.offset, highest_gate - made.offset)
        table = charge_table(made.film, float(np.floor(ends[0])) - 1.0, float(np.ceil(ends[1])) + 1.0)
        transfer = film_current(made, gate[:, None], drains[None, :], table)
        output = film_current(made, gates[:, None], drain[None, :], table)
        capacitance = gate_capacitance(made, gate, table)
    return Families(
        gate=gate,
        drains=drains,
        transfer=transfer,
        gate_current=None if leak is None else leak.currents(gate[:, None], drains[None, :]),
        drain=drain,
        gates=gates,
        output=output,
        capacitance=capacitance,
    )
