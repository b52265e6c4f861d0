"""What a file can hold: transfer, output and capacitance–voltage curves, as plain arrays."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Sweep:
    """One transfer curve in one direction, in the signs of the instrument, voltages referred to the source.

    Attributes
    ----------
    gate_voltage : array (n_points,) [V]
        Rising, without repeats.
    drain_current : array (n_points,) [A]
    gate_current : array (n_points,) [A] or None
    drain_voltage, bulk_voltage : float [V] or None
    rising : bool
        Whether the gate voltage rose while it was measured.
    pair : int
        Sweeps with the same number are the two directions of one measurement; -1 stands alone.
    file : str
    label : str
        What it is in words, e.g. ``block 1, VD 0.1 V, VB 0 V``.
    line : int
        Where its block begins in the file.
    sliced : bool
        Cut out of an output family at constant drain voltage.
    device : str
        As the table names it; empty when it does not.
    temperature : float [K] or None
        As the table states it.
    width, length : float [m] or None
    areal_capacitance : float [F/m²] or None
        As the table or its file's name states them.
    wafer : str
        As the file's name states it by a pattern.
    left_out : array (n,) [V] or None
        Gate voltages whose points the instrument marked as limited or overflowing, or at which it held the current: not in
        the curve.
    held_at : float [A] or None
        Largest current that the instrument could give or read, where the curve reached it.
    warnings : tuple of str
        What was noticed about this curve alone.
    sha256 : str
        Of the file that it was read from.
    """

    gate_voltage: Array
    drain_current: Array
    gate_current: Array | None = None
    drain_voltage: float | None = None
    bulk_voltage: float | None = None
    rising: bool = True
    pair: int = -1
    file: str = ""
    label: str = ""
    line: int = 1
    sliced: bool = False
    device: str = ""
    temperature: float | None = None
    width: float | None = None
    length: float | None = None
    areal_capacitance: float | None = None
    wafer: str = ""
    left_out: Array | None = None
    held_at: float | None = None
    warnings: tuple[str, ...] = ()
    sha256: str = ""

    def __post_init__(self) -> None:
        if self.gate_voltage.shape != self.drain_current.shape or self.gate_voltage.ndim != 1:
            raise ValueError("gate_voltage and drain_current must be one-dimensional and of equal length")
        if np.any(np.diff(self.gate_voltage) <= 0):
            raise ValueError("gate_voltage must rise without repeats")

    def _repr_html_(self) -> str:
        from filmwright.measure.notebook_text import sweep_html

        return sweep_html(self)


@dataclass(frozen=True, kw_only=True)
class OutputCurve:
    """One output curve in one direction, in the signs of the instrument, voltages referred to the source.

    Attributes
    ----------
    drain_voltage : array (n_points,) [V]
        Rising, without repeats.
    drain_current : array (n_points,) [A]
    gate_current : array (n_points,) [A] or None
    gate_voltage : float [V] or None
        Held while the drain voltage was swept.
    direction : "forward" or "backward"
        Forward goes away from zero drain voltage.
    pair : int
        Curves with the same number are the two directions of one measurement; -1 stands alone.
    bulk_voltage : float [V] or None
    temperature : float [K] or None
    device, file, label : str
    line : int
        Where its block begins in the file.
    left_out : array (n,) [V] or None
        Drain voltages whose points the instrument marked as limited or overflowing: not in the curve.
    warnings : tuple of str
    sha256 : str
        Of the file that it was read from.
    """

    drain_voltage: Array
    drain_current: Array
    gate_current: Array | None = None
    gate_voltage: float | None = None
    direction: Literal["forward", "backward"] = "forward"
    pair: int = -1
    bulk_voltage: float | None = None
    temperature: float | None = None
    device: str = ""
    file: str = ""
    label: str = ""
    line: int = 1
    left_out: Array | None = None
    warnings: tuple[str, ...] = ()
    sha256: str = ""

    def __post_init__(self) -> None:
        if self.drain_voltage.shape != self.drain_current.shape or self.drain_voltage.ndim != 1:
            raise ValueError("drain_voltage and drain_current must be one-dimensional and of equal length")
        if np.any(np.diff(self.drain_voltage) <= 0):
            raise ValueError("drain_voltage must rise without repeats")


@dataclass(frozen=True, kw_only=True)
class CapacitanceCurve:
    """A capacitance–voltage curve as measured: it is no current–voltage sweep and gives no transistor parameter.

    Attributes
    ----------
    voltage : array (n_points,) [V]
        In the order of measurement.
    capacitance : array (n_points,) [F]
    conductance : array (n_points,) [S] or None
    frequency : float [Hz] or None
        As the table states it.
    temperature : float [K] or None
    file, device : str
    line : int
        Where its block begins in the file.
    sha256 : str
        Of the file that it was read from.
    """

    voltage: Array
    capacitance: Array
    conductance: Array | None = None
    frequency: float | None = None
    temperature: float | None = None
    file: str = ""
    device: str = ""
    line: int = 1
    sha256: str = ""

    def __post_init__(self) -> None:
        if self.voltage.shape != self.capacitance.shape or self.voltage.ndim != 1:
            raise ValueError("voltage and capacitance must be one-dimensional and of equal length")

    @property
    def points(self) -> int:
        """Number of points."""
        return len(self.voltage)
