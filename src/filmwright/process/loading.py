"""Loading: an etch that many square centimetres share goes slower than on a chip, and faster again when they clear."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from filmwright.process.ranges import not_negative

Shares = Sequence[tuple[float, float]]
"""Open share of the film that loads the etch, from each unloaded time [s] on; the first begins at 0."""


def loading_factor(coefficient: float, open_share: float) -> float:
    """Rate with a share of the wafer open to the etch over that on a small chip: 1/(1 + k·A).

    Parameters
    ----------
    coefficient : float [1], 0 or more
        k, for a wafer of which all is open.
    open_share : float [1], 0 to 1
        A, the part of the wafer on which the film that uses up the reactant lies open.

    Returns
    -------
    factor : float
        Above 0, at most 1.

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: C. J. Mogab, J. Electrochem. Soc. 124, 1262 (1977), DOI 10.1149/1.2133542 (from memory): the etch competes with
    the loss of the reactant elsewhere, R = R₀/(1 + k·A).
    """
    not_negative(coefficient=coefficient, open_share=open_share)
    if open_share > 1:
        raise ValueError(f"open share must be at most 1, got {open_share:g}")
    return 1 / (1 + coefficient * open_share)


def loaded_time(unloaded: float, shares: Shares, coefficient: float) -> float:
    """How long an etch really takes to do what it would do unloaded in a time: ∫ (1 + k·A) dτ.

    Parameters
    ----------
    unloaded : float [s], 0 or more
        τ, time at the rates of a small chip.
    shares : sequence of (float [s], float)
        From which τ on which share of the wafer is open, in order; what clears early ends early.
    coefficient : float [1], 0 or more

    Returns
    -------
    time : float [s]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: :func:`loading_factor`, integrated; exact, for the share is constant between the moments at which something clears.
    """
    not_negative(unloaded=unloaded, coefficient=coefficient)
    return sum(
        max(min(end, unloaded) - begin, 0.0) / loading_factor(coefficient, share)
        for (begin, share), (end, _) in pairwise([*shares, (math.inf, 0.0)])
    )


def unloaded_time(time: float, shares: Shares, coefficient: float) -> float:
    """The time at the rates of a small chip that does what an etch does in a real time: :func:`loaded_time`, inverted.

    Parameters
    ----------
    time : float [s], 0 or more
    shares : sequence of (float [s], float)
        As for :func:`loaded_time`.
    coefficient : float [1], 0 or more

    Returns
    -------
    unloaded : float [s]

    Raises
    ------
    ValueError
        When one is out of its range.

    Notes
    -----
    Source: :func:`loaded_time`.
    """
    not_negative(time=time, coefficient=coefficient)
    left, done = time, 0.0
    for (begin, share), (end, _) in pairwise([*shares, (math.inf, 0.0)]):
        factor = loading_factor(coefficient, share)
        if left * factor <= end - begin:
            return done + left * factor
        left -= (end - begin) / factor
        done += end - begin
    return done
