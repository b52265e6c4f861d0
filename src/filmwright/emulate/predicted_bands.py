"""How far predicted numbers are to be trusted: every value on file moved by its spread, one after the other."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from filmwright.device import FilmTransistor
from filmwright.emulate.predict import Prediction, assembled
from filmwright.sources import Value

NORMAL_95 = 1.96
_LEAST = 0.05
"""Part of a value above zero below which a step from it does not go; far in the tail of its spread."""

_WIDE = 2.0
"""High over low bound from which the two are taken for factors about the value."""

Outcomes = Callable[[Sequence[FilmTransistor]], Sequence[Mapping[str, float]]]


@dataclass(frozen=True, kw_only=True)
class PredictedBand:
    """A predicted number with its 95 % band.

    Attributes
    ----------
    value, low, high : float [SI]
    shares : tuple of (str, float)
        What the band comes from and its part of the variance, the largest first.
    """

    value: float
    low: float
    high: float
    shares: tuple[tuple[str, float], ...]


def bands(
    prediction: Prediction,
    outcomes: Outcomes,
    factors: frozenset[str] = frozenset(),
    thicknesses: Mapping[str, float] | None = None,
) -> dict[str, PredictedBand]:
    """The 95 % bands of numbers that follow from a prediction; none where it does not rest on the states of its film.

    Every value is moved by one standard deviation up and down and the halves of the differences are added in squares: first order,
    values that do not hang together.

    Parameters
    ----------
    prediction : Prediction
    outcomes : callable
        From transistors, all at once, to numbers by name [SI]; what a moved one does not give counts as not moved.
    factors : frozenset of str
        Numbers above zero whose band is a factor about the value.
    thicknesses : mapping from name of a number to float or None
        Relative standard deviations of sizes as made.
    """
    if prediction.transistor is None:
        return {}
    moves = _moves(prediction, thicknesses or {})
    moved = [
        assembled(prediction, {**prediction.numbers, what: value})
        for what, ends in moves.items()
        for value in ends
    ]
    base, *ends = outcomes([prediction.transistor, *moved])
    parts: dict[str, dict[str, float]] = {name: {} for name in base}
    for what, up, down in zip(moves, ends[::2], ends[1::2], strict=True):
        for name, value in base.items():
            high, low = up.get(name, value), down.get(name, value)
            parts[name][what] = _difference(high, low, name in factors) / 2.0
    return {name: _band(value, parts[name], name in factors) for name, value in base.items()}


def drawn_alike(
    prediction: Prediction, count: int, thicknesses: Mapping[str, float] | None = None
) -> tuple[FilmTransistor, ...]:
    """Transistors whose values are drawn from their spreads, for what does not follow the values in a straight line.

    The draws fill the space of the values evenly and are the same every time; values that do not hang together.

    Parameters
    ----------
    prediction : Prediction
    count : int
        A power of two.
    thicknesses : mapping from name of a number to float or None
        Relative standard deviations of sizes as made.

    References
    ----------
    I. M. Sobol, USSR Comput. Math. Math. Phys. 7, 86 (1967), doi:10.1016/0041-5553(67)90144-9 (from memory).
    """
    from scipy.special import ndtri
    from scipy.stats.qmc import Sobol

    moves = _moves(prediction, thicknesses or {})
    if prediction.transistor is None or not moves:
        return ()
    places = ndtri(Sobol(len(moves), seed=1).random(count))
    return tuple(
        assembled(
            prediction,
            {
                **prediction.numbers,
                **{
                    what: _moved(prediction.numbers[what], ends, float(z))
                    for (what, ends), z in zip(moves.items(), row, strict=True)
                },
            },
        )
        for row in places
    )


def _moved(value: float, ends: tuple[float, float], places: float) -> float:
    """A value that many standard deviations away, by the factor or the step of its ends; on its own side of zero."""
    up, down = ends
    if value > 0 and down > 0 and math.isclose(up * down, value * value, rel_tol=1e-6):
        return value * math.pow(up / value, places)
    moved = value + (up - value) * places
    return max(moved, _LEAST * value) if value > 0 and down >= 0 else moved


def _difference(up: float, down: float, factor: bool) -> float:
    return math.log(max(up, 1e-300) / max(down, 1e-300)) if factor else up - down


def _band(value: float, parts: Mapping[str, float], factor: bool) -> PredictedBand:
    variance = math.fsum(part**2 for part in parts.values())
    reach = NORMAL_95 * math.sqrt(variance)
    shares = sorted(
        ((what, part**2 / variance) for what, part in parts.items() if variance > 0), key=lambda e: -e[1]
    )
    ends = (value * math.exp(-reach), value * math.exp(reach)) if factor else (value - reach, value + reach)
    return PredictedBand(value=value, low=ends[0], high=ends[1], shares=tuple(shares))


def _moves(prediction: Prediction, thicknesses: Mapping[str, float]) -> dict[str, tuple[float, float]]:
    """What is moved, up and down by one standard deviation; by a factor where the bounds lie far apart."""
    found = {}
    for name, value in prediction.rests_on.items():
        if name in prediction.numbers and value.high > value.low:
            found[name] = _ends(value)
    for name, relative in thicknesses.items():
        if name in prediction.numbers and relative > 0:
            size = prediction.numbers[name]
            found[name] = (size * (1 + relative), size * (1 - relative))
    return found


def _ends(value: Value) -> tuple[float, float]:
    if value.low > 0 and value.high > _WIDE * value.low:
        factor = math.exp(math.log(value.high / value.low) / (2 * NORMAL_95))
        return value.value * factor, value.value / factor
    down = value.value - value.std
    return value.value + value.std, max(down, value.low) if value.low >= 0 else down
