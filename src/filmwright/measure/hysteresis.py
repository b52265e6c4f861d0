"""Shift between the two directions of a sweep, at several currents and at the threshold."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from filmwright.measure.context import Column
from filmwright.measure.smoothing import Array

SHARES = {"hysteresis": 0.1, "hysteresis_1_percent": 0.01, "hysteresis_0.1_percent": 0.001}
"""Shares of the smaller on current at which the two directions are compared, by name of the parameter."""

AT_THRESHOLD = "hysteresis_threshold"


def targets(largest: Array, partner: Sequence[int]) -> Array:
    """Currents at which each curve is read, (n_curves, n_shares) [A]; NaN for a curve without its other direction.

    Parameters
    ----------
    largest : array (n_curves,) [A]
        Largest current of each curve.
    partner : sequence of int
        Index of the other direction of each curve; -1 where there is none.
    """
    other = np.asarray(partner, dtype=np.intp)
    smaller = np.where(other >= 0, np.minimum(largest, largest[other]), np.nan)
    result: Array = smaller[:, None] * np.array(list(SHARES.values()))
    return result


def shifts(
    partner: Sequence[int],
    forward: NDArray[np.bool_],
    read: tuple[Array, Array, Array, Array],
    threshold: tuple[Array, Array, NDArray[np.bool_]],
    refused: Mapping[str, NDArray[np.bool_]],
) -> dict[str, Column]:
    """Gate voltage backward less forward of every pair, n-type signs; the same for both of its curves.

    Parameters
    ----------
    partner : sequence of int
    forward : array of bool (n_curves,)
    read : four arrays
        Currents of reading, gate voltages there, their errors (all (n_curves, n_shares)), and the current from which each curve is
        clear of its floor (n_curves,).
    threshold : three arrays (n_curves,)
        Threshold voltage, its error, and whether it stands.
    refused : mapping from reason to array of bool (n_curves,)
        What refuses all of them, of either curve.
    """
    other = np.asarray(partner, dtype=np.intp)
    single: NDArray[np.bool_] = other < 0
    turn = np.where(forward, 1.0, -1.0)
    currents, volts, errors, clear = read
    common = {"one direction": single, **{key: flags | flags[other] for key, flags in refused.items()}}
    columns = {}
    for place, (name, share) in enumerate(SHARES.items()):
        value = turn * (volts[other, place] - volts[:, place])
        criterion = currents[:, place]
        columns[name] = Column(
            value=np.where(single, np.nan, value),
            std=np.hypot(errors[:, place], errors[other, place]),
            low=np.minimum(volts[:, place], volts[other, place]),
            high=np.maximum(volts[:, place], volts[other, place]),
            unit="V",
            method=f"gate voltage backward less forward at {share:.3g} of the smaller on current",
            refusals={
                **common,
                "floor": criterion < np.maximum(clear, clear[other]),
                "not both crossed": ~single & ~np.isfinite(value),
            },
            volts=True,
            numbers={"criterion": criterion},
        )
    value, std, good = threshold
    columns[AT_THRESHOLD] = Column(
        value=np.where(single, np.nan, turn * (value[other] - value)),
        std=np.hypot(std, std[other]),
        low=np.minimum(value, value[other]),
        high=np.maximum(value, value[other]),
        unit="V",
        method="threshold voltage backward less forward, each by the tangent",
        refusals={**common, "no threshold": ~single & ~(good & good[other])},
        volts=True,
    )
    return columns


def turn_of(value: float, std: float | None, kind: str) -> str:
    """Which way the loop is run, for a type, in the size of the current against the gate voltage.

    Parameters
    ----------
    value : float [V]
        Backward less forward, device signs.
    std : float [V] or None
    kind : "n" or "p"
    """
    if std is not None and abs(value) < 2.0 * std:
        return "the direction is not told from the noise"
    less = (value > 0) == (kind == "n")
    way = "clockwise" if value > 0 else "anticlockwise"
    return f"{way}: {'less' if less else 'more'} current on the way back, {kind}-type"
