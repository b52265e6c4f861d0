"""Figures of single devices: transfer, output, transconductance, mobility, straight-line methods, definitions compared."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from filmwright.measure import CurveResult, Parameter, Sweep
from filmwright.outputs.figures import Curve
from filmwright.outputs.plot import Arrow, Axis, FloatArray, Level, Panel, Plot, Series, Span, Tangent
from filmwright.outputs.plot_parts import (
    best_unit,
    direction_arrow,
    in_unit,
    positive,
    printed_unit,
    tangent_from,
)
from filmwright.units import plain, write

MOST_CURVES = 12
"""Curves in one figure; of more, so many are drawn, evenly chosen, and the figure says so."""

APART = 8.0
"""Ratio of the largest currents from which small and large drain voltages have linear panels of their own."""

_Z95 = 1.96
_SMALL = 1e-3
"""Numbers smaller than this, or larger than its inverse squared, are written with a power of ten."""
_SCALED = {"A": "current", "A/V": "transconductance"}
"""Units that are printed with the prefix that reads best."""
_FORWARD_DASHES, _BACKWARD_DASHES = (0, 4, 5, 6), (1, 3)
"""Of the drain voltages in turn; dotted is the gate current."""
_FORWARD, _BACKWARD = 0.35, 0.62
"""Heights at which the arrows of the two directions sit, so that they never lie on each other."""


@dataclass(frozen=True, kw_only=True)
class _Drawn:
    """A sweep with its result and its look."""

    sweep: Sweep
    result: CurveResult
    ink: int
    label: str
    backward: bool

    @property
    def bias(self) -> str:
        """Its drain and bulk voltage."""
        return self.label.rpartition(", ")[0]


def _drawn(sweeps: Sequence[Sweep], results: Sequence[CurveResult]) -> tuple[list[_Drawn], str]:
    """Which curves are drawn and how; and what is said when not all are."""
    pairs = list(zip(sweeps, results, strict=True))
    note = ""
    if len(pairs) > MOST_CURVES:
        chosen = np.unique(np.linspace(0, len(pairs) - 1, MOST_CURVES).round().astype(int))
        note = f"{len(chosen)} of {len(pairs)} curves are drawn"
        pairs = [pairs[at] for at in chosen]
    biases = list(dict.fromkeys((each.drain_voltage, each.bulk_voltage) for each, _ in pairs))
    bulks = {bulk for _, bulk in biases}
    found = []
    for sweep, result in pairs:
        words = [] if sweep.drain_voltage is None else [f"V_D {_volts(sweep.drain_voltage)}"]
        if len(bulks) > 1 and sweep.bulk_voltage is not None:
            words.append(f"V_B {_volts(sweep.bulk_voltage)}")
        words.append(result.direction)
        found.append(
            _Drawn(
                sweep=sweep,
                result=result,
                ink=biases.index((sweep.drain_voltage, sweep.bulk_voltage)),
                label=", ".join(words),
                backward=result.direction == "backward",
            )
        )
    return found, note


def _volts(value: float) -> str:
    return f"{value:.4g} V".replace("-", "−")


def _curve(each: _Drawn, y: FloatArray) -> Series:
    dashes = _BACKWARD_DASHES if each.backward else _FORWARD_DASHES
    return Series(
        x=each.sweep.gate_voltage,
        y=y,
        label=each.label,
        ink=each.ink % 7,
        dash=dashes[each.ink % len(dashes)],
        thin=each.backward,
    )


def _arrows(drawn: Sequence[_Drawn], values: Sequence[FloatArray], log: bool = False) -> tuple[Arrow, ...]:
    """Arrows where a device was swept in both directions."""
    if len({each.backward for each in drawn}) < 2:
        return ()
    found = [
        direction_arrow(
            each.sweep.gate_voltage,
            y,
            rising=each.sweep.rising,
            share=_BACKWARD if each.backward else _FORWARD,
            log=log,
            ink=each.ink,
            label=f"{each.label}: direction",
        )
        for each, y in zip(drawn, values, strict=True)
    ]
    return tuple(each for each in found if each is not None)


def _usable(parameter: Parameter | None) -> bool:
    return (
        parameter is not None
        and parameter.valid
        and parameter.value is not None
        and parameter.window is not None
    )


def _feet(
    drawn: Sequence[_Drawn], values: Sequence[FloatArray], name: str, words: str
) -> tuple[tuple[Tangent, ...], tuple[Span, ...]]:
    """Tangents and windows of one threshold, of the forward curves that have it, three at most."""
    tangents: list[Tangent] = []
    spans: list[Span] = []
    for each, y in zip(drawn, values, strict=True):
        parameter = each.result.parameters.get(name)
        if each.backward or not _usable(parameter) or len(tangents) == 3:
            continue
        assert parameter is not None and parameter.value is not None and parameter.window is not None  # noqa: PT018 - just asked
        line, span = tangent_from(
            parameter.value,
            parameter.window,
            each.sweep.gate_voltage,
            y,
            label=f"{words} {value_text(parameter)} ({each.bias})",
            ink=each.ink,
        )
        tangents.append(line)
        spans.append(span)
    return tuple(tangents), tuple(spans)


def value_text(parameter: Parameter) -> str:
    """Value and standard deviation, to the second digit of the latter."""
    value, unit = parameter.value or 0.0, parameter.unit.replace("/decade", "")
    if parameter.unit in _SCALED:
        unit = best_unit([np.array([value])], _SCALED[parameter.unit])
    tail = "/decade" if parameter.unit.endswith("/decade") else ""
    if not parameter.std:
        return write(value, unit).replace("-", "−") + tail
    std = plain(parameter.std, unit)
    if not _SMALL <= abs(plain(value, unit)) < _SMALL**-2:
        text = f"{plain(value, unit):.3g} ± {std:.2g}".replace("-", "−")
        return f"{text} {printed_unit(unit)}{tail}" if unit else text
    decimals = max(0, 1 - math.floor(math.log10(std)))
    text = f"{plain(value, unit):.{decimals}f} ± {std:.{decimals}f}".replace("-", "−")
    return f"{text} {printed_unit(unit)}{tail}" if unit else text


def transfer_plot(sweeps: Sequence[Sweep], results: Sequence[CurveResult], title: str = "") -> Plot:
    """Drain current against gate voltage, linear and logarithmic, with what was read from it drawn in.

    The gate current is dashed in the logarithmic panel; arrows show the direction where both were swept; the tangents and
    windows are those that were used; the root of the current is added where a threshold was read from it.

    Parameters
    ----------
    sweeps : sequence of Sweep
    results : sequence of CurveResult
        One for each sweep.
    title : str
    """
    drawn, note = _drawn(sweeps, results)
    panels = [*_linear_panels(drawn, note), _log_panel(drawn)]
    root = _root_panel(drawn)
    return Plot(title=title or "Transfer curves", panels=(*panels, *((root,) if root else ())))


def _linear_panels(drawn: Sequence[_Drawn], note: str) -> list[Panel]:
    """One linear panel, or two where the curves of the smallest drain voltage would lie flat beside the others."""
    tops = {ink: max(_top(each) for each in drawn if each.ink == ink) for ink in {each.ink for each in drawn}}
    small = min(tops, key=lambda ink: tops[ink])
    if tops[small] * APART > max(tops.values()):
        return [_linear_panel(drawn, note, "linear")]
    low = [each for each in drawn if tops[each.ink] <= APART * tops[small]]
    high = [each for each in drawn if tops[each.ink] > APART * tops[small]]
    biases = [", ".join(dict.fromkeys(each.bias for each in part)) for part in (low, high)]
    return [
        _linear_panel(part, note, f"linear, {bias}" if len(bias) < 26 else "linear")
        for part, bias in zip((low, high), biases, strict=True)
    ]


def _top(each: _Drawn) -> float:
    return float(np.nanmax(np.abs(each.sweep.drain_current)))


def _gate_axis() -> Axis:
    return Axis(label="gate voltage", unit="V")


def _linear_panel(drawn: Sequence[_Drawn], note: str, title: str) -> Panel:
    unit = best_unit([each.sweep.drain_current for each in drawn], "current")
    values = [in_unit(each.sweep.drain_current, unit) for each in drawn]
    tangents, spans = _feet(drawn, values, "threshold_voltage_linear", "V_T, tangent")
    return Panel(
        title=title,
        x=_gate_axis(),
        y=Axis(label="drain current", unit=unit),
        series=tuple(_curve(each, y) for each, y in zip(drawn, values, strict=True)),
        arrows=_arrows(drawn, values),
        tangents=tangents,
        spans=spans,
        note=note,
    )


def _root_panel(drawn: Sequence[_Drawn]) -> Panel | None:
    """The root of the current of those drain voltages at which a threshold was read from it."""
    name = "threshold_voltage_saturation"
    inks = {each.ink for each in drawn if not each.backward and _usable(each.result.parameters.get(name))}
    own = [each for each in drawn if each.ink in inks]
    if not own:
        return None
    unit = best_unit([each.sweep.drain_current for each in own], "current")
    values = [np.sqrt(np.abs(in_unit(each.sweep.drain_current, unit))) for each in own]
    tangents, spans = _feet(own, values, name, "V_T, tangent to the root")
    return Panel(
        title="root of the current",
        x=_gate_axis(),
        y=Axis(label="√|drain current|", unit=f"√{unit}"),
        series=tuple(_curve(each, y) for each, y in zip(own, values, strict=True)),
        arrows=_arrows(own, values),
        tangents=tangents,
        spans=spans,
    )


def _log_panel(drawn: Sequence[_Drawn]) -> Panel:
    values = [positive(each.sweep.drain_current) for each in drawn]
    series = [_curve(each, y) for each, y in zip(drawn, values, strict=True)]
    leaks = [each for each in drawn if each.sweep.gate_current is not None]
    for number, each in enumerate(leaks):
        assert each.sweep.gate_current is not None  # chosen by it
        series.append(
            Series(
                x=each.sweep.gate_voltage,
                y=positive(each.sweep.gate_current),
                label="gate current" if number == 0 else "",
                ink=each.ink,
                dash=2,
                thin=True,
            )
        )
    swings = [found for each in drawn if (found := _swing(each)) is not None][:2]
    marks = [mark for each in drawn if (mark := _constant_current(each)) is not None][:2]
    return Panel(
        title="logarithmic",
        x=_gate_axis(),
        y=Axis(label="|drain current|", unit="A", scale="log"),
        series=(*series, *marks),
        arrows=_arrows(drawn, values, log=True),
        tangents=tuple(line for line, _ in swings),
        spans=tuple(span for _, span in swings),
        levels=_floor(drawn),
    )


def _floor(drawn: Sequence[_Drawn]) -> tuple[Level, ...]:
    """The level at which the current is no channel current: the off level that on/off was read with."""
    for each in drawn:
        ratio = each.result.parameters.get("on_off_ratio")
        if "floor-limited" in each.result.classes and ratio is not None and ratio.value:
            off = float(np.nanmax(np.abs(each.sweep.drain_current))) / ratio.value
            return (Level(value=off, label="floor: what is below is a bound"),)
    return ()


def _swing(each: _Drawn) -> tuple[Tangent, Span] | None:
    """The line through the decade from which the swing was read."""
    parameter = each.result.parameters.get("subthreshold_swing")
    if each.backward or parameter is None or not parameter.value or parameter.window is None:
        return None
    if not (parameter.valid or parameter.bound):
        return None
    low, high = parameter.window
    volts, size = each.sweep.gate_voltage, positive(each.sweep.drain_current)
    inside = (volts >= low - 1e-9) & (volts <= high + 1e-9) & np.isfinite(size)
    if not inside.any():
        return None
    middle = float(volts[inside].mean())
    decades = float(np.log10(size[inside]).mean())
    lean = (1.0 if each.result.type == "n" else -1.0) / parameter.value
    reach = max((high - low) / 2.0, 0.8 * parameter.value)
    start, end = (
        (x, float(10.0 ** (decades + lean * (x - middle)))) for x in (middle - reach, middle + reach)
    )
    words = "swing at most" if parameter.bound else "swing"
    label = f"{words} {value_text(parameter)} ({each.bias})"
    return Tangent(start=start, end=end, label=label, ink=each.ink), Span(
        low=low, high=high, label=f"window of {words}", ink=each.ink
    )


def _constant_current(each: _Drawn) -> Series | None:
    parameter = each.result.parameters.get("threshold_voltage_constant_current")
    if each.backward or not _usable(parameter):
        return None
    assert parameter is not None and parameter.value is not None  # noqa: PT018 - just asked
    volts, size = each.sweep.gate_voltage, positive(each.sweep.drain_current)
    good = np.isfinite(size)
    current = 10.0 ** np.interp(parameter.value, volts[good], np.log10(size[good]))
    return Series(
        x=np.array([parameter.value]),
        y=np.array([current]),
        label=f"V_T, constant current {value_text(parameter)} ({each.bias})",
        ink=each.ink,
        mark="diamond",
        line=False,
    )


def transconductance_plot(sweeps: Sequence[Sweep], results: Sequence[CurveResult], title: str = "") -> Plot:
    """Transconductance against gate voltage from neighbouring points, with the largest as it was read and its window.

    Parameters
    ----------
    sweeps : sequence of Sweep
    results : sequence of CurveResult
        One for each sweep.
    title : str
    """
    drawn, note = _drawn(sweeps, results)
    slopes = [np.gradient(each.sweep.drain_current, each.sweep.gate_voltage) for each in drawn]
    unit = best_unit(slopes, "transconductance")
    values = [in_unit(each, unit) for each in slopes]
    levels: list[Level] = []
    spans: list[Span] = []
    for each in drawn:
        parameter = each.result.parameters.get("transconductance_max")
        if each.backward or not _usable(parameter) or len(levels) == 3:
            continue
        assert parameter is not None and parameter.value is not None and parameter.window is not None  # noqa: PT018 - just asked
        label = f"largest {_as_siemens(parameter.value, unit)}, {each.bias}"
        levels.append(Level(value=plain(parameter.value, unit), label=label))
        spans.append(Span(low=parameter.window[0], high=parameter.window[1], label=label, ink=each.ink))
    panel = Panel(
        x=_gate_axis(),
        y=Axis(label="transconductance", unit=unit),
        series=tuple(_curve(each, y) for each, y in zip(drawn, values, strict=True)),
        arrows=_arrows(drawn, values),
        levels=tuple(levels),
        spans=tuple(spans),
        note=note or "differences of neighbouring points; dotted: as smoothed and read",
    )
    return Plot(title=title or "Transconductance", panels=(panel,))


def _as_siemens(value: float, unit: str) -> str:
    return f"{plain(value, unit):.3g} {unit}"


def output_plot(curves: Sequence[Curve], title: str = "") -> Plot:
    """Output curves: drain current against drain voltage, one line for each gate voltage, named by its label.

    Parameters
    ----------
    curves : sequence of Curve
        Voltage is the drain voltage [V], current in [A].
    title : str
    """
    unit = best_unit([each.current for each in curves], "current")
    series = tuple(
        Series(x=each.voltage, y=in_unit(each.current, unit), label=each.label, ink=at % 7, dash=at % 7)
        for at, each in enumerate(curves)
    )
    panel = Panel(
        x=Axis(label="drain voltage", unit="V"), y=Axis(label="drain current", unit=unit), series=series
    )
    return Plot(title=title or "Output curves", panels=(panel,))


@dataclass(frozen=True, kw_only=True, eq=False)
class Definition:
    """A quantity against gate voltage by one definition, with its 95 % band where it is known.

    Attributes
    ----------
    name : str
    gate_voltage : array (n,) [V]
    value : array (n,) [SI]
    low, high : array (n,) or None [SI]
    """

    name: str
    gate_voltage: FloatArray
    value: FloatArray
    low: FloatArray | None = None
    high: FloatArray | None = None


def mobility_plot(definitions: Sequence[Definition], title: str = "", apparent: str = "") -> Plot:
    """Mobility against gate voltage, one curve for each definition, with bands.

    Parameters
    ----------
    definitions : sequence of Definition
        Values in [m²/(V·s)].
    title : str
    apparent : str
        What is to be borne in mind, e.g. that contacts are not taken off.
    """
    unit = "cm²/(V·s)"
    series = tuple(
        Series(
            x=each.gate_voltage,
            y=in_unit(each.value, unit),
            low=None if each.low is None else in_unit(each.low, unit),
            high=None if each.high is None else in_unit(each.high, unit),
            label=each.name,
            ink=at % 7,
            dash=at % 7,
        )
        for at, each in enumerate(definitions)
    )
    panel = Panel(x=_gate_axis(), y=Axis(label="mobility", unit=unit), series=series, note=apparent)
    return Plot(title=title or "Mobility by definition", panels=(panel,))


def straight_line_plot(
    gate_voltage: FloatArray,
    value: FloatArray,
    *,
    axis: Axis,
    foot: float,
    window: tuple[float, float],
    label: str,
    title: str = "",
) -> Plot:
    """A straight-line method (ratio Y = I_D/√g_m, integral H = ∫I_D dV_G/I_D, …) with the line that was laid through it.

    Parameters
    ----------
    gate_voltage, value : array (n,)
        The second in the unit of ``axis``.
    axis : Axis
        Of the value.
    foot : float [V]
        Where the line meets zero.
    window : tuple of float [V]
    label : str
        Of the reading, with its number.
    title : str
    """
    line, span = tangent_from(foot, window, gate_voltage, value, label=label)
    series = Series(x=gate_voltage, y=value, label=axis.label, mark="circle", line=False, thin=True)
    panel = Panel(x=_gate_axis(), y=axis, series=(series,), tangents=(line,), spans=(span,))
    return Plot(title=title or label, panels=(panel,))


def definitions_plot(result: CurveResult, start: str = "threshold_voltage_", title: str = "") -> Plot | None:
    """One quantity by all its definitions, with 95 % bars; None when no definition gave a value.

    Parameters
    ----------
    result : CurveResult
    start : str
        How the names of the parameters begin.
    title : str
    """
    own = {
        name: each
        for name, each in result.parameters.items()
        if name.startswith(start) and each.value is not None
    }
    if not own:
        return None
    unit = next(iter(own.values())).unit
    names = tuple(name.removeprefix(start).replace("_", " ") for name in own)
    rows = np.arange(len(own), dtype=float)
    valid = np.array([each.valid for each in own.values()])
    values = np.array([plain(each.value or 0.0, unit) for each in own.values()])
    halves = np.array([_Z95 * plain(each.std or 0.0, unit) for each in own.values()])
    label = start.strip("_").replace("_", " ")
    series = []
    for chosen, mark, words in ((valid, "circle", ""), (~valid, "ring", "does not stand")):
        for at in np.flatnonzero(chosen):
            ends = np.array([values[at] - halves[at], values[at] + halves[at]])
            series.append(Series(x=ends, y=np.array([rows[at]] * 2), ink=0 if mark == "circle" else 6))
        if chosen.any():
            notes = tuple(
                each.why_not or each.method for each, on in zip(own.values(), chosen, strict=True) if on
            )
            series.append(
                Series(x=values[chosen], y=rows[chosen], label=words, line=False, mark=mark, notes=notes,
                       ink=0 if mark == "circle" else 6)
            )  # fmt: skip
    panel = Panel(
        x=Axis(label=label, unit=printed_unit(unit)),
        y=Axis(label="definition", scale="names", names=names),
        series=tuple(series),
        note="bars: 95 % from the noise of the data",
    )
    return Plot(title=title or f"{label.capitalize()} by definition", panels=(panel,))
