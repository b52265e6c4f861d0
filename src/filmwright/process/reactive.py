"""Reactive sputtering: how much gas the target and the walls take, and why one flow has two states (Berg)."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from filmwright.numerics import root_between
from filmwright.process.deposition import impingement_rate
from filmwright.process.ranges import positive
from filmwright.units import BOLTZMANN, ELEMENTARY_CHARGE

_LEAST, _MOST, _GRID = 1e-8, 1e2, 120
"""Pressures [Pa] between which branches are looked for, and how finely, in equal steps of the logarithm."""


@dataclass(frozen=True, kw_only=True)
class ReactiveChamber:
    """A target in a chamber with a gas that makes a compound of it.

    Attributes
    ----------
    current_density : float [A/m²]
        Of ions on the target.
    target, collecting : float [m²]
        Areas of the racetrack, and of all that is coated.
    metal_yield, compound_yield : float
        Metal atoms per ion from clean metal, formula units per ion from the compound.
    sticking : float
        Of the gas on clean metal, 0 to 1.
    atoms : float
        Gas atoms that a formula unit holds per metal atom; 1.5 for aluminium oxide.
    pumping : float [m³/s]
        Speed of the pump for the gas.
    gas_molar_mass : float [kg/mol]
        Of the molecule, which has two atoms.
    temperature : float [K]
    """

    current_density: float
    target: float
    collecting: float
    metal_yield: float
    compound_yield: float
    sticking: float
    atoms: float
    pumping: float
    gas_molar_mass: float
    temperature: float

    def __post_init__(self) -> None:
        positive(**vars(self))


@dataclass(frozen=True, kw_only=True)
class ReactiveState:
    """A steady state at a pressure of the gas.

    Attributes
    ----------
    pressure : float [Pa]
    flow : float [1/s]
        Molecules that must flow in.
    poisoned, covered : float
        Parts of the target and of the coated area that are compound.
    metal_out : float [1/s]
        Metal atoms that leave the target, alone or in the compound: the rate follows it.
    """

    pressure: float
    flow: float
    poisoned: float
    covered: float
    metal_out: float


def berg_state(pressure: float, chamber: ReactiveChamber) -> ReactiveState:
    """The steady state at a pressure: balance of the gas on target and walls.

    Target: j/e·Y_c·θ_t·z = 2·α·F·(1 − θ_t). Walls: (2·α·F·A_c/z + I_c)·(1 − θ_c) = I_m·θ_c, with I_c = j/e·Y_c·θ_t·A_t and
    I_m = j/e·Y_m·(1 − θ_t)·A_t. Flow: q = α·F·((1 − θ_t)·A_t + (1 − θ_c)·A_c) + p·S/(k·T).

    Parameters
    ----------
    pressure : float [Pa], above 0
        Of the reactive gas.
    chamber : ReactiveChamber [SI]

    Returns
    -------
    state : ReactiveState

    Raises
    ------
    ValueError
        When the pressure is not above zero.

    Notes
    -----
    Source: S. Berg, T. Nyberg, Thin Solid Films 476, 215 (2005), doi 10.1016/j.tsf.2004.10.051 (from memory): steady state, one gas,
    even current over the target, no implantation of the gas.
    """
    positive(pressure=pressure)
    c = chamber
    ions = c.current_density / ELEMENTARY_CHARGE
    strikes = c.sticking * impingement_rate(pressure, c.gas_molar_mass, c.temperature)
    cleaned = ions * c.compound_yield * c.atoms
    poisoned = 2 * strikes / (2 * strikes + cleaned)
    compound = ions * c.compound_yield * poisoned * c.target
    metal = ions * c.metal_yield * (1 - poisoned) * c.target
    grown = 2 * strikes * c.collecting / c.atoms + compound
    covered = grown / (grown + metal)
    taken = strikes * ((1 - poisoned) * c.target + (1 - covered) * c.collecting)
    pumped = pressure * c.pumping / (BOLTZMANN * c.temperature)
    return ReactiveState(
        pressure=pressure, flow=taken + pumped, poisoned=poisoned, covered=covered, metal_out=metal + compound
    )


def berg_states(flow: float, chamber: ReactiveChamber) -> tuple[ReactiveState, ...]:
    """All steady states at a flow, from metallic to poisoned: one, or three of which the middle one does not last.

    Parameters
    ----------
    flow : float [1/s], above 0
        Molecules of the reactive gas.
    chamber : ReactiveChamber [SI]

    Returns
    -------
    states : tuple of ReactiveState
        Which of the outer two is met depends on where the process comes from.

    Raises
    ------
    ValueError
        When the flow is not above zero, or no pressure from 1e-8 to 100 Pa takes it.

    Notes
    -----
    Source: S. Berg, T. Nyberg, Thin Solid Films 476, 215 (2005), doi 10.1016/j.tsf.2004.10.051 (from memory).
    """
    positive(flow=flow)
    grid = np.linspace(math.log(_LEAST), math.log(_MOST), _GRID)

    def miss(log_pressure: float) -> float:
        return berg_state(math.exp(log_pressure), chamber).flow / flow - 1

    misses = [miss(float(place)) for place in grid]
    found = [
        berg_state(math.exp(root_between(miss, float(grid[k]), float(grid[k + 1]))), chamber)
        for k in range(_GRID - 1)
        if misses[k] * misses[k + 1] < 0
    ]
    if not found:
        raise ValueError(f"no pressure between {_LEAST:g} and {_MOST:g} Pa takes a flow of {flow:g} 1/s")
    return tuple(found)


def berg_limits(chamber: ReactiveChamber) -> tuple[float, float] | None:
    """The two flows between which one flow has two states: where the target is poisoned on the way up, and where it clears on the
    way down; None where every flow has one state.

    Parameters
    ----------
    chamber : ReactiveChamber [SI]

    Returns
    -------
    limits : (clears, poisons) or None [1/s]

    Raises
    ------
    ValueError
        Never for a chamber that could be made.

    Notes
    -----
    Source: S. Berg, T. Nyberg, Thin Solid Films 476, 215 (2005), doi 10.1016/j.tsf.2004.10.051 (from memory): turning points of the
    flow over the pressure. A pump that is fast enough removes them.
    """
    places = np.linspace(math.log(_LEAST), math.log(_MOST), _GRID)
    flows = [_flow(float(place), chamber) for place in places]
    tops = [k for k in range(1, _GRID - 1) if flows[k - 1] < flows[k] > flows[k + 1]]
    lows = [k for k in range(1, _GRID - 1) if flows[k - 1] > flows[k] < flows[k + 1]]
    if not tops or not lows:
        return None
    top, low = max(tops, key=flows.__getitem__), min(lows, key=flows.__getitem__)
    return (
        _extreme(chamber, float(places[low - 1]), float(places[low + 1]), 1.0),
        _extreme(chamber, float(places[top - 1]), float(places[top + 1]), -1.0),
    )


def _flow(log_pressure: float, chamber: ReactiveChamber) -> float:
    return berg_state(math.exp(log_pressure), chamber).flow


def _extreme(chamber: ReactiveChamber, low: float, high: float, sign: float) -> float:
    """The least flow (sign 1) or the greatest (sign −1) between two logarithms of the pressure."""
    from scipy.optimize import minimize_scalar

    scale = _flow(low, chamber)
    found = minimize_scalar(
        lambda place: sign * _flow(place, chamber) / scale,
        bounds=(low, high),
        method="bounded",
        options={"xatol": 1e-5},
    )
    return float(sign * found.fun * scale)
