"""Sheet resistance from four contacts: round the edge of a sample of any shape, or four pins in a line on it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from filmwright.device.checks import Array, above_zero, not_negative
from filmwright.numerics import (
    disc_potential,
    half_plane_potential,
    plane_potential,
    rectangle_potential,
    root_between,
    slab_potential,
    strip_potential,
)

Outline = Literal["boundless", "half plane", "strip", "rectangle", "disc"]
ContactPlace = Literal["along the edge", "into the sample", "inside the edge"]
_FLATTEST, _STEEPEST = 1e-12, 60.0
_NEAR_EDGE = 1e-9


def van_der_pauw_sheet_resistance(first: float, second: float) -> float:
    """Sheet resistance from two readings of four small contacts on the edge of an even sample without holes.

    Equation: exp(−π·R₁/R_s) + exp(−π·R₂/R_s) = 1, solved for R_s

    Parameters
    ----------
    first, second : float [Ω]
        Voltage between two neighbours over the current between the other two; then the same moved on by one contact.
        Valid range: above 0.

    Returns
    -------
    float [Ω per square]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    L. J. van der Pauw, Philips Res. Rep. 13, 1 (1958) (from memory).
    """
    above_zero(first=first, second=second)
    large, small = max(first, second), min(first, second)
    share = small / large

    def miss(x: float) -> float:
        # x = π·R_large/R_s; the small one alone decides once x is large.
        return math.exp(-x) + math.exp(-x * share) - 1.0

    high = max(_STEEPEST, 2.0 * math.log(2.0) / share)
    return math.pi * large / root_between(miss, _FLATTEST, high, tolerance=1e-15)


def van_der_pauw_factor(ratio: float) -> float:
    """How the sheet resistance falls behind (π/ln 2)·mean when the two readings differ.

    Equation: f = R_s / [(π/ln 2)·(R₁ + R₂)/2], R_s of :func:`van_der_pauw_sheet_resistance`

    Parameters
    ----------
    ratio : float [1]
        R₁/R₂. Valid range: above 0.

    Returns
    -------
    float

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    L. J. van der Pauw, Philips Res. Rep. 13, 1 (1958) (from memory).
    """
    above_zero(ratio=ratio)
    return van_der_pauw_sheet_resistance(ratio, 1.0) * math.log(2) / math.pi / ((ratio + 1.0) / 2.0)


def contact_size_shift(place: ContactPlace, size: float, diameter: float) -> float:
    """By how much of itself one contact that is no point lowers the reading of a round sample with four contacts.

    Equation: δ = s²/(16·D²·ln 2) along the edge, s²/(4·D²·ln 2) into the sample, s²/(2·D²·ln 2) for a point inside

    Parameters
    ----------
    place : "along the edge", "into the sample" or "inside the edge"
        A strip of the edge, a needle from the edge towards the middle, a point off the edge.
    size : float [m]
        Its length, or its distance from the edge. Valid range: at least 0, below a quarter of the diameter.
    diameter : float [m]
        Valid range: above 0.

    Returns
    -------
    float

    Raises
    ------
    ValueError
        Outside the valid range: the law is the first term of a series.

    References
    ----------
    L. J. van der Pauw, Philips Res. Rep. 13, 1 (1958), appendix (from memory).
    """
    above_zero(diameter=diameter)
    not_negative(size=size)
    if size >= diameter / 4:
        raise ValueError(f"size must be below a quarter of the diameter, got {size / diameter:.3g} of it")
    parts = {"along the edge": 16.0, "into the sample": 4.0, "inside the edge": 2.0}
    return (size / diameter) ** 2 / (parts[place] * math.log(2.0))


def dual_configuration_sheet_resistance(outer: float, crossed: float) -> float:
    """Sheet resistance from two readings of four pins in a line, whatever their spacings, far from any edge.

    Equation: exp(−2π·R_a/R_s) + exp(−2π·(R_a − R_b)/R_s) = 1, solved for R_s

    Parameters
    ----------
    outer : float [Ω]
        R_a: current through the outer pins, voltage between the inner ones.
    crossed : float [Ω]
        R_b: current through the first and third pin, voltage between the second and fourth.
        Valid range: above 0, below ``outer``.

    Returns
    -------
    float [Ω per square]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    R. Rymaszewski, J. Phys. E 2, 170 (1969), doi:10.1088/0022-3735/2/2/312 (from memory).
    """
    above_zero(outer=outer, crossed=crossed)
    if crossed >= outer:
        raise ValueError(f"crossed must be below outer = {outer:g} Ω, got {crossed:g}: the pins are mixed up")
    return van_der_pauw_sheet_resistance(2.0 * outer, 2.0 * (outer - crossed))


@dataclass(frozen=True, kw_only=True)
class SheetOutline:
    """Where a sheet ends; current does not cross its edges.

    Attributes
    ----------
    kind : "boundless", "half plane", "strip", "rectangle" or "disc"
        With the origin anywhere; on the edge (y ≥ 0); in the middle of the strip, rectangle or disc.
    length, width : float [m]
        Along x and y: of the rectangle; ``width`` of the strip. Above 0 where they are needed.
    diameter : float [m]
        Of the disc.
    """

    kind: Outline = "boundless"
    length: float = 0.0
    width: float = 0.0
    diameter: float = 0.0

    def __post_init__(self) -> None:
        needed = {"strip": ("width",), "rectangle": ("length", "width"), "disc": ("diameter",)}
        above_zero(**{name: getattr(self, name) for name in needed.get(self.kind, ())})

    def holds(self, place: Array) -> bool:
        """Whether a place [m] lies on the sheet."""
        x, y = (float(each) for each in place)
        if self.kind == "disc":
            return math.hypot(x, y) <= self.diameter / 2 * (1 + _NEAR_EDGE)
        reach = {
            "boundless": True,
            "half plane": y >= -_NEAR_EDGE,
            "strip": abs(y) <= self.width / 2 * (1 + _NEAR_EDGE),
            "rectangle": abs(y) <= self.width / 2 * (1 + _NEAR_EDGE)
            and abs(x) <= self.length / 2 * (1 + _NEAR_EDGE),
        }
        return reach[self.kind]

    def potential(self, place: Array, source: Array) -> float:
        """Of a source of strength 2π over the sheet conductance, up to what cancels between source and sink."""
        if self.kind == "disc":
            return disc_potential(place, source, self.diameter / 2)
        if self.kind == "half plane":
            return half_plane_potential(place, source)
        corner = np.array([self.length / 2, self.width / 2])
        if self.kind == "strip":
            return strip_potential(place + corner, source + corner, self.width)
        if self.kind == "rectangle":
            return rectangle_potential(place + corner, source + corner, self.length, self.width)
        return plane_potential(place, source)


def probe_factor(
    pins: ArrayLike,
    outline: SheetOutline,
    current: tuple[int, int] = (0, 3),
    voltage: tuple[int, int] = (1, 2),
) -> float:
    """Factor of four pins on a thin sheet of a given outline: R_s = F·V/I.

    Equation: F = 2π / [u(c, a) − u(d, a) − u(c, b) + u(d, b)], u the sum over the images of a pin at the edges

    Parameters
    ----------
    pins : array (4, 2) [m]
        Places in the frame of the outline.
    outline : SheetOutline
    current, voltage : tuple of int [1]
        Numbers of the pins from 0: current enters a and leaves b, voltage of c less that of d.

    Returns
    -------
    float
        π/ln 2 for a line of evenly spaced pins on a boundless sheet.

    Raises
    ------
    ValueError
        When a pin lies off the sheet, or two at one place.

    References
    ----------
    F. M. Smits, Bell Syst. Tech. J. 37, 711 (1958) (from memory); A. Uhlir, Bell Syst. Tech. J. 34, 105 (1955) (from
    memory).
    """
    places = np.asarray(pins, dtype=float)
    _demand_pins(places, outline)

    def u(pin: int, source: int) -> float:
        return outline.potential(places[pin], places[source])

    (a, b), (c, d) = current, voltage
    return 2 * math.pi / (u(c, a) - u(d, a) - u(c, b) + u(d, b))


def _demand_pins(places: Array, outline: SheetOutline) -> None:
    if places.shape != (4, 2):
        raise ValueError(f"pins must be four places in the plane, got an array of shape {places.shape}")
    outside = [k + 1 for k, place in enumerate(places) if not outline.holds(place)]
    if outside:
        raise ValueError(f"pins must lie on the sheet, got pin {outside[0]} outside it")
    gaps = [math.dist(places[k], places[m]) for k in range(4) for m in range(k)]
    if min(gaps) <= 0:
        raise ValueError("pins must lie at different places, got two at one")


def thickness_factor(
    pins: ArrayLike,
    thickness: float,
    current: tuple[int, int] = (0, 3),
    voltage: tuple[int, int] = (1, 2),
) -> float:
    """How much less a body of finite thickness reads than a thin sheet would: R_s = F·(thickness factor)·V/I.

    Equation: k = w·Σ±u_thin / Σ±u_slab, u_slab the sum over the images of a pin at both faces

    Parameters
    ----------
    pins : array (4, 2) [m]
    thickness : float [m]
        w, of the conductor, its lower face insulated. Valid range: above 0.
    current, voltage : tuple of int [1]
        As for :func:`probe_factor`.

    Returns
    -------
    float
        1 where the conductor is thin beside the spacings.

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    A. Uhlir, Bell Syst. Tech. J. 34, 105 (1955) (from memory). Far from any edge.
    """
    above_zero(thickness=thickness)
    places = np.asarray(pins, dtype=float)
    _demand_pins(places, SheetOutline())
    (a, b), (c, d) = current, voltage
    gaps = np.array([math.dist(places[k], places[m]) for k, m in ((c, a), (d, a), (c, b), (d, b))])
    signs = np.array([1.0, -1.0, -1.0, 1.0])
    thin = -signs @ np.log(gaps)
    return float(thin / (thickness * (signs @ slab_potential(gaps, thickness))))
