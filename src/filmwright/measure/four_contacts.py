"""Readings of four contacts to a sheet resistance: van der Pauw's samples and lines of four pins, with checks and errors."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from filmwright import device
from filmwright.measure.curves import Array
from filmwright.measure.results import Parameter

_BEYOND = 3.0
"""Standard errors by which two readings that should agree may differ."""
_UNKNOWN_SHARE = 0.01
"""Difference of readings that should agree which is told where their errors are not known."""


@dataclass(frozen=True, kw_only=True)
class FourReading:
    """A voltage over a current.

    Attributes
    ----------
    current, voltage : tuple of int
        Contacts (from 1) at which the current enters and leaves, and between which the voltage is read.
    resistance, std : float [Ω]
        Of either sign; the error zero where it is not known.
    """

    current: tuple[int, int]
    voltage: tuple[int, int]
    resistance: float
    std: float = 0.0

    def __post_init__(self) -> None:
        if sorted((*self.current, *self.voltage)) != [1, 2, 3, 4]:
            raise ValueError(
                f"a reading must use the contacts 1 to 4 once each, got {self.current} and {self.voltage}"
            )
        if not math.isfinite(self.resistance) or not self.std >= 0:
            raise ValueError("a reading must be finite and its error at least zero")


@dataclass(frozen=True, kw_only=True)
class SheetReading:
    """What four contacts tell.

    Attributes
    ----------
    parameters : mapping from name to Parameter
    checks : tuple of str
        Reversal and reciprocity, in words.
    warnings : tuple of str
    """

    parameters: Mapping[str, Parameter]
    checks: tuple[str, ...]
    warnings: tuple[str, ...]


def van_der_pauw(readings: Sequence[FourReading], contact_shift: float = 0.0) -> SheetReading:
    """Sheet resistance of a sample with four contacts round its edge, from two to eight readings.

    Equation: exp(−π·R₁/R_s) + exp(−π·R₂/R_s) = 1, R₁ and R₂ the means over reversal and exchange of current and voltage

    Parameters
    ----------
    readings : sequence of FourReading
        Contacts numbered in order round the edge; current through neighbours.
    contact_shift : float
        By how much the contacts' size lowers the result, e.g. four times ``device.contact_size_shift``; taken off, and half
        of it added to the error.

    Returns
    -------
    SheetReading

    Raises
    ------
    ValueError
        When a pair of sides is missing, or current was led through opposite contacts.

    References
    ----------
    L. J. van der Pauw, Philips Res. Rep. 13, 1 (1958) (from memory); ASTM F76 (from memory).
    """
    sides: dict[str, list[tuple[str, float, float]]] = {"12": [], "23": []}
    for each in readings:
        side = _side(each)
        size = abs(each.resistance)
        sides[side].append((f"I {each.current[0]}→{each.current[1]}", size, each.std))
    missing = [name for name, found in sides.items() if not found]
    if missing:
        raise ValueError(
            "readings of both pairs of sides are needed: current 1–2 with voltage 3–4 (or exchanged), and current 2–3 with "
            "voltage 4–1"
        )
    checks, warnings = _agreement(readings)
    (first, first_std), (second, second_std) = (_mean(sides[name]) for name in ("12", "23"))
    if first <= 0 or second <= 0:
        raise ValueError("a mean reading is zero: the sample is open or shorted")
    sheet = device.van_der_pauw_sheet_resistance(first, second)
    # exp(−π·R₁/R_s) + exp(−π·R₂/R_s) = 1, differentiated.
    one, two = (math.exp(-math.pi * each / sheet) for each in (first, second))
    bottom = first * one + second * two
    std = math.hypot(sheet * one / bottom * first_std, sheet * two / bottom * second_std)
    value = sheet / (1 - contact_shift)
    std = math.hypot(std / (1 - contact_shift), value * contact_shift / 2)
    ratio = max(first, second) / min(first, second)
    known = std > 0
    parameters = {
        "sheet_resistance": Parameter(
            value=value,
            std=std if known else None,
            unit="ohm",
            method=f"van der Pauw, exact; {len(readings)} readings"
            + (f"; contacts of finite size: {100 * contact_shift:.2g} % taken off" if contact_shift else ""),
            window=None,
            valid=True,
        ),
        "ratio_of_sides": Parameter(
            value=ratio,
            std=None,
            unit="",
            method=f"larger over smaller mean; f = {device.van_der_pauw_factor(ratio):.5f}",
            window=None,
            valid=True,
        ),
    }
    if ratio > 10:
        warnings.append(
            f"the sides differ {ratio:.3g} times: errors of the smaller reading weigh little, but look at the contacts"
        )
    if not known:
        warnings.append("the readings have no errors and were not repeated: none is given")
    return SheetReading(parameters=parameters, checks=tuple(checks), warnings=tuple(warnings))


def _side(each: FourReading) -> str:
    pair = {tuple(sorted(each.current)), tuple(sorted(each.voltage))}
    if pair == {(1, 2), (3, 4)}:
        return "12"
    if pair == {(2, 3), (1, 4)}:
        return "23"
    raise ValueError(
        f"current must go through neighbours round the edge, got {each.current[0]} and {each.current[1]}"
    )


def _mean(found: Sequence[tuple[str, float, float]]) -> tuple[float, float]:
    """Mean, and the larger of its stated error and what the readings' scatter says."""
    values = np.array([value for _, value, _ in found])
    stated = math.sqrt(sum(std**2 for _, _, std in found)) / len(found)
    seen = float(values.std(ddof=1)) / math.sqrt(len(values)) if len(values) > 1 else 0.0
    return float(values.mean()), max(stated, seen)


def _agreement(readings: Sequence[FourReading]) -> tuple[list[str], list[str]]:
    """Reversal of the current, and exchange of current and voltage: both leave the reading as it is."""
    checks, warnings = [], []
    kinds = (("reversal", _reversed), ("reciprocity", _exchanged))
    for name, related in kinds:
        pairs = [(a, b) for k, a in enumerate(readings) for b in readings[:k] if related(a, b)]
        if not pairs:
            checks.append(f"{name}: not measured")
            continue
        worst = max(pairs, key=lambda pair: _apart(*pair)[0])
        share, beyond = _apart(*worst)
        checks.append(f"{name}: at most {100 * share:.2g} % apart")
        if beyond:
            more = (
                "the contacts rectify or heat"
                if name == "reversal"
                else "the sample or the contacts are not linear, or leak"
            )
            a = worst[0]
            warnings.append(
                f"{name} fails at current {a.current[0]}–{a.current[1]}: {100 * share:.2g} % apart; {more}"
            )
    return checks, warnings


def _reversed(a: FourReading, b: FourReading) -> bool:
    return a.current == b.current[::-1] and set(a.voltage) == set(b.voltage)


def _exchanged(a: FourReading, b: FourReading) -> bool:
    return set(a.current) == set(b.voltage) and set(a.voltage) == set(b.current)


def _apart(a: FourReading, b: FourReading) -> tuple[float, bool]:
    one, two = abs(a.resistance), abs(b.resistance)
    share = abs(one - two) / max((one + two) / 2, np.finfo(float).tiny)
    spread = math.hypot(a.std, b.std)
    return share, (abs(one - two) > _BEYOND * spread) if spread > 0 else share > _UNKNOWN_SHARE


@dataclass(frozen=True, kw_only=True)
class PinLine:
    """Four pins in a line on a sheet.

    Attributes
    ----------
    spacing, spacing_std : float [m]
        Between neighbours; the standard error of each pin's place along the line.
    outline : device.SheetOutline
    place : tuple of float [m]
        Middle of the line in the frame of the outline.
    turned : float [rad]
        From the x axis of the outline.
    thickness : float [m] or None
        Of the conductor, where it is not thin beside the spacing; the resistivity needs it too.
    """

    spacing: float
    spacing_std: float = 0.0
    outline: device.SheetOutline = field(default_factory=device.SheetOutline)
    place: tuple[float, float] = (0.0, 0.0)
    turned: float = 0.0
    thickness: float | None = None

    def __post_init__(self) -> None:
        if not (math.isfinite(self.spacing) and self.spacing > 0):
            raise ValueError(f"spacing must be finite and above zero, got {self.spacing:g}")

    def pins(self, moved: Array | None = None) -> Array:
        """Places (4, 2) [m]; ``moved`` (4,) [m] along the line."""
        along = (np.arange(4) - 1.5) * self.spacing + (0.0 if moved is None else moved)
        way = np.array([math.cos(self.turned), math.sin(self.turned)])
        return np.asarray(np.array(self.place) + along[:, None] * way)


def four_point(readings: Sequence[FourReading], line: PinLine) -> SheetReading:
    """Sheet resistance from four pins in a line: with the factor of edges and thickness, and by two configurations.

    Equation: R_s = F·k·V/I, F and k the sums over images at edges and faces; exp(−2π·R_a/R_s) + exp(−2π·(R_a − R_b)/R_s) = 1

    Parameters
    ----------
    readings : sequence of FourReading
        Pins numbered along the line: current 1–4, voltage 2–3; and, where measured, current 1–3, voltage 2–4.
    line : PinLine

    Returns
    -------
    SheetReading

    Raises
    ------
    ValueError
        Without a reading of current 1–4, voltage 2–3, or with pins off the sheet.

    References
    ----------
    F. M. Smits, Bell Syst. Tech. J. 37, 711 (1958); A. Uhlir, Bell Syst. Tech. J. 34, 105 (1955); R. Rymaszewski, J. Phys.
    E 2, 170 (1969), doi:10.1088/0022-3735/2/2/312 (all from memory).
    """
    outer = [("", abs(each.resistance), each.std) for each in readings if _uses(each, (1, 4))]
    crossed = [("", abs(each.resistance), each.std) for each in readings if _uses(each, (1, 3))]
    if not outer:
        raise ValueError("a reading of current 1–4 with voltage 2–3 is needed")
    checks, warnings = _agreement(readings)
    value, std = _mean(outer)
    factor = device.probe_factor(line.pins(), line.outline)
    thick = device.thickness_factor(line.pins(), line.thickness) if line.thickness else 1.0
    of_pins = _share_of_pins(line)
    sheet = factor * thick * value
    spread = sheet * math.hypot(std / value if value else 0.0, of_pins)
    parameters = {
        "sheet_resistance": Parameter(
            value=sheet,
            std=spread or None,
            unit="ohm",
            method=f"F·V/I, F = {factor:.5g} (edges) × {thick:.5g} (thickness), both by sums over images",
            window=None,
            valid=True,
        )
    }
    if line.thickness:
        parameters["resistivity"] = Parameter(
            value=sheet * line.thickness,
            std=spread * line.thickness or None,
            unit="ohm*cm",
            method="sheet resistance times thickness, which is taken as exact",
            window=None,
            valid=True,
        )
        if line.outline.kind != "boundless" and line.thickness > 0.4 * line.spacing:
            warnings.append(
                "thick and near an edge: the two factors are multiplied, which is good where one of them is near 1"
            )
    if crossed:
        parameters["sheet_resistance_dual"] = _dual(line, _mean(outer), _mean(crossed), thick)
        both = parameters["sheet_resistance_dual"]
        if both.value is not None and abs(both.value / sheet - 1) > 0.02:
            warnings.append(
                f"one and two configurations differ by {100 * (both.value / sheet - 1):+.2g} %: spacings, an edge or the film's evenness"
            )
    if of_pins == 0:
        warnings.append("no error of the pins' places is stated: only the readings' own errors count")
    return SheetReading(parameters=parameters, checks=tuple(checks), warnings=tuple(warnings))


def _uses(each: FourReading, current: tuple[int, int]) -> bool:
    other = tuple(k for k in (1, 2, 3, 4) if k not in current)
    return {tuple(sorted(each.current)), tuple(sorted(each.voltage))} == {current, other}


def _share_of_pins(line: PinLine) -> float:
    """Relative error of the factor from the places of the pins."""
    if line.spacing_std <= 0:
        return 0.0
    step = 1e-4 * line.spacing
    middle = device.probe_factor(line.pins(), line.outline)
    slopes = [
        (device.probe_factor(line.pins(step * np.eye(4)[k]), line.outline) / middle - 1) / step
        for k in range(4)
    ]
    return line.spacing_std * math.hypot(*slopes)


def _dual(line: PinLine, outer: tuple[float, float], crossed: tuple[float, float], thick: float) -> Parameter:
    method = "two configurations, exact far from edges, whatever the spacings of the pins"
    if not 0 < crossed[0] < outer[0]:
        why = f"the reading with current 1–3 ({crossed[0]:.4g} Ω) must be below that with 1–4 ({outer[0]:.4g} Ω)"
        return Parameter(
            value=None, std=None, unit="ohm", method=method, window=None, valid=False, why_not=why
        )
    value = device.dual_configuration_sheet_resistance(outer[0], crossed[0])
    h = 1e-6
    by_outer = (device.dual_configuration_sheet_resistance(outer[0] * (1 + h), crossed[0]) - value) / (
        outer[0] * h
    )
    by_crossed = (device.dual_configuration_sheet_resistance(outer[0], crossed[0] * (1 + h)) - value) / (
        crossed[0] * h
    )
    std = math.hypot(by_outer * outer[1], by_crossed * crossed[1])
    pins = line.pins()
    seen = device.dual_configuration_sheet_resistance(
        1 / device.probe_factor(pins, line.outline),
        1 / device.probe_factor(pins, line.outline, (0, 2), (1, 3)),
    )
    if abs(seen - 1) > 1e-3:
        method += f"; divided by {seen:.5g}, what the edges do to it with even spacings"
    return Parameter(
        value=value / seen * thick,
        std=std / seen * thick or None,
        unit="ohm",
        method=method,
        window=None,
        valid=True,
    )
