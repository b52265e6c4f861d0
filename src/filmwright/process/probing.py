"""Heat that films have seen, sheets under four probes, voltages that spare an insulator."""

from __future__ import annotations

import math
from collections.abc import Sequence

from filmwright.process.ranges import positive
from filmwright.units import BOLTZMANN


def equivalent_time(time: float, temperature: float, reference: float, energy: float) -> float:
    """Time at a reference temperature that does as much: t_L = t·exp(−E/k·(1/T − 1/T_L)).

    Parameters
    ----------
    time : float [s], above 0
    temperature, reference : float [K], above 0
    energy : float [J], above 0
        E, of the one activated process that stands for all.

    Returns
    -------
    time : float [s]

    Raises
    ------
    ValueError
        When one is not above zero.

    Notes
    -----
    Source: S. Arrhenius, Z. Phys. Chem. 4, 226 (1889) (from memory).
    """
    positive(time=time, temperature=temperature, reference=reference, energy=energy)
    return time * math.exp(-energy / BOLTZMANN * (1 / temperature - 1 / reference))


def four_point_factor(spacing: float, diameter: float) -> float:
    """Factor of a line of four probes in the middle of a round sheet: F = π/(ln 2 + ln((D² + 3s²)/(D² − 3s²))).

    Parameters
    ----------
    spacing : float [m], above 0
        s, between neighbouring probes.
    diameter : float [m], above 4 spacings
        D, of the sheet.

    Returns
    -------
    factor : float [1]
        R_sheet = F·V/I; π/ln 2 for a boundless sheet.

    Raises
    ------
    ValueError
        When one is not above zero, or the probes do not stand well within the sheet.

    Notes
    -----
    Source: F. M. Smits, Bell Syst. Tech. J. 37, 711-718 (1958) (from memory). Films thin against the spacing.
    """
    positive(spacing=spacing, diameter=diameter)
    if diameter <= 4 * spacing:
        raise ValueError(f"the sheet must be wider than 4 spacings, got {diameter / spacing:g}")
    ratio = 3 * (spacing / diameter) ** 2
    return math.pi / (math.log(2) + math.log((1 + ratio) / (1 - ratio)))


def strip_factor(spacing: float, width: float) -> float:
    """Factor of a line of four probes along the middle of a long strip: F = π/ln(2·cosh(π·s/w)).

    Parameters
    ----------
    spacing, width : float [m], above 0

    Returns
    -------
    factor : float [1]

    Raises
    ------
    ValueError
        When one is not above zero.

    Notes
    -----
    Source: F. M. Smits, Bell Syst. Tech. J. 37, 711-718 (1958) (from memory). Strip longer than four widths.
    """
    positive(spacing=spacing, width=width)
    return math.pi / math.log(2 * math.cosh(min(math.pi * spacing / width, 700.0)))


def sparing_voltage(share: float, thicknesses: Sequence[float], fields: Sequence[float]) -> float:
    """Voltage that spares an insulator: V = s·Σ E_b·d.

    Parameters
    ----------
    share : float [1], above 0
        s, of what breaks it down.
    thicknesses : sequence of float [m], above 0
        At the thinnest place.
    fields : sequence of float [V/m], above 0
        E_b of each film.

    Returns
    -------
    voltage : float [V]

    Raises
    ------
    ValueError
        When one is not above zero or the numbers of films differ.

    Notes
    -----
    Source: definition of the breakdown field (common practice); each film at its own share.
    """
    if not len(thicknesses) or len(thicknesses) != len(fields):
        raise ValueError("each film must have a thickness and a breakdown field")
    positive(share=share, **{f"thickness_{k}": d for k, d in enumerate(thicknesses)})
    positive(**{f"field_{k}": e for k, e in enumerate(fields)})
    return share * math.fsum(d * e for d, e in zip(thicknesses, fields, strict=True))


def sweep_points(first: float, last: float, count: int) -> tuple[float, ...]:
    """Evenly spaced set points, both ends included: Vₖ = V₀ + k·(V₁ − V₀)/(n − 1).

    Parameters
    ----------
    first, last : float [V]
    count : int [1]
        n, at least 2.

    Returns
    -------
    points : tuple of float [V]

    Raises
    ------
    ValueError
        When there are fewer than two.

    Notes
    -----
    Source: definition (common practice).
    """
    if count < 2:
        raise ValueError(f"a sweep must have at least 2 points, got {count}")
    return tuple(first + k * (last - first) / (count - 1) for k in range(count))
