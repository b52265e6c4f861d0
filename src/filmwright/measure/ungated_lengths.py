"""Ungated gaps of different length between alike contacts: sheet and contact resistance, transfer length."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from filmwright import device
from filmwright.measure.length_lines import (
    Array,
    FittedLine,
    apparent,
    contact_parameter,
    fitted_line,
    interval_of,
    outliers,
)
from filmwright.measure.results import Parameter


@dataclass(frozen=True, kw_only=True)
class GapReading:
    """The resistance between two contacts.

    Attributes
    ----------
    name : str
    length, length_std : float [m]
        Of the gap, and its standard error.
    resistance, resistance_std : float [Ω]
        Its standard error from the meter alone; zero where it is not known.
    width : float [m]
    """

    name: str
    length: float
    resistance: float
    width: float
    length_std: float = 0.0
    resistance_std: float = 0.0

    def __post_init__(self) -> None:
        for name in ("length", "resistance", "width"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value > 0):
                raise ValueError(f"{name} must be finite and above zero, got {value:g}")
        if self.length_std < 0 or self.resistance_std < 0:
            raise ValueError("a standard error must be at least zero")


@dataclass(frozen=True, kw_only=True)
class UngatedLengths:
    """What a set of gaps tells.

    Attributes
    ----------
    parameters : mapping from name to Parameter
    outliers : mapping from name of the gap to evidence
    warnings : tuple of str
    names : tuple of str
    length, normalised, normalised_std : array (n,) [m], [Ω·m]
        The points; R·W with the stated error and the scatter found.
    line : FittedLine
        ``line.band(lengths)`` for a picture.
    shares : mapping from length [m] to share
        Of the contacts in the whole resistance.
    """

    parameters: Mapping[str, Parameter]
    outliers: Mapping[str, str]
    warnings: tuple[str, ...]
    names: tuple[str, ...]
    length: Array
    normalised: Array
    normalised_std: Array
    line: FittedLine
    shares: Mapping[float, float] = field(default_factory=dict)


def ungated_lengths(
    readings: Sequence[GapReading],
    contact_length: float = math.inf,
    end_resistance: tuple[float, float] | None = None,
) -> UngatedLengths:
    """Sheet resistance, contact resistance, transfer length and specific contact resistance of a set of gaps.

    Equation: R·W = 2·R_c·W + R_sh·d; L_T·coth(L_c/L_T) = R_c·W/R_sh; ρ_c = R_sh·L_T²

    Parameters
    ----------
    readings : sequence of GapReading
        Two lengths at least; below four what follows is called apparent.
    contact_length : float [m]
        L_c; infinity for contacts much longer than the transfer length.
    end_resistance : tuple of float [Ω] or None
        Of a contact, with its standard error: then the sheet below the contacts may differ.

    Returns
    -------
    UngatedLengths

    Raises
    ------
    ValueError
        With fewer than two different lengths.

    References
    ----------
    H. H. Berger, Solid-State Electron. 15, 145 (1972), doi:10.1016/0038-1101(72)90048-2 (from memory); D. York et al.,
    Am. J. Phys. 72, 367 (2004), doi:10.1119/1.1632486 (from memory).
    """
    length, width, length_std = (
        np.array([getattr(each, name) for each in readings]) for name in ("length", "width", "length_std")
    )
    normalised = np.array([each.resistance for each in readings]) * width
    normalised_std = np.array([each.resistance_std for each in readings]) * width
    if len(np.unique(length)) < 2:
        raise ValueError("a set needs gaps of two different lengths at least")
    line = fitted_line(length, normalised, length_std, normalised_std)
    names = tuple(each.name for each in readings)
    parameters = _of_line(line)
    parameters |= _of_contact(line, contact_length)
    if end_resistance is not None and math.isfinite(contact_length):
        parameters |= _of_end(line, contact_length, end_resistance, float(np.median(width)))
    few = apparent(length)
    warnings = ((few,) if few else ()) + (
        () if line.freedom > 0 else ("two gaps: no interval, an error cannot be told from scatter",)
    )
    return UngatedLengths(
        parameters=parameters,
        outliers=outliers(names, length, normalised, length_std, normalised_std),
        warnings=warnings,
        names=names,
        length=length,
        normalised=normalised,
        normalised_std=np.hypot(normalised_std, line.scatter * normalised),
        line=line,
        shares={
            float(d): float(line.intercept / (line.intercept + line.slope * d)) for d in np.unique(length)
        },
    )


def _of_line(line: FittedLine) -> dict[str, Parameter]:
    slope_std = math.sqrt(line.covariance[1, 1])
    intercept_std = math.sqrt(line.covariance[0, 0])
    ends = interval_of(line, lambda a, b: b)
    sound = ends[0] > 0
    sheet = Parameter(
        value=line.slope if sound else None,
        std=slope_std if sound and line.freedom > 0 else None,
        unit="ohm",
        method="slope of R·W against the gap, errors of both",
        window=None,
        valid=sound,
        why_not="" if sound else "the resistance does not rise with the gap beyond its errors",
        interval=ends,
    )
    ends = interval_of(line, lambda a, b: a / 2)
    contact = contact_parameter(
        line.intercept / 2,
        intercept_std / 2,
        ends,
        line.freedom,
        "ohm*cm",
        "half of R·W at no gap, one contact, times W",
    )
    return {"sheet_resistance": sheet, "contact_resistance": contact}


def _of_contact(line: FittedLine, contact_length: float) -> dict[str, Parameter]:
    """Transfer length and specific contact resistance, the sheet below the contact as beside it."""

    def reach(a: Array, b: Array) -> Array:
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = np.maximum(a / (2 * b), 0.0)
        good = np.isfinite(ratio) & (ratio > 0) & (b > 0)
        found = np.where(np.isposinf(a), np.inf, np.where(good, 0.0, np.where(b > 0, 0.0, np.nan)))
        if np.any(good):
            found[good] = device.transfer_length_of_front(ratio[good], contact_length)
        return found

    def specific(a: Array, b: Array) -> Array:
        return np.asarray(b * reach(a, b) ** 2)

    how = "contacts much longer than L_T" if math.isinf(contact_length) else "coth of the contact's length"
    found = {}
    for name, function, unit, method in (
        (
            "transfer_length",
            reach,
            "um",
            f"L_T·coth(L_c/L_T) = R_c·W/R_sh; {how}; the same sheet below the contact",
        ),
        (
            "specific_contact_resistance",
            specific,
            "ohm*cm^2",
            f"R_sh·L_T²; {how}; the same sheet below the contact",
        ),
    ):
        ends = interval_of(line, function)
        a, b = np.array([line.intercept]), np.array([line.slope])
        value = float(function(a, b)[0])
        told = ends[0] > 0 and line.slope > 0
        bounded = not told and math.isfinite(ends[1]) and ends[1] > 0 and line.slope > 0
        negative = not told and ends[1] <= 0
        std = _propagated(function, line)
        found[name] = Parameter(
            value=value if told else (ends[1] if bounded else None),
            std=std if told and line.freedom > 0 else None,
            unit=unit,
            method=method,
            window=None,
            valid=told,
            why_not=""
            if told
            else "the line falls below zero at no length: it gives no bound"
            if negative
            else "the contact resistance is not distinguishable from zero",
            bound="at most" if bounded else "",
            interval=None if negative else ends,
        )
    return found


def _propagated(function: object, line: FittedLine) -> float | None:
    """Standard deviation to first order."""
    best = np.array([line.intercept, line.slope])
    steps = 1e-4 * np.sqrt(np.diag(line.covariance))
    if np.any(best <= 0) or np.any(steps <= 0):
        return None
    slopes = []
    for at, step in enumerate(steps):
        beside = np.tile(best, (2, 1))
        beside[:, at] += (-step, step)
        values = function(beside[:, 0], beside[:, 1])  # type: ignore[operator]
        slopes.append((values[1] - values[0]) / (2 * step))
    gradient = np.array(slopes)
    return float(math.sqrt(gradient @ line.covariance @ gradient))


def _of_end(
    line: FittedLine, contact_length: float, end: tuple[float, float], width: float
) -> dict[str, Parameter]:
    """Transfer length, specific contact resistance and sheet below the contact from the end resistance."""
    front, front_std = line.intercept / 2 / width, math.sqrt(line.covariance[0, 0]) / 2 / width
    value, std = end
    method = "front and end resistance: R_c/R_e = cosh(L_c/L_T); the sheet below the contact may differ"
    rows = (
        ("transfer_length_from_end", "um"),
        ("specific_contact_resistance_from_end", "ohm*cm^2"),
        ("sheet_resistance_below_contact", "ohm"),
    )
    if not 0 < value < front:
        why = f"the end resistance {value:.3g} Ω is not between zero and that of the front, {front:.3g} Ω"
        return {
            name: Parameter(
                value=None, std=None, unit=unit, method=method, window=None, valid=False, why_not=why
            )
            for name, unit in rows
        }

    def all_three(one: float, other: float) -> Array:
        reach = float(device.transfer_length_of_end(one, other, contact_length))
        rho = float(device.specific_contact_resistance_of_end(one, other, contact_length, width))
        return np.array([reach, rho, rho / reach**2])

    middle = all_three(front, value)
    h = 1e-5
    by_front = (all_three(front * (1 + h), value) - middle) / (front * h)
    by_end = (all_three(front, value * (1 - h)) - middle) / (-value * h)
    spread = np.hypot(by_front * front_std, by_end * std)
    return {
        name: Parameter(
            value=float(middle[at]),
            std=float(spread[at]) if line.freedom > 0 else None,
            unit=unit,
            method=method,
            window=None,
            valid=True,
        )
        for at, (name, unit) in enumerate(rows)
    }
