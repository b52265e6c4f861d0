"""The states of a semiconductor film, and how its charge follows the Fermi level."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from filmwright.device.checks import Array, above_zero, at_least_one, not_negative
from filmwright.device.fermi import band_filling, fermi_integral, tail_filling
from filmwright.device.laws import thermal_voltage
from filmwright.numerics import root_between
from filmwright.units import ELEMENTARY_CHARGE, ROOM_TEMPERATURE, VACUUM_PERMITTIVITY

_UNDERFLOW = -600.0
"""Level below which nothing can be told from none [kT]."""
_LOWEST, _HIGHEST, _STEP = -50.0, 50.0, 0.2
"""Where the table of fillings begins and ends, and its step [kT]: read between to a millionth. Below it everything falls on
exponentially; at its end a band holds some 260 times its effective density of states, more than any film."""


@dataclass(frozen=True, kw_only=True)
class FilmStates:
    """Where electrons of a film may be.

    Attributes
    ----------
    permittivity : float
        Relative. At least 1.
    density_of_states : float [1/m³]
        Effective, of the conduction band. Above 0.
    donors : float [1/m³]
        Ionised whatever the gate does. At least 0.
    tail_density : float [1/m³]
        All states of the exponential tail below the band. At least 0.
    tail_energy : float [V]
        Over which the tail falls to 1/e, over q. Above 0.
    deep_density : float [1/m³]
        All states of a Gaussian band. At least 0.
    deep_depth, deep_breadth : float [V]
        Its middle below the conduction band and its standard deviation, over q. Above 0.
    temperature : float [K]
        Above 0.

    A state of tail and band is neutral when empty and carries one electron when filled.
    """

    permittivity: float
    density_of_states: float
    donors: float
    tail_density: float = 0.0
    tail_energy: float = 0.05
    deep_density: float = 0.0
    deep_depth: float = 0.5
    deep_breadth: float = 0.1
    temperature: float = ROOM_TEMPERATURE

    def __post_init__(self) -> None:
        at_least_one(permittivity=self.permittivity)
        above_zero(
            density_of_states=self.density_of_states,
            tail_energy=self.tail_energy,
            deep_depth=self.deep_depth,
            deep_breadth=self.deep_breadth,
            temperature=self.temperature,
        )
        not_negative(donors=self.donors, tail_density=self.tail_density, deep_density=self.deep_density)


class Filled(NamedTuple):
    """Electrons [1/m³] and their slope against the Fermi level [1/(m³·V)]."""

    density: Array
    slope: Array


class Fillings:
    """Electrons of a film against its Fermi level, tabulated once and read between by cubics in the logarithm.

    Attributes
    ----------
    lowest, highest : float [V]
        Fermi level less band edge, over q, between which it is tabulated.
    """

    def __init__(self, states: FilmStates) -> None:
        unit = thermal_voltage(states.temperature)
        self._unit = unit
        self.lowest, self.highest = _LOWEST * unit, _HIGHEST * unit
        level = np.arange(_LOWEST, _HIGHEST + _STEP / 2, _STEP)
        bare = states.density_of_states * fermi_integral(0.5, level)
        self._free = _Logarithm(bare)
        trapped = np.zeros_like(level)
        if states.tail_density > 0:
            trapped += states.tail_density * tail_filling(level, states.tail_energy / unit)
        if states.deep_density > 0:
            trapped += states.deep_density * band_filling(
                level, states.deep_depth / unit, states.deep_breadth / unit
            )
        self._every = _Logarithm(bare + trapped) if np.any(trapped > 0) else self._free

    def electrons(self, potential: Array) -> tuple[Filled, Filled]:
        """Free electrons and all electrons at a Fermi level over q [V]."""
        return self._filled(self._free, potential), self.every(potential)

    def every(self, potential: Array) -> Filled:
        """All electrons at a Fermi level over q [V]."""
        return self._filled(self._every, potential)

    def _filled(self, of: _Logarithm, potential: Array) -> Filled:
        density, slope = of.at(np.clip(potential / self._unit, _UNDERFLOW, _HIGHEST))
        return Filled(density, slope / self._unit)


@lru_cache(maxsize=64)
def fillings_of(states: FilmStates) -> Fillings:
    """The table of these states, made once."""
    return Fillings(states)


class _Logarithm:
    """A positive function on the even grid of levels, by cubics in its logarithm."""

    def __init__(self, values: Array) -> None:
        self._log = np.log(np.maximum(values, np.finfo(float).tiny))
        self._slope = _slopes(self._log)

    def at(self, level: Array) -> tuple[Array, Array]:
        """Value, and slope against the level."""
        place = (level - _LOWEST) / _STEP
        left = np.clip(place.astype(np.intp), 0, len(self._log) - 2)
        part = place - left
        low, high = self._log[left], self._log[left + 1]
        down, up = self._slope[left] * _STEP, self._slope[left + 1] * _STEP
        rise = high - low
        second, third = 3.0 * rise - 2.0 * down - up, down + up - 2.0 * rise
        second, third = np.where(part < 0.0, 0.0, second), np.where(part < 0.0, 0.0, third)
        value = np.exp(low + part * (down + part * (second + part * third)))
        return value, value * (down + part * (2.0 * second + 3.0 * part * third)) / _STEP


def _slopes(values: Array) -> Array:
    """Derivative on the even grid: central differences of fourth order, at the ends of second."""
    slope = np.gradient(values, _STEP, edge_order=2)
    slope[2:-2] = (8.0 * (values[3:-1] - values[1:-3]) - values[4:] + values[:-4]) / (12.0 * _STEP)
    return slope


def neutral_level(states: FilmStates) -> float:
    """Fermi level of a film left alone, over q and from the band edge (below it: negative).

    Equation: N_D = n(ψ) + n_tail(ψ) + n_deep(ψ)

    Parameters
    ----------
    states : FilmStates
        With donors.

    Returns
    -------
    float [V]

    Raises
    ------
    ValueError
        Without donors: then no level is neutral.

    References
    ----------
    S. M. Sze, K. K. Ng, Physics of Semiconductor Devices, 3rd ed., Wiley 2007, ch. 1 (from memory).
    """
    above_zero(donors=states.donors)
    fillings = fillings_of(states)
    return root_between(
        lambda level: float(fillings.electrons(np.asarray(level))[1].density) - states.donors,
        fillings.lowest,
        fillings.highest,
    )


def donors_of(states: FilmStates, free: float) -> float:
    """Donors of a film that holds so many free electrons when it is left alone.

    Equation: N_D = n + n_tail(ψ) + n_deep(ψ), at the level ψ with n(ψ) = n

    Parameters
    ----------
    states : FilmStates
        Its donors are not asked.
    free : float [1/m³]
        n. Valid range: above 0, and within the table of the band (up to some 260 times its density of states).

    Returns
    -------
    float [1/m³]

    Raises
    ------
    ValueError
        Outside the valid range.

    References
    ----------
    Neutrality: S. M. Sze, K. K. Ng, Physics of Semiconductor Devices, 3rd ed., Wiley 2007, ch. 1 (from memory).
    """
    above_zero(free=free)
    fillings = fillings_of(states)
    lowest, highest = (
        float(fillings.electrons(np.asarray(end))[0].density) for end in (fillings.lowest, fillings.highest)
    )
    if not lowest < free < highest:
        raise ValueError(f"free must lie between {lowest:.3g} and {highest:.3g} 1/m³, got {free:g}")
    level = root_between(
        lambda at: math.log(float(fillings.electrons(np.asarray(at))[0].density) / free),
        fillings.lowest,
        fillings.highest,
    )
    return float(fillings.electrons(np.asarray(level))[1].density)


def debye_length(states: FilmStates) -> float:
    """Length over which the film screens a small disturbance, all its states counted.

    Equation: L = √(ε / (q·dn/dψ)), for free electrons far below the band edge √(ε·kT/(q²·n))

    Parameters
    ----------
    states : FilmStates
        With donors.

    Returns
    -------
    float [m]

    Raises
    ------
    ValueError
        Without donors.

    References
    ----------
    S. M. Sze, K. K. Ng, Physics of Semiconductor Devices, 3rd ed., Wiley 2007, ch. 2 (from memory).
    """
    level = neutral_level(states)
    slope = float(fillings_of(states).electrons(np.asarray(level))[1].slope)
    return math.sqrt(VACUUM_PERMITTIVITY * states.permittivity / (ELEMENTARY_CHARGE * slope))
