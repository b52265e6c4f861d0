"""Where a law stops: nonsense is refused, and a value outside the tried range comes with a note."""

from __future__ import annotations

import math
from dataclasses import dataclass

from filmwright.units import show


@dataclass(frozen=True, kw_only=True)
class Noted:
    """A result with what must be said beside it.

    Attributes
    ----------
    value : float [SI]
    notes : tuple of str
        One sentence for each input outside the range in which the law was tried; empty inside it.
    """

    value: float
    notes: tuple[str, ...] = ()


def check_range(what: str, value: float, low: float, high: float, dimension: str) -> tuple[str, ...]:
    """One note when a value lies outside the range in which a law was tried, none inside.

    Parameters
    ----------
    what : str
        Name of the thing, e.g. ``spin speed``.
    value, low, high : float [SI]
    dimension : str
        A key of :data:`filmwright.units.DIMENSIONS`.
    """
    if low <= value <= high:
        return ()
    tried = f"{show(low, dimension)} to {show(high, dimension)}"
    return (f"{what} of {show(value, dimension)} lies outside the tried range of {tried}",)


def positive(**numbers: float) -> None:
    """Refuse a number that is not finite and above zero.

    Raises
    ------
    ValueError
        With the name and the number.
    """
    for name, number in numbers.items():
        if not (math.isfinite(number) and number > 0):
            raise ValueError(f"{name.replace('_', ' ')} must be above zero and finite, got {number:g}")


def finite(**numbers: float) -> None:
    """Refuse a number that is not finite; any sign is taken.

    Raises
    ------
    ValueError
        With the name and the number.
    """
    for name, number in numbers.items():
        if not math.isfinite(number):
            raise ValueError(f"{name.replace('_', ' ')} must be finite, got {number:g}")


def not_negative(**numbers: float) -> None:
    """Refuse a number that is not finite or below zero.

    Raises
    ------
    ValueError
        With the name and the number.
    """
    for name, number in numbers.items():
        if not (math.isfinite(number) and number >= 0):
            raise ValueError(f"{name.replace('_', ' ')} must be zero or more and finite, got {number:g}")
