"""The valid range of an argument, checked when a law is called."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def numbers(values: ArrayLike) -> Array:
    """The values as an array of floats (scalars become arrays without axes)."""
    return np.asarray(values, dtype=float)


def above_zero(**values: ArrayLike) -> None:
    """Raise if a named value is not finite and above zero anywhere.

    Raises
    ------
    ValueError
        With the name, what it must be and the value that broke it.
    """
    for name, value in values.items():
        _demand(name, value, numbers(value) > 0, "above zero")


def not_negative(**values: ArrayLike) -> None:
    """Raise if a named value is not finite and at least zero anywhere.

    Raises
    ------
    ValueError
        With the name, what it must be and the value that broke it.
    """
    for name, value in values.items():
        _demand(name, value, numbers(value) >= 0, "zero or above")


def at_least_one(**values: ArrayLike) -> None:
    """Raise if a named value is not finite and at least one anywhere.

    Raises
    ------
    ValueError
        With the name, what it must be and the value that broke it.
    """
    for name, value in values.items():
        _demand(name, value, numbers(value) >= 1, "one or above")


def _demand(name: str, value: ArrayLike, fits: Any, expected: str) -> None:
    array = numbers(value)
    good = fits & np.isfinite(array)
    if not np.all(good):
        got = np.atleast_1d(array)[~np.atleast_1d(good)][0]
        raise ValueError(f"{name} must be finite and {expected}, got {got:g}")
