"""Measured devices as figures that a page draws itself: where each mark stands, what it says, and which device it is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from filmwright.desk.bench.measured_devices import Drawn, MeasuredDevice
    from filmwright.desk.bench.measured_told import Told

Kind = Literal["above", "below", "unknown", "fault", "out"]
"""Of a mark: above or below the median, no number, does not work, left out."""

SIDE = 300.0
"""Of a map, in the units of its drawing; the other side follows the die."""
_EDGE, _SMALL, _LARGE = 14.0, 3.0, 9.0
WIDTH, HEIGHT = 440.0, 300.0
"""Of a drawn curve."""
_LEFT, _RIGHT, _TOP, _BOTTOM = 58.0, 12.0, 12.0, 40.0
_ROW, _NAMES = 40.0, 118.0
"""Of a strip: how high a wafer's row is, and how wide its name may be."""
_DECADES = 12


@dataclass(frozen=True, kw_only=True)
class Mark:
    """One device in a figure."""

    x: float
    y: float
    size: float
    kind: Kind
    device: MeasuredDevice
    said: str


@dataclass(frozen=True, kw_only=True)
class WaferMap:
    """The devices of one wafer at their places in the die."""

    wafer: str
    split: str
    width: float
    height: float
    marks: tuple[Mark, ...]
    said: str


@dataclass(frozen=True, kw_only=True)
class Row:
    """The devices of one wafer along an axis."""

    wafer: str
    split: str
    y: float
    middle: float | None
    marks: tuple[Mark, ...]


@dataclass(frozen=True, kw_only=True)
class Tick:
    """A number on an axis."""

    at: float
    text: str


@dataclass(frozen=True, kw_only=True)
class Strip:
    """All wafers below one another along one axis."""

    rows: tuple[Row, ...]
    ticks: tuple[Tick, ...]
    height: float
    unit: str


@dataclass(frozen=True, kw_only=True)
class Line:
    """One drawn curve: its points as an SVG reads them."""

    points: str
    backward: bool
    expected: bool
    group: int


@dataclass(frozen=True, kw_only=True)
class CurveView:
    """The transfer curves of one device on a logarithmic axis."""

    lines: tuple[Line, ...]
    across: tuple[Tick, ...]
    up: tuple[Tick, ...]
    drains: tuple[str, ...]
    said: str


def parameters_of(told: Told) -> tuple[str, ...]:
    """The parameters of which working devices have numbers, in the order in which they are usually asked for."""
    known = {name for each in told.devices if each.counts for name in each.numbers}
    usual = (
        "threshold_voltage",
        "field_effect_mobility",
        "saturation_mobility",
        "subthreshold_swing",
        "on_off_ratio",
    )
    return (*(name for name in usual if name in known), *sorted(known - set(usual)))


def words(parameter: str) -> str:
    """A parameter as it is written on a page."""
    return parameter.replace("_", " ")


def maps_of(told: Told, parameter: str, wafer: str = "") -> tuple[WaferMap, ...]:
    """A map of each wafer, all on one scale; of one wafer where it is named.

    Parameters
    ----------
    told : Told
    parameter : str
    wafer : str
    """
    half_x, half_y = told.half
    if not half_x or not half_y:
        return ()
    scale = (SIDE - 2 * _EDGE) / (2 * half_x)
    height = 2 * half_y * scale + 2 * _EDGE
    middle, reach = _scale(told.devices, parameter)
    found = []
    for name in dict.fromkeys(each.wafer for each in told.devices):
        own = [each for each in told.devices if each.wafer == name]
        marks = tuple(
            Mark(
                x=SIDE / 2 + each.x_mm * scale,
                y=height / 2 - each.y_mm * scale,
                size=_size(each, parameter, middle, reach),
                kind=_kind(each, parameter, middle),
                device=each,
                said=said_of(each, parameter),
            )
            for each in own
            if each.x_mm is not None and each.y_mm is not None
        )
        if marks and name == (wafer or name):
            found.append(
                WaferMap(
                    wafer=name,
                    split=own[0].split,
                    width=SIDE,
                    height=height,
                    marks=marks,
                    said=_sentence(name, own, parameter),
                )
            )
    return tuple(found)


def said_of(device: MeasuredDevice, parameter: str) -> str:
    """What a mark says of its device."""
    if device.cause != "works":
        return f"{device.name}: {device.cause}"
    number = device.numbers.get(parameter)
    told = number.shown if number is not None else f"no {words(parameter)}"
    return f"{device.name}: {told}" + (" (left out)" if device.left_out else "")


def _sentence(wafer: str, own: Sequence[MeasuredDevice], parameter: str) -> str:
    numbers = [each.numbers[parameter] for each in own if each.counts and parameter in each.numbers]
    if not numbers:
        return f"{wafer}: no {words(parameter)} of a working device"
    values = [each.value for each in numbers]
    unit = numbers[0].unit
    low, high = _plain(min(values)), _plain(max(values))
    return f"{wafer}: {low} to {high} {unit} over {len(values)} of {len(own)} devices".replace("  ", " ")


def _level(device: MeasuredDevice, parameter: str) -> float | None:
    """The number as it is drawn."""
    found = device.numbers.get(parameter)
    return found.level if found is not None else None


def _scale(devices: Sequence[MeasuredDevice], parameter: str) -> tuple[float, float]:
    """Median of those that count, and the largest distance from it."""
    levels = [level for each in devices if each.counts and (level := _level(each, parameter)) is not None]
    middle = median(levels) if levels else 0.0
    return middle, max((abs(level - middle) for level in levels), default=0.0)


def _size(device: MeasuredDevice, parameter: str, middle: float, reach: float) -> float:
    level = _level(device, parameter)
    if level is None or device.cause != "works" or not reach:
        return (_SMALL + _LARGE) / 2
    # The area of a mark, not its radius, is what one sees.
    share = min(abs(level - middle) / reach, 1.0)
    return math.sqrt(_SMALL**2 + share * (_LARGE**2 - _SMALL**2))


def _kind(device: MeasuredDevice, parameter: str, middle: float) -> Kind:
    if device.left_out:
        return "out"
    if device.cause != "works":
        return "fault"
    level = _level(device, parameter)
    return "unknown" if level is None else "above" if level >= middle else "below"


def strip_of(told: Told, parameter: str) -> Strip | None:
    """All devices that count along one axis, wafer below wafer, splits together; None where fewer than two have a number."""
    levels = {
        each.name: level
        for each in told.devices
        if each.counts and (level := _level(each, parameter)) is not None
    }
    if len(levels) < 2:
        return None
    low, high = min(levels.values()), max(levels.values())
    room = (high - low) * 0.04 or abs(high) * 0.05 or 1.0
    low, high = low - room, high + room

    def across(level: float) -> float:
        return _NAMES + (WIDTH - _NAMES - _RIGHT) * (level - low) / (high - low)

    middle, _ = _scale(told.devices, parameter)
    wafers = sorted(
        {(each.split, each.wafer) for each in told.devices if each.name in levels}, key=lambda each: each
    )
    rows = []
    for k, (split, wafer) in enumerate(wafers):
        own = [each for each in told.devices if each.wafer == wafer and each.name in levels]
        y = _ROW * (k + 0.7)
        marks = tuple(
            Mark(
                x=across(levels[each.name]),
                y=y,
                size=5.0,
                kind=_kind(each, parameter, middle),
                device=each,
                said=said_of(each, parameter),
            )
            for each in own
        )
        typical = across(median(levels[each.name] for each in own))
        rows.append(Row(wafer=wafer, split=split, y=y, middle=typical, marks=marks))
    one = next(each.numbers[parameter] for each in told.devices if each.name in levels)
    return Strip(
        rows=tuple(rows),
        ticks=tuple(
            Tick(at=across(level), text=_plain(10**level if one.over_decades else level))
            for level in round_levels(low, high)
        ),
        height=_ROW * len(rows) + 34,
        unit=one.unit,
    )


def _plain(value: float) -> str:
    return f"{value:.3g}".replace("-", "−")


def round_levels(low: float, high: float, most: int = 5) -> tuple[float, ...]:
    """Round numbers in a range, at most so many.

    Parameters
    ----------
    low, high : float
    most : int
    """
    if not high > low:
        return ()
    raw = (high - low) / most
    step = 10 ** math.floor(math.log10(raw))
    step = next(step * factor for factor in (1, 2, 5, 10) if step * factor >= raw)
    first = math.ceil(low / step)
    return tuple(round(k * step, 12) for k in range(first, math.floor(high / step) + 1))


def curve_of(device: MeasuredDevice) -> CurveView | None:
    """The curves of a device, drawn on a logarithmic axis; None where there is none."""
    curves = [each for each in device.curves if len(each.gate) > 1]
    if not curves:
        return None
    voltages = [value for each in curves for value in each.gate]
    currents = [abs(value) for each in curves for value in (*each.current, *each.expected) if value]
    if not currents or max(voltages) <= min(voltages):
        return None
    top = math.ceil(math.log10(max(currents)))
    bottom = max(math.floor(math.log10(min(currents))), top - _DECADES)
    bottom = min(bottom, top - 1)
    left, right = min(voltages), max(voltages)

    def x(value: float) -> float:
        return _LEFT + (WIDTH - _LEFT - _RIGHT) * (value - left) / (right - left)

    def y(value: float) -> float:
        level = math.log10(max(abs(value), 10.0**bottom))
        return _TOP + (HEIGHT - _TOP - _BOTTOM) * (top - level) / (top - bottom)

    def points(gate: Sequence[float], current: Sequence[float]) -> str:
        return " ".join(f"{x(v):.1f},{y(i):.1f}" for v, i in zip(gate, current, strict=True))

    drains = tuple(dict.fromkeys(each.drain for each in curves))
    lines = []
    for each in curves:
        group, backward = drains.index(each.drain), each.direction == "backward"
        lines.append(
            Line(points=points(each.gate, each.current), backward=backward, expected=False, group=group)
        )
        if each.expected and not backward:
            lines.append(
                Line(points=points(each.gate, each.expected), backward=False, expected=True, group=group)
            )
    shown = [f"{value:g} V".replace("-", "−") if value is not None else "not told" for value in drains]
    return CurveView(
        lines=tuple(lines),
        across=tuple(
            Tick(at=x(value), text=f"{value:g}".replace("-", "−")) for value in round_levels(left, right)
        ),
        up=tuple(
            Tick(at=y(10.0**decade), text=_power(decade))
            for decade in range(bottom, top + 1)
            if (top - decade) % (1 if top - bottom < 6 else 2) == 0
        ),
        drains=tuple(shown),
        said=_curves_in_words(curves, shown),
    )


def _power(decade: int) -> str:
    return "10" + str(decade).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))


def _curves_in_words(curves: Sequence[Drawn], shown: Sequence[str]) -> str:
    on = max(max(map(abs, each.current)) for each in curves)
    off = min(min(map(abs, each.current)) for each in curves)
    return (
        f"Drain current over gate voltage at drain voltages of {', '.join(shown)}: "
        f"from {off:.1e} A to {on:.1e} A".replace("e-", "e−")
    )
