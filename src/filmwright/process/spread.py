"""Non-uniformity over a wafer, each formula by its name, and sheet resistance."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from filmwright.process.ranges import positive


def range_over_twice_mean(values: Sequence[float]) -> float:
    """Non-uniformity as the project prints it: (max − min)/(2 × mean).

    Parameters
    ----------
    values : sequence of float, two or more, mean above 0

    Returns
    -------
    non_uniformity : float

    Raises
    ------
    ValueError
        When there are fewer than two values or their mean is not above zero.

    Notes
    -----
    Source: definition; see docs/conventions.md.
    """
    readings = _readings(values)
    return float(np.ptp(readings) / (2 * readings.mean()))


def range_over_sum(values: Sequence[float]) -> float:
    """Non-uniformity as (max − min)/(max + min).

    Parameters
    ----------
    values : sequence of float, two or more, mean above 0

    Returns
    -------
    non_uniformity : float

    Raises
    ------
    ValueError
        When there are fewer than two values or their mean is not above zero.

    Notes
    -----
    Source: definition.
    """
    readings = _readings(values)
    return float(np.ptp(readings) / (readings.max() + readings.min()))


def relative_deviation(values: Sequence[float]) -> float:
    """Non-uniformity as one standard deviation (n − 1) over the mean.

    Parameters
    ----------
    values : sequence of float, two or more, mean above 0

    Returns
    -------
    deviation : float

    Raises
    ------
    ValueError
        When there are fewer than two values or their mean is not above zero.

    Notes
    -----
    Source: definition.
    """
    readings = _readings(values)
    return float(readings.std(ddof=1) / readings.mean())


def _readings(values: Sequence[float]) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    readings = np.asarray(values, dtype=float).ravel()
    if readings.size < 2 or not np.isfinite(readings).all():
        raise ValueError(f"a non-uniformity needs two or more finite readings, got {list(values)}")
    positive(mean=float(readings.mean()))
    return readings


def sheet_resistance(resistivity: float, thickness: float) -> float:
    """Resistance of a square: R = ρ/t.

    Parameters
    ----------
    resistivity : float [Ω·m], above 0
    thickness : float [m], above 0

    Returns
    -------
    resistance : float [Ω per square]

    Raises
    ------
    ValueError
        When one is not above zero.

    Notes
    -----
    Source: definition. Films of real metals lie 2 to 6 times above what the bulk resistivity gives.
    """
    positive(resistivity=resistivity, thickness=thickness)
    return resistivity / thickness
