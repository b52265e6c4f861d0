"""Where a function of one number crosses zero.

A library has this too; loading that library takes a quarter of a second, which every command would pay for a handful of roots.
"""

from __future__ import annotations

from collections.abc import Callable

_ROUNDS = 200


def root_between(miss: Callable[[float], float], low: float, high: float, tolerance: float = 1e-12) -> float:
    """The place between two others at which a continuous function changes its sign.

    Regula falsi in the Illinois form (the kept end's value is halved when it is kept twice), with a halving of the interval
    whenever that has not shrunk it by half in three rounds.

    Parameters
    ----------
    miss : function (float) → float
    low, high : float
    tolerance : float
        Absolute, on the place; a relative one of 1e-14 is added.

    Raises
    ------
    ValueError
        When the signs at the ends are equal.

    Notes
    -----
    Source: M. Dowell, P. Jarratt, BIT 11, 168 (1971), doi 10.1007/BF01934364 (from memory).
    """
    at_low, at_high = miss(low), miss(high)
    if at_low == 0 or at_high == 0:
        return low if at_low == 0 else high
    if at_low * at_high > 0:
        raise ValueError(f"a root must lie between {low:g} and {high:g}, the signs there are equal")
    kept, width, rounds = 0, abs(high - low), 0
    for _ in range(_ROUNDS):
        if abs(high - low) <= tolerance + 1e-14 * max(abs(low), abs(high)):
            break
        rounds += 1
        halve = rounds == 3 and abs(high - low) > width / 2
        place = (low + high) / 2 if halve else high - at_high * (high - low) / (at_high - at_low)
        if rounds == 3:
            width, rounds = abs(high - low), 0
        if not min(low, high) < place < max(low, high):
            place = (low + high) / 2
        value = miss(place)
        if value == 0:
            return place
        if value * at_high > 0:
            high, at_high = place, value
            at_low = at_low / 2 if kept == 1 else at_low
            kept = 1
        else:
            low, at_low = place, value
            at_high = at_high / 2 if kept == -1 else at_high
            kept = -1
    return (low + high) / 2
