"""Mobility against gate voltage of one curve by several definitions, each with its band."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from filmwright import device
from filmwright.measure.curves import Sweep
from filmwright.measure.results import CurveResult, Geometry
from filmwright.measure.slopes import point_errors, slopes
from filmwright.measure.smoothing import Array

ABOVE = 3.0
"""A mean over the charge is given from so many drain voltages (half of each at least) above the onset …"""

SHOWN = 0.5
"""… and where its error is below this share of it."""


@dataclass(frozen=True, kw_only=True)
class MobilityCurve:
    """Mobility of one curve against the gate voltage, in the signs of the device.

    Attributes
    ----------
    gate_voltage : array (n_points,) [V]
    field_effect, field_effect_std : array (n_points,) [m²/(V·s)]
        From the transconductance of the linear region; not a number where the curve is saturated.
    average, average_std : array (n_points,) [m²/(V·s)]
        Mean over the charge between the drain end and the source end of the channel, from the current.
    at_source, at_source_std : array (n_points,) [m²/(V·s)]
        Mean over the charge at the source end, from differences of the sheet conductance: exact for any dependence.
    incremental, incremental_std : array (n_points,) [m²/(V·s)]
        Of the charge that the next step of the gate voltage adds, at the source end.
    onset : float [V]
        Gate voltage from which the charge is counted.
    method : str
    why_not : str
        Why there is no curve; empty when there is.
    """

    gate_voltage: Array
    field_effect: Array
    field_effect_std: Array
    average: Array
    average_std: Array
    at_source: Array
    at_source_std: Array
    incremental: Array
    incremental_std: Array
    onset: float
    method: str = ""
    why_not: str = ""


def mobility_against_gate(sweep: Sweep, geometry: Geometry, result: CurveResult) -> MobilityCurve:
    """Mobility at every gate voltage of a curve, by definitions that do not take it for constant beside the one that does.

    Equation: ``device.linear_mobility``, ``device.average_mobility``, ``device.sheet_conductance_by_differences`` and
    ``device.incremental_mobility``; errors are the noise of the points carried through the weights of the slopes, and
    the error of the onset through the charge.

    Parameters
    ----------
    sweep : Sweep
    geometry : Geometry
        Valid range: width, length and areal capacitance known, the gate not ionic; else the curve is empty and says why.
    result : CurveResult
        Of this sweep, for type, region and onset.

    Returns
    -------
    MobilityCurve

    References
    ----------
    As for the laws.
    """
    sign = 1.0 if result.type == "n" else -1.0
    why = _why_not(sweep, geometry, result)
    start = onset_of(result)
    if why or start is None:
        return _empty(sweep, why or "neither onset nor threshold was found")
    onset, onset_std, origin = start
    order = slice(None) if sign > 0 else slice(None, None, -1)
    grid = np.ascontiguousarray(sign * sweep.gate_voltage[order])
    current = np.ascontiguousarray(sweep.drain_current[order])
    current = current if current[-1] >= 0 else -current
    drain = abs(sweep.drain_voltage or 0.0)
    found = _curves(grid, current, drain, geometry, (sign * onset, onset_std))
    turned = {name: values[order] for name, values in found.items()}
    return MobilityCurve(
        gate_voltage=sweep.gate_voltage,
        onset=onset,
        method=f"charge counted from {origin} ({onset:.3g} V)",
        **turned,  # type: ignore[arg-type]
    )


def onset_of(result: CurveResult) -> tuple[float, float, str] | None:
    """From where the charge is counted: the onset, else the threshold; value, error and its name.

    Parameters
    ----------
    result : CurveResult

    Returns
    -------
    tuple of float [V], float [V], str, or None
    """
    # The integral method holds for any power of the overdrive; a tangent does not where the mobility rises.
    for name, words in (
        ("onset_voltage", "the onset"),
        ("threshold_voltage_integral", "the threshold of the integral method"),
        ("threshold_voltage", "the threshold"),
    ):
        told = result.parameters.get(name)
        if told is not None and told.valid and told.value is not None:
            return told.value, told.std or 0.0, words
    return None


def _why_not(sweep: Sweep, geometry: Geometry, result: CurveResult) -> str:
    if geometry.missing():
        return f"not known: {geometry.missing()}"
    if not sweep.drain_voltage:
        return "the drain voltage is not known, or zero"
    for name in ("ionic gate", "dead"):
        if name in result.classes:
            return f"{name}: {result.classes[name]}"
    if geometry.gate == "ionic":
        return "the gate is ionic: its charge is not areal capacitance times voltage"
    return ""


def _curves(
    grid: Array, current: Array, drain: float, geometry: Geometry, start: tuple[float, float]
) -> dict[str, Array]:
    width, length, areal = geometry.width or 1.0, geometry.length or 1.0, geometry.areal_capacitance or 1.0
    onset, onset_std = start
    std = point_errors(grid, current)
    slope, slope_std, weights = slopes(grid, current, std)
    over = grid - onset
    counted = over > max(drain / 2.0, ABOVE * onset_std)
    held = np.where(counted, over, 1.0)
    # A change of the onset changes the counted charge u·v − v²/2 by v.
    across = np.minimum(drain, held)
    lean = onset_std * across / (held * across - across**2 / 2.0)
    average = device.average_mobility(current, width, length, areal, held, drain)
    carried = _differences(grid, drain, width / length) @ weights
    sheet, sheet_std = carried @ current, np.sqrt(carried**2 @ std**2)
    _, _, again = slopes(grid, sheet, sheet_std)
    incremental, extra = again @ sheet, np.sqrt((again @ carried) ** 2 @ std**2)
    linear = over > drain
    field = device.linear_mobility(slope, width, length, areal, drain)
    step = device.incremental_mobility(incremental, areal)
    with np.errstate(divide="ignore", invalid="ignore"):
        return {
            **_shown("field_effect", field, slope_std / np.abs(slope), linear),
            **_shown("average", average, np.hypot(std / np.abs(current), lean), counted),
            **_shown(
                "at_source", sheet / (areal * held), np.hypot(sheet_std / sheet, onset_std / held), counted
            ),
            **_shown("incremental", step, extra / np.abs(incremental), counted),
        }


def _differences(grid: Array, drain: float, squares: float) -> Array:
    """Weights by which the transconductances make the sheet conductance: the sum is linear in them."""
    unit = [
        device.sheet_conductance_by_differences(grid, row, drain, squares, 1.0) for row in np.eye(len(grid))
    ]
    return np.stack(unit, axis=1)


def _shown(
    name: str, value: Array, relative: Array, where: np.ndarray[tuple[int], np.dtype[np.bool_]]
) -> dict[str, Array]:
    good = where & np.isfinite(value) & (relative < SHOWN) & (value > 0)
    return {
        name: np.where(good, value, np.nan),
        f"{name}_std": np.where(good, np.abs(value) * relative, np.nan),
    }


def _empty(sweep: Sweep, why: str) -> MobilityCurve:
    nothing = np.full(len(sweep.gate_voltage), np.nan)
    names = ("field_effect", "average", "at_source", "incremental")
    return MobilityCurve(
        gate_voltage=sweep.gate_voltage,
        onset=float("nan"),
        why_not=why,
        **dict.fromkeys([*names, *(f"{name}_std" for name in names)], nothing),  # type: ignore[arg-type]
    )
