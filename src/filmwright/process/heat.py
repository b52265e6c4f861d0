"""What heat does in all: activated processes summed over holds and ramps, and how far something diffuses in them."""

from __future__ import annotations

import math
from collections.abc import Sequence

from filmwright.process.ranges import not_negative, positive
from filmwright.units import BOLTZMANN

_STAGES = 200
"""Parts of a ramp; doubling them moves its equivalent time by less than 0.1 %."""


def diffusivity(prefactor: float, energy: float, temperature: float) -> float:
    """Diffusion coefficient at a temperature: D = D₀·exp(−E/(k·T)).

    Parameters
    ----------
    prefactor : float [m²/s], above 0
        D₀.
    energy : float [J], 0 or more
        E.
    temperature : float [K], above 0

    Returns
    -------
    diffusivity : float [m²/s]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: S. Arrhenius, Z. Phys. Chem. 4, 226 (1889) (from memory).
    """
    positive(prefactor=prefactor, temperature=temperature)
    not_negative(energy=energy)
    return prefactor * math.exp(-energy / (BOLTZMANN * temperature))


def equivalent_ramp(cold: float, hot: float, pace: float, energy: float) -> float:
    """Time at the upper temperature that does as much as a ramp: t = ∫ exp(−E/k·(1/T − 1/T_hot)) dT/r.

    Parameters
    ----------
    cold, hot : float [K], above 0
        Lower and upper end; up or down is the same.
    pace : float [K/s], above 0
        r.
    energy : float [J], 0 or more
        E of the process.

    Returns
    -------
    time : float [s]
        About k·T_hot²/(E·r) for a process of high energy.

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: integral of the Arrhenius law along the ramp, by the midpoint rule.
    """
    positive(cold=cold, hot=hot, pace=pace)
    not_negative(energy=energy, span=hot - cold)
    piece = (hot - cold) / _STAGES
    factors = (
        math.exp(-energy / BOLTZMANN * (1 / (cold + (k + 0.5) * piece) - 1 / hot)) for k in range(_STAGES)
    )
    return math.fsum(factors) * piece / pace


def diffusion_length(heats: Sequence[tuple[float, float]], prefactor: float, energy: float) -> float:
    """How far something diffuses in several heats, as the spread that adds up: L = √(Σ D(T)·t).

    Parameters
    ----------
    heats : sequence of (temperature [K], time [s])
        Times at temperature; a ramp counts as :func:`equivalent_ramp` at its upper end.
    prefactor : float [m²/s], above 0
    energy : float [J], 0 or more

    Returns
    -------
    length : float [m]
        At a depth of 2·L from an even source the concentration is erfc(1), 16 % of that at the source; at 5·L 0.04 %.

    Raises
    ------
    ValueError
        When a number is out of its range.

    Notes
    -----
    Source: J. Crank, The Mathematics of Diffusion (1975), ch. 7: a diffusivity that changes with time enters by its integral (from memory).
    """
    for _, time in heats:
        not_negative(time=time)
    return math.sqrt(math.fsum(diffusivity(prefactor, energy, hot) * time for hot, time in heats))
