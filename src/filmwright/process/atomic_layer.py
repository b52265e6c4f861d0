"""Atomic layer deposition: how much precursor a surface and a deep hole take, and what a short pulse costs."""

from __future__ import annotations

import math

from filmwright.process.ranges import not_negative, positive
from filmwright.units import AVOGADRO, BOLTZMANN


def saturating_exposure(sites: float, molar_mass: float, temperature: float, aspect: float = 0.0) -> float:
    """Pressure times time of a precursor that coats a round hole to its bottom: p·t = S·√(2π·m·k·T)·(1 + 19/4·a + 3/2·a²).

    Parameters
    ----------
    sites : float [1/m²], above 0
        S, molecules that a flat surface takes in one pulse.
    molar_mass : float [kg/mol], above 0
        Of the precursor.
    temperature : float [K], above 0
    aspect : float [1], 0 or more
        a, depth over diameter of the hole; 0 for a flat wafer.

    Returns
    -------
    exposure : float [Pa·s]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: R. G. Gordon, D. Hausmann, E. Kim, J. Shepard, Chem. Vap. Deposition 9, 73 (2003), doi 10.1002/cvde.200390005
    (from memory): every molecule that strikes a free site stays; a lower bound for slower surface reactions.
    """
    positive(sites=sites, molar_mass=molar_mass, temperature=temperature)
    not_negative(aspect=aspect)
    flat = sites * math.sqrt(2 * math.pi * molar_mass / AVOGADRO * BOLTZMANN * temperature)
    return flat * (1 + 19 / 4 * aspect + 3 / 2 * aspect**2)


def growth_of_short_pulse(exposure: float, scale: float, saturated: float) -> float:
    """Growth in a cycle whose pulse does not saturate: g = g_s·(1 − exp(−x/x_0)).

    Parameters
    ----------
    exposure : float [Pa·s], 0 or more
        x, pressure times time of the pulse.
    scale : float [Pa·s], above 0
        x₀, at which 63 % of the sites are taken.
    saturated : float [m], above 0
        Growth of a cycle with long pulses.

    Returns
    -------
    growth : float [m]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: I. Langmuir's adsorption without desorption; R. L. Puurunen, J. Appl. Phys. 97, 121301 (2005), doi 10.1063/1.1940727
    (from memory).
    """
    positive(scale=scale, saturated=saturated)
    not_negative(exposure=exposure)
    return saturated * -math.expm1(-exposure / scale)


def film_of_cycles(cycles: float, growth: float, delay: float = 0.0) -> float:
    """Film after cycles of which the first ones only form nuclei: d = g·(N − N_0), 0 before.

    Parameters
    ----------
    cycles : float [count], 0 or more
    growth : float [m], above 0
        g, of one cycle once it grows.
    delay : float
        N₀.

    Returns
    -------
    thickness : float [m]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: S. M. George, Chem. Rev. 110, 111 (2010), doi 10.1021/cr900056b (from memory): linear growth after a nucleation delay. Closed
    only from a few nanometres on, above all on noble metals.
    """
    positive(growth=growth)
    not_negative(cycles=cycles, delay=delay)
    return growth * max(cycles - delay, 0.0)
