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

_FROM_ONE = ("ideality", "body_factor")
_USUAL = {name: np.full((1, 1), usual) for name, usual in CHANNEL_PARAMETERS.items()}
_ENOUGH, _ROUNDS = 1e-13, 60


class _Channel(NamedTuple):
    """Current of the channel alone and its derivatives, arrays (k, n)."""

    current: Array
    by_overdrive: Array
    by_drain: Array


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
    unit = thermal_voltage(temperature)
    beside = -np.expm1(-drain / unit)
    over, drain = np.broadcast_arrays(over, drain)
    resistance = values["contact_ohms"]
    resisted = bool(np.any(resistance > 0)) or "contact_ohms" in wanted

    def channel(overdrive: Array, across: Array, by: Mapping[str, Array]) -> _Channel:
        return _channel(values, overdrive, across, by, unit)

    slopes = np.empty((len(over), len(wanted), over.shape[1]))
    into = {name: slopes[:, at] for at, name in enumerate(wanted)}
    if "off_current" in into:
        # The channel writes no slope for it; what memory held before must not be scaled below.
        into["off_current"][:] = 0.0
    if resisted:
        current = _through_contacts(channel, over, drain, resistance)
        inner = channel(
            over - current * resistance, np.maximum(drain - 2.0 * current * resistance, 0.0), into
        )
        drop = inner.by_overdrive + 2.0 * inner.by_drain
        if "contact_ohms" in into:
            np.multiply(-current, drop, out=into["contact_ohms"])
        slopes *= (1.0 / (1.0 + resistance * drop))[:, None, :]
    else:
        current = channel(over, drain, into).current
    if "off_current" in into:
        into["off_current"][:] = beside
    if np.any(values["off_current"]):
        current = current + values["off_current"] * beside
    return current, slopes


def _columns(parameters: Mapping[str, ArrayLike], wanted: Sequence[str]) -> dict[str, Array]:
    strange = sorted((set(parameters) | set(wanted)) - set(CHANNEL_PARAMETERS))
    if strange:
        raise ValueError(
            f"parameters must be among {', '.join(CHANNEL_PARAMETERS)}, got {', '.join(strange)}"
        )
    given = {name: np.atleast_1d(numbers(each))[:, None] for name, each in parameters.items()}
    at_least_one(**{name: each for name, each in given.items() if name in _FROM_ONE})
    not_negative(
        **{
            name: each
            for name, each in given.items()
            if name not in _FROM_ONE and name != "threshold_voltage"
        }
    )
    return {**_USUAL, **given}


def _channel(
    values: Mapping[str, Array], over: Array, across: Array, by: Mapping[str, Array], unit: float
) -> _Channel:
    """Equation: f = (β/2m)·(V_s² − V_d²)·(1 + λ·D)/(1 + θ·V_s), V = s·ln[1 + exp(V_ov/s)], s = 2·n·φ.

    What is not there (θ, λ, m = 1) costs nothing; the derivatives are written into ``by``.
    """
    body, scale = values["body_factor"], 2.0 * unit * values["ideality"]
    inner = over - (across if np.all(body == 1.0) else body * across)
    source, source_slope = _softened(over / scale)
    end, end_slope = _softened(inner / scale)
    source *= scale
    end *= scale
    charge = (source - end) * (source + end) / 2.0
    pulled = end * end_slope
    by_overdrive = source * source_slope - pulled
    pulled = pulled * values["gain"]
    bends = bool(np.any(values["attenuation"] > 0)) or "attenuation" in by
    slower, bend = _one, _nothing
    if bends:
        slower = 1.0 / (1.0 + values["attenuation"] * source)
        bend = values["attenuation"] * slower * charge
        by_overdrive -= bend * source_slope
    modulated = bool(np.any(values["modulation"] > 0)) or "modulation" in by
    longer = 1.0 + values["modulation"] * across if modulated else _one
    factor = slower * longer / body if bends or modulated else 1.0 / body
    by_gain = np.multiply(factor, charge, out=by.get("gain"))
    factor = factor * values["gain"]
    current = by_gain * values["gain"]
    by_overdrive *= factor
    by_drain = pulled
    if bends or modulated:
        by_drain = pulled * slower * longer
        by_drain += values["gain"] / body * slower * values["modulation"] * charge
    if "threshold_voltage" in by:
        np.negative(by_overdrive, out=by["threshold_voltage"])
    if "ideality" in by:
        over_slope, inner_slope = over * source_slope, inner * end_slope
        np.subtract(source, over_slope, out=over_slope)
        turned = source * over_slope - end * np.subtract(end, inner_slope, out=inner_slope)
        if bends:
            turned -= bend * over_slope
        np.multiply(turned, factor / values["ideality"], out=by["ideality"])
    if "attenuation" in by:
        np.multiply(-current * source, slower, out=by["attenuation"])
    if "modulation" in by:
        np.divide(current * across, longer, out=by["modulation"])
    if "body_factor" in by:
        at_drain = by_drain
        if modulated:
            at_drain = by_drain - values["gain"] / body * slower * values["modulation"] * charge
        np.divide(at_drain * across - current, body, out=by["body_factor"])
    return _Channel(current, by_overdrive, by_drain)


_one, _nothing = np.ones(1), np.zeros(1)


def _softened(part: Array) -> tuple[Array, Array]:
    """ln(1 + eˣ) and its slope eˣ/(1 + eˣ), which is exp[x − ln(1 + eˣ)]."""
    value = np.abs(part)
    np.negative(value, out=value)
    np.exp(value, out=value)
    np.log1p(value, out=value)
    value += np.maximum(part, 0.0)
    slope = part - value
    return value, np.exp(slope, out=slope)


def _through_contacts(
    channel: Callable[[Array, Array, Mapping[str, Array]], _Channel],
    over: Array,
    drain: Array,
    resistance: Array,
) -> Array:
    """Newton's steps kept inside a bracket: the excess f − I falls as I rises."""
    first = channel(over, drain, {})
    low = np.zeros_like(first.current)
    with np.errstate(over="ignore", divide="ignore"):
        high = np.minimum(first.current, drain / (2.0 * np.maximum(resistance, np.finfo(float).tiny)))
    current = first.current / (1.0 + resistance * (first.by_overdrive + 2.0 * first.by_drain))
    for _ in range(_ROUNDS):
        current = np.clip(current, low, high)
        at = channel(over - current * resistance, np.maximum(drain - 2.0 * current * resistance, 0.0), {})
        excess = at.current - current
        low, high = np.where(excess > 0, current, low), np.where(excess > 0, high, current)
        step = excess / (1.0 + resistance * (at.by_overdrive + 2.0 * at.by_drain))
        if np.all(np.abs(step) <= _ENOUGH * current + np.finfo(float).tiny):
            break
        tried = current + step
        current = np.where((tried < low) | (tried > high), (low + high) / 2.0, tried)
    result: Array = current
    return result
