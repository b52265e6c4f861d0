"""Oxide that grows from any oxide that is there, at any pressure, and while the furnace heats up."""

from __future__ import annotations

import math
from dataclasses import dataclass

from filmwright.numerics import root_between
from filmwright.process.oxidation import Arrhenius, deal_grove_thickness, massoud_time
from filmwright.process.ranges import not_negative, positive
from filmwright.units import STANDARD_ATMOSPHERE, to_si

_STAGES = 400
"""Parts of a ramp; doubling them moves the oxide by less than 0.1 %."""

_CLOSE = to_si(1e-6, "nm")
_ROUNDED = 1e-3


@dataclass(frozen=True, kw_only=True)
class OxideLaw:
    """The constants of one way to oxidise one plane of silicon.

    Attributes
    ----------
    parabolic : Arrhenius [m²/s]
        B.
    linear : Arrhenius [m/s]
        B/A.
    extra : Arrhenius [m/s] or None
        C of the fast first part of a dry oxide.
    decay : float [m]
        L, over which that dies away.
    """

    parabolic: Arrhenius
    linear: Arrhenius
    extra: Arrhenius | None = None
    decay: float = 0.0

    def speed(self, depth: float, temperature: float) -> float:
        """Growth rate [m/s] on an oxide of some thickness [m] at a temperature [K]."""
        b = self.parabolic.at(temperature)
        fast = self.extra.at(temperature) * math.exp(-depth / self.decay) if self.extra else 0.0
        return b / (2 * depth + b / self.linear.at(temperature)) + fast


def pressure_share(pressure: float, exponent: float) -> float:
    """By how much a constant of oxidation changes with the pressure of the oxidant: (p/p_n)^n.

    Parameters
    ----------
    pressure : float [Pa], above 0
        Of the oxidant alone, not of what it is diluted with.
    exponent : float, 0 or more
        1 for B and for steam; less for B/A of dry oxygen.

    Returns
    -------
    share : float [1]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: L. N. Lie, R. R. Razouk, B. E. Deal, J. Electrochem. Soc. 129, 2828 (1982), doi 10.1149/1.2123687 (from memory), up to 20
    atmospheres.
    """
    positive(pressure=pressure)
    not_negative(exponent=exponent)
    return math.pow(pressure / STANDARD_ATMOSPHERE, exponent)


def oxide_after(time: float, temperature: float, law: OxideLaw, start: float = 0.0) -> float:
    """Oxide after a time on silicon that carries some already: the thickness x whose time t(x, x₀) is the given one.

    Parameters
    ----------
    time : float [s], 0 or more
    temperature : float [K], above 0
    law : OxideLaw [SI]
    start : float [m], 0 or more
        x₀.

    Returns
    -------
    thickness : float [m]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: as :func:`deal_grove_thickness` and :func:`massoud_time`.
    """
    positive(temperature=temperature)
    not_negative(time=time, start=start)
    b = law.parabolic.at(temperature)
    linear = b / law.linear.at(temperature)
    slow = max(deal_grove_thickness(time, linear, b, start), start)
    if law.extra is None or time == 0:
        return slow
    extra = law.extra.at(temperature)
    # Without the fast part less grows, and it adds C·t at most; a little room is left for the quadrature.
    room = _CLOSE + (slow - start) * _ROUNDED
    low, high = max(slow - room, start), slow + extra * time + room
    return root_between(
        lambda depth: massoud_time(depth, linear, b, extra, law.decay, start) - time, low, high, _CLOSE
    )


def oxide_of_ramp(law: OxideLaw, cold: float, hot: float, pace: float, start: float = 0.0) -> float:
    """Oxide while the furnace goes between two temperatures in the oxidant: dx/dT = v(x, T)/r.

    Parameters
    ----------
    law : OxideLaw [SI]
    cold, hot : float [K], above 0
        Lower and upper end; the way down gives the same to first order.
    pace : float [K/s], above 0
        r.
    start : float [m], 0 or more

    Returns
    -------
    thickness : float [m]
        With what was there.

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: integral of the law of growth along the ramp, by the midpoint rule.
    """
    positive(cold=cold, hot=hot, pace=pace)
    not_negative(start=start, span=hot - cold)
    piece = (hot - cold) / _STAGES
    depth = start
    for k in range(_STAGES):
        kelvin = cold + (k + 0.5) * piece
        half = depth + law.speed(depth, kelvin) * piece / pace / 2
        depth += law.speed(half, kelvin) * piece / pace
    return depth
