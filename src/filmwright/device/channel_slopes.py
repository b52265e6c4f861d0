"""The drain current of many transistors at once, with its derivatives by the parameters that a fit moves."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from filmwright.device.checks import Array, at_least_one, not_negative, numbers
from filmwright.device.laws import thermal_voltage
from filmwright.units import ROOM_TEMPERATURE

CHANNEL_PARAMETERS = {
    "threshold_voltage": 0.0,
    "gain": 0.0,
    "ideality": 1.0,
    "contact_ohms": 0.0,
    "off_current": 0.0,
    "attenuation": 0.0,
    "modulation": 0.0,
    "body_factor": 1.0,
}
"""What a fit may move, each with the value that it has where it is not named: V_T [V], β = (W/L)·µ·C [A/V²], n, R of one
contact [Ω], I_off [A], θ [1/V], λ [1/V], m."""

_ENOUGH, _ROUNDS = 1e-13, 60


class _Channel(NamedTuple):
    """Current of the channel alone and its derivatives, arrays (k, n)."""

    current: Array
    by_overdrive: Array
    by_drain: Array
    by: dict[str, Array]


def current_slopes(
    parameters: Mapping[str, ArrayLike],
    gate_voltage: ArrayLike,
    drain_voltage: ArrayLike,
    wanted: Sequence[str],
    temperature: float = ROOM_TEMPERATURE,
) -> tuple[Array, Array]:
    """Drain currents of k transistors, as :func:`drain_current` gives them, and their derivatives.

    Equation: I = f(V_G − V_T − I·R, V_D − 2·I·R; p) + I_off·[1 − exp(−V_D/φ)], hence
    dI/dp = f_p/[1 + R·(f_V + 2·f_D)] and dI/dR = −I·(f_V + 2·f_D)/[1 + R·(f_V + 2·f_D)]

    Parameters
    ----------
    parameters : mapping from name to array (k,)
        Names of ``CHANNEL_PARAMETERS``; those that are missing are as it says. Valid range: ideality and body factor at least 1, all
        others but the threshold at least 0.
    gate_voltage, drain_voltage : array (n,) or (k, n) [V]
        In the signs of an n-type device. Valid range: drain voltages at least 0.
    wanted : sequence of str
        By which of them the derivatives are taken, in this order.
    temperature : float [K]

    Returns
    -------
    array (k, n) [A], array (k, len(wanted), n) [A per unit of the parameter]

    Raises
    ------
    ValueError
        For a name that is none of them or a value outside its range.

    References
    ----------
    C. C. Enz, F. Krummenacher, E. A. Vittoz, Analog Integr. Circuits Signal Process. 8, 83 (1995),
    doi:10.1007/BF01239381 (from memory); derivatives through an implicit equation by its total differential.
    """
    values = _columns(parameters, wanted)
    gate, drain = np.atleast_2d(numbers(gate_voltage)), np.atleast_2d(numbers(drain_voltage))
    not_negative(drain_voltage=drain)
    over = gate - values["threshold_voltage"]
    over, drain = np.broadcast_arrays(over, drain)
    unit = thermal_voltage(temperature)
    resistance = values["contact_ohms"]

    def channel(overdrive: Array, across: Array, by: Sequence[str]) -> _Channel:
        return _channel(values, overdrive, across, by, unit)

    if np.any(resistance > 0):
        current = _through_contacts(channel, over, drain, resistance)
        inner = channel(
            over - current * resistance, np.maximum(drain - 2.0 * current * resistance, 0.0), wanted
        )
    else:
        inner = channel(over, drain, wanted)
        current = inner.current
    drop = inner.by_overdrive + 2.0 * inner.by_drain
    held = 1.0 / (1.0 + resistance * drop)
    beside = -np.expm1(-drain / unit)
    slopes = np.empty((len(current), len(wanted), current.shape[1]))
    for at, name in enumerate(wanted):
        if name == "contact_ohms":
            slopes[:, at] = -current * drop * held
        elif name == "off_current":
            slopes[:, at] = beside
        elif name == "threshold_voltage":
            slopes[:, at] = -inner.by_overdrive * held
        else:
            slopes[:, at] = inner.by[name] * held
    return current + values["off_current"] * beside, slopes


def _columns(parameters: Mapping[str, ArrayLike], wanted: Sequence[str]) -> dict[str, Array]:
    strange = sorted((set(parameters) | set(wanted)) - set(CHANNEL_PARAMETERS))
    if strange:
        raise ValueError(
            f"parameters must be among {', '.join(CHANNEL_PARAMETERS)}, got {', '.join(strange)}"
        )
    given = {
        name: np.atleast_1d(numbers(parameters.get(name, usual)))
        for name, usual in CHANNEL_PARAMETERS.items()
    }
    count = max(len(each) for each in given.values())
    at_least_one(ideality=given["ideality"], body_factor=given["body_factor"])
    not_negative(
        **{
            name: each
            for name, each in given.items()
            if name not in ("threshold_voltage", "ideality", "body_factor")
        }
    )
    return {name: np.broadcast_to(each, (count,))[:, None] for name, each in given.items()}


def _channel(
    values: Mapping[str, Array], over: Array, across: Array, by: Sequence[str], unit: float
) -> _Channel:
    """Equation: f = (β/2m)·(V_s² − V_d²)·(1 + λ·D)/(1 + θ·V_s), V = s·ln[1 + exp(V_ov/s)], s = 2·n·φ."""
    body = values["body_factor"]
    scale = 2.0 * unit * values["ideality"]
    longer = 1.0 + values["modulation"] * across
    inner = over - body * across
    source, source_slope = _softened(over / scale)
    end, end_slope = _softened(inner / scale)
    source, end = source * scale, end * scale
    slower = 1.0 / (1.0 + values["attenuation"] * source)
    bend = values["attenuation"] * slower
    front = values["gain"] * slower * longer
    charge = (source - end) * (source + end) / (2.0 * body)
    current = front * charge
    pulled = end * end_slope
    slopes: dict[str, Array] = {}
    if "gain" in by:
        slopes["gain"] = slower * longer * charge
    if "ideality" in by:
        at_source = source - over * source_slope
        at_end = end - inner * end_slope
        turned = (source * at_source - end * at_end) / body - charge * bend * at_source
        slopes["ideality"] = front * turned / values["ideality"]
    if "attenuation" in by:
        slopes["attenuation"] = -current * source * slower
    if "body_factor" in by:
        slopes["body_factor"] = front * (pulled * across - charge) / body
    if "modulation" in by:
        slopes["modulation"] = current * across / longer
    return _Channel(
        current,
        front * ((source * source_slope - pulled) / body - charge * bend * source_slope),
        front * pulled + values["gain"] * slower * values["modulation"] * charge,
        slopes,
    )


def _softened(part: Array) -> tuple[Array, Array]:
    """ln(1 + eˣ) and its slope, by one exponential."""
    small = np.exp(-np.abs(part))
    whole = 1.0 / (1.0 + small)
    return np.maximum(part, 0.0) + np.log1p(small), np.where(part >= 0.0, whole, small * whole)


def _through_contacts(
    channel: Callable[[Array, Array, Sequence[str]], _Channel], over: Array, drain: Array, resistance: Array
) -> Array:
    """Newton's steps kept inside a bracket: the excess f − I falls as I rises."""
    first = channel(over, drain, ())
    low = np.zeros_like(first.current)
    with np.errstate(over="ignore", divide="ignore"):
        high = np.minimum(first.current, drain / (2.0 * np.maximum(resistance, np.finfo(float).tiny)))
    current = first.current / (1.0 + resistance * (first.by_overdrive + 2.0 * first.by_drain))
    for _ in range(_ROUNDS):
        current = np.clip(current, low, high)
        at = channel(over - current * resistance, np.maximum(drain - 2.0 * current * resistance, 0.0), ())
        excess = at.current - current
        low, high = np.where(excess > 0, current, low), np.where(excess > 0, high, current)
        step = excess / (1.0 + resistance * (at.by_overdrive + 2.0 * at.by_drain))
        if np.all(np.abs(step) <= _ENOUGH * current + np.finfo(float).tiny):
            break
        tried = current + step
        current = np.where((tried < low) | (tried > high), (low + high) / 2.0, tried)
    result: Array = current
    return result
