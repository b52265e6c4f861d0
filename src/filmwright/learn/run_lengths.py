"""After how many readings a rule rings: the exact mean for a steady tool, and for one that has moved."""

from __future__ import annotations

import functools
from collections.abc import Sequence
from itertools import pairwise
from statistics import NormalDist

import numpy as np
from numpy.polynomial import legendre
from numpy.typing import NDArray

from filmwright.learn.control import Rule

FloatArray = NDArray[np.float64]
_State = tuple[int, ...]
_NODES = 16
"""Of the integrals over the last reading: what is integrated is smooth."""


def false_alarm(rule: Rule) -> float:
    """Readings of a steady tool, in the mean, up to a false alarm of one rule whose limits are known exactly."""
    if rule.kind in ("trend", "alternating"):
        return average_run_length_of_order(rule.count, alternating=rule.kind == "alternating")
    return average_run_length((rule,))


@functools.cache
def average_run_length(rules: tuple[Rule, ...], shift: float = 0.0) -> float:
    """Mean number of normal readings until one of some rules rings, exactly, by a Markov chain.

    m = (I − Q)⁻¹·1 over the states that remember of each rule which of its last readings counted.

    Parameters
    ----------
    rules : tuple of Rule
        Of the kinds ``beyond`` and ``between``.
    shift : float
        How far the level has moved, in sigma of a reading.

    Returns
    -------
    float
        Readings.

    Raises
    ------
    ValueError
        For rules of order: their chain has no finite number of states.

    References
    ----------
    C. W. Champ and W. H. Woodall, Technometrics 29, 393 (1987), doi:10.1080/00401706.1987.10488266.
    """
    if any(rule.kind in ("trend", "alternating") for rule in rules):
        raise ValueError("the mean run of a trend or an alternation is that of average_run_length_of_order")
    tests = [(rule, side) for rule in rules for side in ((1, -1) if rule.one_side else (0,))]
    zones = _zones(rules, shift)
    start: _State = (0,) * len(tests)
    states, queue, moves = {start: 0}, [start], []
    for state in queue:  # grows while it is walked
        for middle, chance in zones:
            after = _after(state, middle, tests)
            if after is None:
                continue
            if after not in states:
                states[after] = len(states)
                queue.append(after)
            moves.append((states[state], states[after], chance))
    return _mean_time(len(states), moves)


def _zones(rules: Sequence[Rule], shift: float) -> list[tuple[float, float]]:
    """Middle and chance of each zone between the lines that the rules ask about."""
    lines = sorted({side * rule.sigmas for rule in rules for side in (1.0, -1.0)} | {0.0})
    normal = NormalDist(mu=shift)
    edges = [-np.inf, *lines, np.inf]
    chances = np.diff([0.0, *(normal.cdf(line) for line in lines), 1.0])
    middles = [
        (high - 1.0) if low == -np.inf else (low + 1.0) if high == np.inf else (low + high) / 2
        for low, high in pairwise(edges)
    ]
    return [(float(middle), float(chance)) for middle, chance in zip(middles, chances, strict=True)]


def _after(state: _State, middle: float, tests: Sequence[tuple[Rule, int]]) -> _State | None:
    """What is remembered after one more reading; None where a rule rings."""
    found = []
    for memory, (rule, side) in zip(state, tests, strict=True):
        off = side * middle if side else abs(middle)
        met = off < rule.sigmas if rule.kind == "between" else off > rule.sigmas
        if rule.count == rule.of:
            longer = memory + 1 if met else 0
            if longer >= rule.count:
                return None
            found.append(longer)
            continue
        seen = (memory << 1 | met) & ((1 << rule.of) - 1)
        if met and seen.bit_count() >= rule.count:
            return None
        found.append(seen & ((1 << (rule.of - 1)) - 1))
    return tuple(found)


def _mean_time(size: int, moves: Sequence[tuple[int, int, float]]) -> float:
    stay = np.zeros((size, size))
    for start, end, chance in moves:
        stay[start, end] += chance
    return float(np.linalg.solve(np.eye(size) - stay, np.ones(size))[0])


@functools.cache
def average_run_length_of_order(count: int, *, alternating: bool = False) -> float:
    """Mean number of readings of a steady tool until so many in a row rise or fall, or alternate up and down.

    E_l(x) = 1 + ∫ E_(l+1) over readings that go on with it + ∫ E_1 over those that turn, with x the share of readings below the last one.
    Only the order of the readings counts, so the mean holds for any continuous distribution.

    Parameters
    ----------
    count : int, at least 3
        Readings.
    alternating : bool

    Returns
    -------
    float
        Readings.
    """
    if count < 3:
        raise ValueError(f"an order shows in three readings or more, got {count}")
    points, weights, below, mirror = _quadrature()
    size, moves = len(points), count - 1
    total = weights[None, :] - below
    # After a move up from below; a fall is its mirror image, x ↔ 1 − x.
    on, turned = (below @ mirror, total) if alternating else (total, below @ mirror)
    system = np.eye(size * (moves - 1))
    for length in range(1, moves):
        row = slice((length - 1) * size, length * size)
        system[row, :size] -= turned
        if length + 1 < moves:
            system[row, length * size : (length + 1) * size] -= on
    means = np.linalg.solve(system, np.ones(len(system)))[:size]
    second = 1.0 + (total + below @ mirror) @ means
    return float(1.0 + weights @ second)


def _quadrature() -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Nodes on 0 … 1, weights of the whole integral, integrals from 0 to each node, and the turn x ↔ 1 − x."""
    points, weights = legendre.leggauss(_NODES)
    values = legendre.legvander(points, _NODES - 1)
    integrals = np.stack(
        [legendre.legval(points, legendre.legint(row, lbnd=-1)) for row in np.eye(_NODES)], axis=1
    )
    below = np.linalg.solve(values.T, integrals.T).T / 2
    return (points + 1) / 2, weights / 2, below, np.eye(_NODES)[::-1]
