"""Spin curves."""

from __future__ import annotations

import math

from filmwright.process.ranges import Noted, check_range, not_negative, positive


def spin_thickness(
    speed: float, reference_thickness: float, reference_speed: float, exponent: float
) -> float:
    """Resist thickness from one point of its spin curve: d = d₀·(ω/ω₀)^(−n).

    Parameters
    ----------
    speed, reference_speed : float [1/s], above 0
    reference_thickness : float [m], above 0
    exponent : float, above 0
        n, near 1/2.

    Returns
    -------
    thickness : float [m]

    Raises
    ------
    ValueError
        When any is not above zero.

    Notes
    -----
    Source: D. Meyerhofer, J. Appl. Phys. 49, 3993-3997 (1978) (from memory): ω^(−1/2) when the evaporation
    goes as √ω.
    """
    positive(
        speed=speed,
        reference_thickness=reference_thickness,
        reference_speed=reference_speed,
        exponent=exponent,
    )
    return float(reference_thickness * (speed / reference_speed) ** -exponent)


def spin_speed(
    thickness: float,
    reference_thickness: float,
    reference_speed: float,
    exponent: float,
    slowest: float = 0.0,
    fastest: float = math.inf,
) -> Noted:
    """Speed for a resist thickness from one point of its spin curve: ω = ω₀·(d₀/d)^(1/n).

    Parameters
    ----------
    thickness, reference_thickness : float [m], above 0
    reference_speed : float [1/s], above 0
    exponent : float, above 0
    slowest, fastest : float [1/s]
        Ends of the curve that was tried; a speed outside them is an extrapolation and is noted.

    Returns
    -------
    speed : Noted [1/s]

    Raises
    ------
    ValueError
        When any is not above zero.

    Notes
    -----
    Source: D. Meyerhofer, J. Appl. Phys. 49, 3993-3997 (1978) (from memory), inverted.
    """
    positive(
        thickness=thickness,
        reference_thickness=reference_thickness,
        reference_speed=reference_speed,
        exponent=exponent,
    )
    speed = float(reference_speed * (reference_thickness / thickness) ** (1 / exponent))
    if math.isinf(fastest) and slowest == 0.0:
        return Noted(value=speed)
    notes = check_range("spin speed", speed, slowest, fastest, "speed")
    return Noted(value=speed, notes=tuple(f"{note}: the thickness is extrapolated" for note in notes))


def spin_speed_spread(speed: float, exponent: float, thickness_relative_std: float) -> float:
    """Spread of the speed that a spread of the curve asks for: σ_ω = (ω/n)·σ_d/d.

    Parameters
    ----------
    speed : float [1/s], above 0
    exponent : float, above 0
    thickness_relative_std : float, 0 or more

    Returns
    -------
    spread : float [1/s]

    Raises
    ------
    ValueError
        When speed or exponent is not above zero.

    Notes
    -----
    Source: first-order propagation through :func:`spin_speed`.
    """
    positive(speed=speed, exponent=exponent)
    not_negative(thickness_relative_std=thickness_relative_std)
    return speed / exponent * thickness_relative_std


def meyerhofer_thickness(solids: float, rotation: float, viscosity: float, evaporation: float) -> float:
    """Final thickness: d = (3/2)^(1/3)·c·(1 − c)^(−1/3)·ω^(−2/3)·ν^(1/3)·e^(1/3).

    Parameters
    ----------
    solids : float, between 0 and 1
        Fraction of solids of the liquid.
    rotation : float [rad/s], above 0
    viscosity : float [m²/s], above 0
        Kinematic.
    evaporation : float [m/s], above 0

    Returns
    -------
    thickness : float [m]

    Raises
    ------
    ValueError
        When solids are not a fraction or another is not above zero.

    Notes
    -----
    Source: D. Meyerhofer, J. Appl. Phys. 49, 3993-3997 (1978) (from memory).
    """
    positive(rotation=rotation, viscosity=viscosity, evaporation=evaporation)
    if not 0 < solids < 1:
        raise ValueError(f"solids must lie between 0 and 1, got {solids:g}")
    shape = 1.5 ** (1 / 3) * solids * (1 - solids) ** (-1 / 3)
    return float(shape * rotation ** (-2 / 3) * (viscosity * evaporation) ** (1 / 3))


def emslie_thickness(start: float, rotation: float, viscosity: float, time: float) -> float:
    """A liquid that thins on a spinning disc without drying: d = d₀ / √(1 + 4ω²·d₀²·t/(3ν)).

    Parameters
    ----------
    start : float [m], above 0
    rotation : float [rad/s], above 0
    viscosity : float [m²/s], above 0
    time : float [s], 0 or more

    Returns
    -------
    thickness : float [m]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: A. G. Emslie, F. T. Bonner, L. G. Peck, J. Appl. Phys. 29, 858 (1958) (from memory).
    """
    positive(start=start, rotation=rotation, viscosity=viscosity)
    not_negative(time=time)
    return start / math.sqrt(1 + 4 * rotation**2 * start**2 * time / (3 * viscosity))
