"""How an index runs with the wavelength, and the index of a fine mixture; complex indices are n − i·k."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Real = NDArray[np.float64]
Complex = NDArray[np.complex128]
_ROUNDS = 60
_CLOSE = 1e-13


def cauchy(wavelength: Real, coefficients: Sequence[float]) -> Real:
    """Cauchy's series n = A + B/λ² + C/λ⁴ + …

    Parameters
    ----------
    wavelength : array (w,)
    coefficients : sequence
        A, B [wavelength²], C [wavelength⁴] …
    """
    return np.asarray(sum(each / wavelength ** (2 * power) for power, each in enumerate(coefficients)))


def sellmeier(wavelength: Real, terms: Sequence[tuple[float, float]], constant: float = 1.0) -> Real:
    """Sellmeier's formula n² = constant + Σ B·λ²/(λ² − C²); C in the unit of the wavelength."""
    squared = constant + sum(b * wavelength**2 / (wavelength**2 - c**2) for b, c in terms)
    return np.sqrt(squared)


def absorption_edge(wavelength: Real, at: float, extinction: float, tail: float) -> Real:
    """Exponential tail below a band gap (Urbach): k = k₀·exp(−(λ − λ₀)/w), held at k₀ below λ₀."""
    return extinction * np.exp(-np.maximum(wavelength - at, 0.0) / tail)


def absorption_band(wavelength: Real, at: float, extinction: float, width: float) -> Real:
    """A bell of absorption: k = k₀·exp(−((λ − λ₀)/w)²)."""
    return extinction * np.exp(-(((wavelength - at) / width) ** 2))


def bruggeman(indices: Sequence[Complex], fractions: Sequence[float]) -> Complex:
    """Index of a fine mixture in which no part encloses another: Σ f·(ε − ε̄)/(ε + 2ε̄) = 0.

    Parameters
    ----------
    indices : sequence of complex arrays (w,)
        n − i·k of the parts.
    fractions : sequence of float
        By volume; they add up to one.

    Raises
    ------
    ValueError
        When the fractions are no shares of one whole.

    References
    ----------
    D. A. G. Bruggeman, Ann. Phys. 416, 636 (1935) (from memory).
    """
    if any(not 0 <= f <= 1 for f in fractions) or abs(sum(fractions) - 1) > 1e-9:
        raise ValueError(
            f"the fractions of a mixture must lie within 0 and 1 and add up to 1, got {fractions}"
        )
    squares = [np.asarray(each, dtype=complex) ** 2 for each in indices]
    mean = np.asarray(sum(f * e for f, e in zip(fractions, squares, strict=True)))
    for _ in range(_ROUNDS):
        value = sum(f * (e - mean) / (e + 2 * mean) for f, e in zip(fractions, squares, strict=True))
        slope = sum(-3 * f * e / (e + 2 * mean) ** 2 for f, e in zip(fractions, squares, strict=True))
        step = value / slope
        mean = mean - step
        if np.all(np.abs(step) <= _CLOSE * np.abs(mean)):
            break
    root = np.sqrt(mean)
    return np.asarray(np.where(root.imag > 0, np.conj(root), root))
