"""What the thresholds of one curve were read from: slopes, auxiliary functions, tangents and windows, for pictures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from filmwright import device
from filmwright.measure.results import CurveResult
from filmwright.measure.smoothing import FEWEST_FOR_NOISE, Array, half_widths
from filmwright.measure.sweeps import Sweep
from filmwright.numerics import local_polynomials

SMOOTHED = 0.03
"""Share of the sweep that the window of the drawn slope spans, about."""


@dataclass(frozen=True, kw_only=True)
class CurveFunctions:
    """Functions of one transfer curve at its gate voltages; NaN where they are not defined.

    Attributes
    ----------
    gate_voltage : array (n_points,) [V]
        Rising, in the device's signs, as all of it.
    transconductance : array (n_points,) [A/V]
        dI_D/dV_G by parabolas over ``half_width`` points to both sides.
    half_width : int
    ratio : array (n_points,) [A^½·V^½]
        Y = I_D/√g_m.
    integral : array (n_points,) [V]
        H = ∫I_D dV_G/I_D from the off side.
    transition : array (n_points,) [V]
        Auxiliary function of the transition method, turned to the device's signs.
    windows : mapping from parameter to (from, to) [V]
        Of every valid parameter that is a threshold.
    lines : mapping from parameter to (intercept [V], slope of the line)
        Of the lines through Y and H: ``slope·(V_G − intercept)``.
    """

    gate_voltage: Array
    transconductance: Array
    half_width: int
    ratio: Array
    integral: Array
    transition: Array
    windows: Mapping[str, tuple[float, float]]
    lines: Mapping[str, tuple[float, float]]


def curve_functions(sweep: Sweep, result: CurveResult) -> CurveFunctions:
    """The functions that the definitions of the thresholds are made of, for one curve.

    Equation: ``device.ratio_function``, ``device.integral_function``, ``device.transition_function``

    Parameters
    ----------
    sweep : Sweep
        Valid range: at least 4 points.
    result : CurveResult
        Of the same sweep.

    Returns
    -------
    CurveFunctions

    References
    ----------
    As for the functions of ``device``.
    """
    sign = 1.0 if result.type == "n" else -1.0
    order = slice(None) if sign > 0 else slice(None, None, -1)
    grid, current = sign * sweep.gate_voltage[order], sweep.drain_current[order]
    current = current if np.median(current[-max(2, len(current) // 5) :]) >= 0 else -current
    halves = half_widths(len(grid)) if len(grid) >= FEWEST_FOR_NOISE else (1,)
    half = max(each for each in halves if each <= max(1, SMOOTHED * len(grid) / 2))
    slope = _slopes(grid, current, half)
    rising = slope > 0
    ratio = np.where(rising, device.ratio_function(current, np.where(rising, slope, 1.0)), np.nan)
    start = int(np.argmin(np.abs(current)))
    integral, transition = np.full(len(grid), np.nan), np.full(len(grid), np.nan)
    if start < len(grid) - 1:
        integral[start:] = device.integral_function(grid[start:], current[start:])
        transition[start:] = device.transition_function(grid[start:], current[start:])
    found = result.parameters
    windows = {
        name: each.window
        for name, each in found.items()
        if name.startswith("threshold_voltage") and each.valid and each.window
    }
    return CurveFunctions(
        gate_voltage=sweep.gate_voltage,
        transconductance=slope[order],
        half_width=half,
        ratio=ratio[order],
        integral=integral[order],
        transition=sign * transition[order],
        windows=windows,
        lines=_lines(result, sign),
    )


def _slopes(grid: Array, current: Array, half: int) -> Array:
    table = local_polynomials(grid, (half,), 2)
    slope = np.full(len(grid), np.nan)
    for place in range(half, len(grid) - half):
        row = table.weights[0, place if table.weights.shape[1] > 1 else 0, 1]
        slope[place] = row @ current[place - half : place + half + 1]
    return slope


def _lines(result: CurveResult, sign: float) -> dict[str, tuple[float, float]]:
    found, lines = result.parameters, {}
    gain, zero = found["gain_factor"], found["threshold_voltage_ratio"]
    if gain.value and zero.value is not None and result.drain_voltage:
        lines["threshold_voltage_ratio"] = (
            zero.value,
            sign * float(np.sqrt(gain.value * abs(result.drain_voltage))),
        )
    power, start = found["current_exponent"], found["threshold_voltage_integral"]
    if power.value is not None and start.value is not None:
        lines["threshold_voltage_integral"] = start.value, sign / (power.value + 1.0)
    return lines
