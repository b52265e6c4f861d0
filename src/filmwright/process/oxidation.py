"""Thermal oxidation of silicon by the linear-parabolic law."""

from __future__ import annotations

import math
from dataclasses import dataclass

from filmwright.process.ranges import Noted, check_range, not_negative, positive
from filmwright.units import BOLTZMANN, to_si

_TRIED = (to_si(700.0, "°C"), to_si(1200.0, "°C"))
"""Temperatures between which the law was fitted (Deal and Grove 1965)."""

_GAUSS = 0.5 / math.sqrt(3.0)
"""Places of the two Gauss points of an interval of length one, from its middle."""


@dataclass(frozen=True, kw_only=True)
class Arrhenius:
    """A constant that is thermally activated: C(T) = C₀·exp(−E/kT).

    Attributes
    ----------
    prefactor : float [SI]
    energy : float [J]
    """

    prefactor: float
    energy: float

    def at(self, temperature: float) -> float:
        """The constant at a temperature [K]."""
        positive(temperature=temperature)
        return self.prefactor * math.exp(-self.energy / (BOLTZMANN * temperature))


def deal_grove_thickness(time: float, linear: float, parabolic: float, start: float = 0.0) -> float:
    """Oxide after a time: x² + A·x = B·(t + τ), τ = (x₀² + A·x₀)/B.

    Parameters
    ----------
    time : float [s], 0 or more
    linear : float [m], 0 or more
        A.
    parabolic : float [m²/s], above 0
        B.
    start : float [m], 0 or more
        x₀, oxide at the beginning; 25 nm stands for the fast first part of a dry oxidation.

    Returns
    -------
    thickness : float [m]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: B. E. Deal, A. S. Grove, J. Appl. Phys. 36, 3770-3778 (1965) (from memory). Dry oxides below
    about 30 nm grow
    faster than this.
    """
    positive(parabolic=parabolic)
    not_negative(time=time, linear=linear, start=start)
    product = parabolic * time + start**2 + linear * start
    return math.sqrt((linear / 2) ** 2 + product) - linear / 2


def deal_grove_time(thickness: float, linear: float, parabolic: float, start: float = 0.0) -> float:
    """Time for an oxide: t = (x² + A·x − x₀² − A·x₀)/B.

    Parameters
    ----------
    thickness : float [m], at least ``start``
    linear : float [m], 0 or more
    parabolic : float [m²/s], above 0
    start : float [m], 0 or more

    Returns
    -------
    time : float [s]

    Raises
    ------
    ValueError
        When the wafer has more oxide than is wanted.

    Notes
    -----
    Source: B. E. Deal, A. S. Grove, J. Appl. Phys. 36, 3770-3778 (1965) (from memory).
    """
    positive(parabolic=parabolic)
    not_negative(thickness=thickness, linear=linear, start=start)
    if thickness < start:
        raise ValueError(
            f"the wanted oxide must be at least the {start:g} m that is there, got {thickness:g} m"
        )
    return (thickness**2 + linear * thickness - start**2 - linear * start) / parabolic


def oxide_thickness(
    time: float, temperature: float, parabolic: Arrhenius, rate: Arrhenius, start: float = 0.0
) -> Noted:
    """Oxide after a time at a temperature, from B(T) and (B/A)(T).

    Parameters
    ----------
    time : float [s], 0 or more
    temperature : float [K]
    parabolic : Arrhenius [m²/s]
        B.
    rate : Arrhenius [m/s]
        B/A, for the orientation of the wafer.
    start : float [m]

    Returns
    -------
    thickness : Noted [m]
        Noted outside 700 to 1200 °C.

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: J. D. Plummer, M. D. Deal, P. B. Griffin, Silicon VLSI Technology (2000), ch. 6 (from memory).
    """
    notes = check_range("temperature", temperature, *_TRIED, "temperature")
    b = parabolic.at(temperature)
    return Noted(value=deal_grove_thickness(time, b / rate.at(temperature), b, start), notes=notes)


def oxidation_time(
    thickness: float, temperature: float, parabolic: Arrhenius, rate: Arrhenius, start: float = 0.0
) -> Noted:
    """Time for an oxide at a temperature, from B(T) and (B/A)(T).

    Parameters
    ----------
    thickness : float [m], at least ``start``
    temperature : float [K]
    parabolic : Arrhenius [m²/s]
    rate : Arrhenius [m/s]
    start : float [m]

    Returns
    -------
    time : Noted [s]
        Noted outside 700 to 1200 °C.

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: J. D. Plummer, M. D. Deal, P. B. Griffin, Silicon VLSI Technology (2000), ch. 6 (from memory).
    """
    notes = check_range("temperature", temperature, *_TRIED, "temperature")
    b = parabolic.at(temperature)
    return Noted(value=deal_grove_time(thickness, b / rate.at(temperature), b, start), notes=notes)


def massoud_time(
    thickness: float, linear: float, parabolic: float, extra: float, decay: float, start: float = 0.0
) -> float:
    """Time for a dry oxide with its fast first part: dx/dt = B/(2·x + A) + C·exp(−x/L), integrated over x.

    Parameters
    ----------
    thickness : float [m], at least ``start``
    linear : float [m], above 0
        A.
    parabolic : float [m²/s], above 0
        B.
    extra : float [m/s], 0 or more
        C, rate of the fast part on bare silicon; 0 gives :func:`deal_grove_time`.
    decay : float [m], above 0
        L, over which it dies away.
    start : float [m], 0 or more

    Returns
    -------
    time : float [s]

    Raises
    ------
    ValueError
        When the wafer has more oxide than is wanted, or a number is out of its range.

    Notes
    -----
    Source: H. Z. Massoud, J. D. Plummer, E. A. Irene, J. Electrochem. Soc. 132, 2685 (1985), doi 10.1149/1.2113648 (from memory), with
    the constants of J. D. Plummer, M. D. Deal, P. B. Griffin (2000).
    """
    positive(linear=linear, parabolic=parabolic, decay=decay)
    not_negative(thickness=thickness, extra=extra, start=start)
    if thickness < start:
        raise ValueError(
            f"the wanted oxide must be at least the {start:g} m that is there, got {thickness:g} m"
        )
    # Equal pieces of at most half a decay length; two Gauss points each are exact to fourth order.
    pieces = max(math.ceil(2 * (thickness - start) / decay), 8)
    step = (thickness - start) / pieces
    time = 0.0
    for piece in range(pieces):
        for point in (0.5 - _GAUSS, 0.5 + _GAUSS):
            depth = start + (piece + point) * step
            speed = parabolic / (2 * depth + linear) + extra * math.exp(-depth / decay)
            time += step / 2 / speed
    return time


def silicon_consumed(oxide: float, silicon_volume: float, oxide_volume: float) -> float:
    """Silicon that turns into an oxide: x_Si = x·V_Si/V_ox.

    Parameters
    ----------
    oxide : float [m], 0 or more
    silicon_volume, oxide_volume : float [m³/mol], above 0
        Volumes that hold one mole of silicon.

    Returns
    -------
    thickness : float [m]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: conservation of silicon.
    """
    positive(silicon_volume=silicon_volume, oxide_volume=oxide_volume)
    not_negative(oxide=oxide)
    return oxide * silicon_volume / oxide_volume
