"""Baths: what an etch takes from them, and how they fade."""

from __future__ import annotations

import math

from filmwright.process.ranges import not_negative, positive


def film_moles(thickness: float, area: float, density: float, molar_mass: float) -> float:
    """Formula units in a film: n = d·A·ρ/M.

    Parameters
    ----------
    thickness : float [m], 0 or more
    area : float [m²], 0 or more
    density : float [kg/m³], above 0
    molar_mass : float [kg/mol], above 0

    Returns
    -------
    amount : float [mol]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: definition.
    """
    positive(density=density, molar_mass=molar_mass)
    not_negative(thickness=thickness, area=area)
    return thickness * area * density / molar_mass


def reagent_used(amount: float, per_unit: float, concentration: float, volume: float) -> float:
    """Part of a bath's reagent that a film takes: x = ν·n/(c·V).

    Parameters
    ----------
    amount : float [mol], 0 or more
        n, formula units that dissolve.
    per_unit : float [1], above 0
        ν, molecules of the reagent for each.
    concentration : float [mol/m³], above 0
        c, of the reagent when the bath was made.
    volume : float [m³], above 0

    Returns
    -------
    share : float
        Above 1 where the bath cannot dissolve it all.

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: balanced equation of the dissolution.
    """
    positive(per_unit=per_unit, concentration=concentration, volume=volume)
    not_negative(amount=amount)
    return per_unit * amount / (concentration * volume)


def faded(age: float, fade_time: float, used: float = 0.0) -> float:
    """Rate of a bath over that of a fresh one: exp(−a/τ)·(1 − x), not below 0.

    Parameters
    ----------
    age : float [s], 0 or more
    fade_time : float [s], above 0
        τ, until 1/e of the reagent is left by itself.
    used : float [1], 0 or more
        x, part of the reagent that films have taken.

    Returns
    -------
    factor : float

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: kinetics of first order (common practice).
    """
    positive(fade_time=fade_time)
    not_negative(age=age, used=used)
    return math.exp(-age / fade_time) * max(1.0 - used, 0.0)


def regrown_after(thickness: float, final: float, growth_time: float) -> float:
    """Time until a native oxide has grown back to a thickness: t = −t_g·ln(1 − x/x_end).

    Parameters
    ----------
    thickness : float [m], 0 or more, below ``final``
    final : float [m], above 0
        Where it stops.
    growth_time : float [s], above 0
        t_g, until 63 % of it has grown.

    Returns
    -------
    time : float [s]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: growth that saturates (common practice).
    """
    positive(final=final, growth_time=growth_time)
    not_negative(thickness=thickness)
    if thickness >= final:
        raise ValueError(f"a native oxide of {thickness:g} m never grows where it stops at {final:g} m")
    return -growth_time * math.log1p(-thickness / final)
