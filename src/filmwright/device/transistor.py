"""A transistor as designed or read off the wafer, and its drain current with the contacts solved in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from filmwright.device.checks import Array, above_zero, at_least_one, not_negative, numbers
from filmwright.device.laws import charge_based_current, thermal_voltage
from filmwright.units import ROOM_TEMPERATURE

Polarity = Literal["n", "p"]


@dataclass(frozen=True, kw_only=True)
class TransistorDesign:
    """Dimensions, materials and contacts of one transistor.

    Attributes
    ----------
    width, length : float [m]
        Of the channel. Above 0.
    areal_capacitance : float [F/m²]
        Of the gate dielectric. Above 0.
    mobility : float [m²/(V·s)]
        At low field. Above 0.
    threshold_voltage : float [V]
        In the device's own sign (negative for a p-type device that is off at 0 V).
    ideality : float
        Swing over the thermal limit. At least 1.
    attenuation : float [1/V]
        Fall of the mobility with overdrive. At least 0.
    modulation : float [1/V]
        λ, by which the channel conducts better per volt along it, as if it were shorter. At least 0.
    contact_resistance : float [Ω·m]
        Of one contact, normalised by the width (R·W). At least 0.
    off_current : float [A]
        Flows beside the channel whatever the gate does. At least 0.
    temperature : float [K]
        Above 0.
    body_factor : float
        1 for a thin film, the ideality for a channel on a grounded bulk. At least 1.
    type : "n" or "p"
    """

    width: float
    length: float
    areal_capacitance: float
    mobility: float
    threshold_voltage: float
    ideality: float = 1.0
    attenuation: float = 0.0
    contact_resistance: float = 0.0
    off_current: float = 0.0
    temperature: float = ROOM_TEMPERATURE
    body_factor: float = 1.0
    modulation: float = 0.0
    type: Polarity = "n"

    def __post_init__(self) -> None:
        above_zero(
            width=self.width,
            length=self.length,
            areal_capacitance=self.areal_capacitance,
            mobility=self.mobility,
            temperature=self.temperature,
        )
        not_negative(
            attenuation=self.attenuation,
            contact_resistance=self.contact_resistance,
            off_current=self.off_current,
            modulation=self.modulation,
        )
        at_least_one(ideality=self.ideality, body_factor=self.body_factor)
        if not np.isfinite(self.threshold_voltage):
            raise ValueError(f"threshold_voltage must be finite, got {self.threshold_voltage}")
        if self.type not in ("n", "p"):
            raise ValueError(f'type must be "n" or "p", got {self.type!r}')

    @property
    def beta(self) -> float:
        """Gain factor (W/L)·µ·C [A/V²]."""
        return self.width / self.length * self.mobility * self.areal_capacitance

    @property
    def contact_ohms(self) -> float:
        """Resistance of one contact [Ω]."""
        return self.contact_resistance / self.width


def drain_current(design: TransistorDesign, gate_voltage: ArrayLike, drain_voltage: ArrayLike) -> Array:
    """Current into the drain at the terminals, contacts included.

    Equation: I = f(V_G − I·R, V_D − 2·I·R) + I_off·[1 − exp(−V_D/φ)], with f the all-region channel current times
    1 + λ·V_D and R the
    resistance of one contact; a negative V_D exchanges source and drain; a p-type device is the mirror image.

    Parameters
    ----------
    design : TransistorDesign
    gate_voltage, drain_voltage : array (broadcast with each other) [V]
        Referred to the source. Valid range: finite; a family is ``gate[:, None]`` with ``drain[None, :]``.

    Returns
    -------
    array (broadcast shape) [A]

    Raises
    ------
    ValueError
        If a voltage is not finite.

    References
    ----------
    C. C. Enz, F. Krummenacher, E. A. Vittoz, Analog Integr. Circuits Signal Process. 8, 83 (1995),
    doi:10.1007/BF01239381 (from memory).
    """
    sign = 1.0 if design.type == "n" else -1.0
    gate, drain = np.broadcast_arrays(sign * numbers(gate_voltage), sign * numbers(drain_voltage))
    if not (np.all(np.isfinite(gate)) and np.all(np.isfinite(drain))):
        raise ValueError("gate_voltage and drain_voltage must be finite")
    backward = drain < 0
    over = np.where(backward, gate - drain, gate) - sign * design.threshold_voltage
    forward = np.abs(drain)

    def channel(gate_overdrive: Array, across: Array) -> Array:
        across = np.maximum(across, 0.0)
        even = charge_based_current(
            gate_overdrive,
            across,
            design.beta,
            design.ideality,
            design.temperature,
            design.attenuation,
            design.body_factor,
        )
        result: Array = even * (1.0 + design.modulation * across)
        return result

    current = with_contacts(channel, over, forward, design.contact_ohms)
    current = current - design.off_current * np.expm1(-forward / thermal_voltage(design.temperature))
    result: Array = sign * np.where(backward, -current, current)
    return result


def with_contacts(
    channel: Callable[[Array, Array], Array],
    overdrive: ArrayLike,
    drain_voltage: ArrayLike,
    resistance: float,
) -> Array:
    """Current through a channel with the same resistance at source and drain.

    Equation: I = f(V_ov − I·R, V_D − 2·I·R), solved for I

    The right side falls as I rises, so there is one root between 0 and the smaller of f(V_ov, V_D) and
    V_D/(2R); it is found
    by regula falsi with halved weights (Illinois), kept inside its bracket, until it no longer moves.

    Parameters
    ----------
    channel : callable
        f(overdrive [V], drain voltage [V]) → current [A] on arrays, rising with both.
    overdrive : array [V]
    drain_voltage : array (broadcasts with overdrive) [V]
        Valid range: at least 0.
    resistance : float [Ω]
        Of one contact. Valid range: at least 0.

    Returns
    -------
    array (broadcast shape) [A]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    M. Dowell, P. Jarratt, BIT 11, 168 (1971), doi:10.1007/BF01934364 (from memory).
    """
    not_negative(resistance=resistance, drain_voltage=drain_voltage)
    over, drain = np.broadcast_arrays(numbers(overdrive), numbers(drain_voltage))
    free = channel(over, drain)
    if resistance == 0:
        return free

    def excess(current: Array) -> Array:
        return channel(over - current * resistance, drain - 2.0 * current * resistance) - current

    with np.errstate(over="ignore"):
        # A resistance next to nothing sets no bound of its own: the quotient may be infinite.
        most = np.minimum(free, drain / (2.0 * resistance))
    return _falling_root(excess, np.zeros_like(free), most, free)


def _falling_root(function: Callable[[Array], Array], low: Array, high: Array, at_low: Array) -> Array:
    """Root of a falling function, elementwise, between ``low`` (value ``at_low`` ≥ 0) and ``high`` (≤ 0)."""
    at_high = function(high)
    kept = np.zeros(low.shape)
    guess = high
    for _ in range(100):
        span = at_low - at_high
        guess = np.clip(low + (high - low) * at_low / np.where(span > 0, span, 1.0), low, high)
        value = function(guess)
        if np.all(np.abs(value) <= 1e-13 * np.abs(guess)):
            break
        rises = value > 0
        at_high = np.where(rises, np.where(kept > 0, at_high / 2.0, at_high), value)
        at_low = np.where(rises, value, np.where(kept < 0, at_low / 2.0, at_low))
        low, high = np.where(rises, guess, low), np.where(rises, high, guess)
        kept = np.where(rises, 1.0, -1.0)
        if np.all(high - low <= 1e-15 * high):
            break
    return guess
