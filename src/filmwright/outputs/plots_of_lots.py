"""Figures of many devices: maps, splits, correlations, length sets, prediction against measurement, fits."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from filmwright.outputs.figures import Curve, Place
from filmwright.outputs.plot import (
    Axis,
    Box,
    Dots,
    FloatArray,
    Level,
    Matrix,
    Outline,
    Panel,
    Plot,
    Series,
    Span,
    Surface,
)
from filmwright.outputs.plot_parts import best_unit, in_unit, positive, printed_unit
from filmwright.units import convert, plain

_MARKS = ("circle", "square", "diamond", "triangle", "cross", "x")
_CHORD = 0.28
"""Half the flat of a wafer as a share of its radius, about that of the common small wafers."""
_NOTCH = 0.03
"""Depth of a drawn notch as a share of the radius: larger than it is, so that it is seen."""


def wafer_outline(radius: float, mark: str = "flat") -> Outline:
    """Rim of a wafer around (0, 0), with a flat or a notch at the bottom, or plain.

    Parameters
    ----------
    radius : float
        In the unit of the axes.
    mark : str
        ``flat``, ``notch`` or empty.
    """
    half = float(np.arcsin(_CHORD if mark == "flat" else _NOTCH if mark == "notch" else 0.0))
    angle = np.linspace(-np.pi / 2 + half, 1.5 * np.pi - half, 181)
    x, y = radius * np.cos(angle), radius * np.sin(angle)
    if mark == "notch":
        x, y = np.append(x, 0.0), np.append(y, -radius * (1 - _NOTCH))
    return Outline(x=np.append(x, x[0]), y=np.append(y, y[0]))


def map_plot(
    places: Sequence[Place],
    *,
    size: float,
    name: str,
    unit: str,
    mark: str = "flat",
    outliers: Sequence[str] = (),
    fitted: Callable[[FloatArray, FloatArray], FloatArray] | None = None,
) -> Plot:
    """A value over the wafer or one die; what gave none is a cross with its cause, what stands out is ringed and named.

    Parameters
    ----------
    places : sequence of Place
    size : float [m]
        Diameter of the wafer, or side of the die.
    name, unit : str
        Of the value.
    mark : str
        ``flat`` or ``notch`` of the wafer, ``die`` for one die.
    outliers : sequence of str
        Labels of places that stand out.
    fitted : function of (x, y) in m to the value in SI, or None
        The radial and gradient part; drawn as lines of equal value.
    """
    length = "mm" if size >= 1e-3 else "um"
    radius = convert(size / 2, length)
    x, y = (np.array([convert(getattr(place, which), length) for place in places]) for which in "xy")
    value = np.array([np.nan if each.value is None else plain(each.value, unit) for each in places])
    away = tuple(each.label in outliers for each in places)
    notes = tuple(
        each.why_not or ("stands out from its neighbours" if ring else "")
        for each, ring in zip(places, away, strict=True)
    )
    die = mark == "die"
    square = np.array([-radius, radius, radius, -radius, -radius])
    below = np.array([-radius, -radius, radius, radius, -radius])
    rim = Outline(x=square, y=below) if die else wafer_outline(radius, mark)
    good = int(np.isfinite(value).sum())
    crosses = ", × none" if good < len(places) else ""
    at_bottom = f", {mark} down" if mark in ("flat", "notch") else ""
    shown = printed_unit(length)
    panel = Panel(
        x=Axis(label=f"x{at_bottom}", unit=shown, low=-1.08 * radius, high=1.08 * radius),
        y=Axis(label="y", unit=shown, low=-1.08 * radius, high=1.08 * radius),
        outlines=(rim,),
        dots=Dots(
            x=x,
            y=y,
            value=value,
            label=name,
            unit=printed_unit(unit),
            names=tuple(each.label for each in places),
            notes=notes,
            outlier=away,
        ),
        surface=_surface(fitted, radius, length, unit) if fitted is not None else None,
        note=f"{good} of {len(places)} with a value{crosses}",
        equal=True,
    )
    return Plot(title=f"{name} over the {'die' if die else 'wafer'}", panels=(panel,))


def _surface(
    fitted: Callable[[FloatArray, FloatArray], FloatArray], radius: float, length: str, unit: str
) -> Surface:
    ends = np.linspace(-radius, radius, 41)
    x, y = np.meshgrid(ends, ends)
    metres = 1.0 / plain(1.0, length)
    z = in_unit(fitted(x * metres, y * metres), unit)
    return Surface(
        x=ends,
        y=ends,
        z=np.where(np.hypot(x, y) <= radius, z, np.nan),
        label="fitted: radial and gradient part",
    )


@dataclass(frozen=True, kw_only=True)
class Replicate:
    """The devices of one wafer in one split.

    Attributes
    ----------
    split, wafer : str
    values : tuple of float [SI]
    names : tuple of str
        Of the devices.
    """

    split: str
    wafer: str
    values: tuple[float, ...]
    names: tuple[str, ...] = ()


def split_plot(
    replicates: Sequence[Replicate],
    *,
    name: str,
    unit: str,
    means: Mapping[str, tuple[float, float, float]] | None = None,
) -> Plot:
    """Every device, a box for each wafer, and the mean of a split's wafers with its interval: wafers are the replicates.

    Parameters
    ----------
    replicates : sequence of Replicate
    name, unit : str
        Of the value.
    means : mapping from split to (mean, low, high) [SI], or None
        Over wafers, with the 95 % interval.
    """
    splits = list(dict.fromkeys(each.split for each in replicates))
    ordered = [each for split in splits for each in replicates if each.split == split]
    series, boxes = [], []
    for place, each in enumerate(ordered):
        ink = splits.index(each.split)
        values = np.array([plain(value, unit) for value in each.values])
        if len(values) >= 4:
            boxes.append(_box(place, values, f"{each.split} {each.wafer}"))
        names = each.names or ("",) * len(values)
        series.append(
            Series(
                x=place + 0.18 * _apart(len(values)),
                y=values,
                label=each.split if each is next(one for one in ordered if one.split == each.split) else "",
                ink=ink % 7,
                mark=_MARKS[ink % len(_MARKS)],
                line=False,
                thin=True,
                notes=tuple(f"{each.wafer} {own}".strip() for own in names),
            )
        )
    for split, (mean, low, high) in (means or {}).items():
        own = [at for at, each in enumerate(ordered) if each.split == split]
        ends = np.array([min(own) - 0.4, max(own) + 0.4])
        mid, bottom, top = (np.full(2, plain(value, unit)) for value in (mean, low, high))
        words = "mean of wafers, 95 % band" if split == splits[0] else ""
        series.append(
            Series(x=ends, y=mid, low=bottom, high=top, ink=splits.index(split) % 7, dash=1, label=words)
        )
    panel = Panel(
        x=Axis(
            label="split and wafer", scale="names", names=tuple(f"{e.split} · {e.wafer}" for e in ordered)
        ),
        y=Axis(label=name, unit=printed_unit(unit)),
        series=tuple(series),
        boxes=tuple(boxes),
        note="box: quartiles of one wafer; whiskers to 1.5 times its height",
    )
    return Plot(title=f"{name} by split", panels=(panel,))


def _apart(count: int) -> FloatArray:
    """Places between -1 and 1 that lie apart and are the same again (bit-reversed counting)."""
    return np.array(
        [
            2.0 * sum(((k >> bit) & 1) / 2.0 ** (bit + 1) for bit in range(8)) - 1.0
            for k in range(1, count + 1)
        ]
    )


def _box(place: int, values: FloatArray, label: str) -> Box:
    first, middle, third = (float(each) for each in np.percentile(values, (25, 50, 75)))
    reach = 1.5 * (third - first)
    inside = values[(values >= first - reach) & (values <= third + reach)]
    return Box(
        place=float(place),
        low=float(inside.min()),
        quarter=first,
        median=middle,
        three_quarters=third,
        high=float(inside.max()),
        label=label,
    )


def correlation_plot(names: Sequence[str], values: FloatArray, counts: FloatArray | None = None) -> Plot:
    """Correlations of parameters, each with its number; not known is a dash.

    Parameters
    ----------
    names : sequence of str
    values : array (n, n)
        From -1 to 1; NaN where not known.
    counts : array (n, n) or None
        Devices behind each.
    """
    notes = () if counts is None else tuple(tuple(f"{int(n)} devices" for n in row) for row in counts)
    axis = Axis(label="", scale="names", names=tuple(names))
    panel = Panel(
        x=axis, y=Axis(label="", scale="names", names=tuple(names)), matrix=Matrix(values=values, notes=notes)
    )
    return Plot(title="Correlation of parameters", panels=(panel,))


@dataclass(frozen=True, kw_only=True, eq=False)
class LengthLine:
    """Total resistance times width against length at one overdrive.

    Attributes
    ----------
    overdrive : float [V]
    length : array (n,) [m]
    resistance : array (n,) [Ω·m]
    std : array (n,) or None [Ω·m]
    names : tuple of str
        Of the devices.
    at : array (k,) [m]
        Where the fitted line is drawn.
    fit, low, high : array (k,) [Ω·m]
        The line and its 95 % band.
    """

    overdrive: float
    length: FloatArray
    resistance: FloatArray
    at: FloatArray
    fit: FloatArray
    low: FloatArray
    high: FloatArray
    std: FloatArray | None = None
    names: tuple[str, ...] = ()


def length_plot(
    lines: Sequence[LengthLine],
    *,
    crossing: tuple[float, float] | None = None,
    said: str = "",
    title: str = "",
) -> Plot:
    """R·W against length, a line with its band for each overdrive, and the point in which the lines meet.

    Parameters
    ----------
    lines : sequence of LengthLine
    crossing : (length [m], resistance times width [Ω·m]) or None
        Length offset and twice the contact resistance.
    said : str
        What follows from it, e.g. that the contact resistance cannot be told from zero.
    title : str
    """
    unit = best_unit([each.resistance for each in lines], "width-normalised resistance")
    series = [drawn for at, each in enumerate(lines) for drawn in _length_line(each, at, unit)]
    if crossing is not None:
        series.append(
            Series(
                x=np.array([convert(crossing[0], "um")]),
                y=np.array([plain(crossing[1], unit)]),
                mark="ring",
                line=False,
                ink=6,
                label="where the lines meet",
                notes=(said,),
            )
        )
    panel = Panel(
        x=Axis(label="channel length", unit="µm"),
        y=Axis(label="resistance times width", unit=unit),
        series=tuple(series),
        levels=(Level(value=0.0, label=""),),
        note=said,
    )
    return Plot(title=title or "Resistance against length", panels=(panel,))


def _length_line(line: LengthLine, at: int, unit: str) -> tuple[Series, Series]:
    """Points with their errors, and the fitted line with its band."""
    y = in_unit(line.resistance, unit)
    half = None if line.std is None else 1.96 * in_unit(line.std, unit)
    points = Series(
        x=in_unit(line.length, "um"),
        y=y,
        low=None if half is None else y - half,
        high=None if half is None else y + half,
        line=False,
        mark=_MARKS[at % 6],
        ink=at % 7,
        notes=line.names,
    )
    fit, low, high = (in_unit(values, unit) for values in (line.fit, line.low, line.high))
    label = f"overdrive {line.overdrive:.3g} V".replace("-", "−")
    return points, Series(
        x=in_unit(line.at, "um"), y=fit, low=low, high=high, label=label, ink=at % 7, dash=at % 7
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class Predicted:
    """A predicted curve with its 95 % band [A], where known."""

    curve: Curve
    low: FloatArray | None = None
    high: FloatArray | None = None


_LOOKS = {"planned": (1, 1), "as run": (2, 3)}


def predicted_plot(
    measured: Sequence[Curve], predicted: Sequence[Predicted], *, swept: str = "gate voltage", title: str = ""
) -> Plot:
    """Prediction as planned and as run, with bands, against what was measured; linear and logarithmic.

    Parameters
    ----------
    measured : sequence of Curve
    predicted : sequence of Predicted
    swept : str
        Name of the voltage.
    title : str
    """
    every = [*measured, *(each.curve for each in predicted)]
    unit = best_unit([each.current for each in every], "current")
    panels = [_predicted_panel(measured, predicted, Axis(label="drain current", unit=unit), swept)]
    if swept == "gate voltage":
        axis = Axis(label="|drain current|", unit="A", scale="log")
        panels.append(_predicted_panel(measured, predicted, axis, swept))
    return Plot(title=title or "Predicted and measured", panels=tuple(panels))


def _predicted_panel(
    measured: Sequence[Curve], predicted: Sequence[Predicted], axis: Axis, swept: str
) -> Panel:
    log = axis.scale == "log"

    def drawn(values: FloatArray) -> FloatArray:
        return positive(values) if log else in_unit(values, axis.unit)

    series = []
    for each in predicted:
        ink, dash = _LOOKS.get(each.curve.origin, (3, 4))
        banded = each.low is not None and each.high is not None
        series.append(
            Series(
                x=each.curve.voltage,
                y=drawn(each.curve.current),
                low=drawn(each.low) if banded and each.low is not None else None,
                high=drawn(each.high) if banded and each.high is not None else None,
                label=each.curve.label,
                ink=ink,
                dash=dash,
            )
        )
    for own in measured:
        series.append(Series(x=own.voltage, y=drawn(own.current), label=own.label, ink=0))
        if log and own.gate_current is not None:
            series.append(
                Series(x=own.voltage, y=drawn(own.gate_current), label="gate current", dash=2, thin=True)
            )
    return Panel(
        title="logarithmic" if log else "linear", x=Axis(label=swept, unit="V"), y=axis, series=tuple(series)
    )


def capacitance_plot(
    bias: FloatArray, capacitance: FloatArray, *, flat_band: float | None = None, corrected: FloatArray | None = None,
    title: str = "",
) -> Plot:  # fmt: skip
    """Areal capacitance against bias, as measured and with the series resistance taken off; the flat band marked.

    Parameters
    ----------
    bias : array (n,) [V]
    capacitance : array (n,) [F/m²]
    flat_band : float or None [V]
    corrected : array (n,) or None [F/m²]
    title : str
    """
    unit = "nF/cm²"
    series = [Series(x=bias, y=in_unit(capacitance, unit), label="as measured", mark="circle", thin=True)]
    if corrected is not None:
        series.append(
            Series(x=bias, y=in_unit(corrected, unit), label="series resistance taken off", ink=1, dash=1)
        )
    levels = (
        ()
        if flat_band is None
        else (Level(value=flat_band, label=f"flat band {flat_band:.3g} V", across="x"),)
    )
    panel = Panel(
        x=Axis(label="bias", unit="V"),
        y=Axis(label="areal capacitance", unit=unit),
        series=tuple(series),
        levels=levels,
    )
    return Plot(title=title or "Capacitance against voltage", panels=(panel,))


def trace_plot(
    position: FloatArray, height: FloatArray, *, base: FloatArray | None = None, windows: Sequence[tuple[float, float]] = (),
    said: str = "", title: str = "",
) -> Plot:  # fmt: skip
    """A stylus trace as recorded, with the tilted line that was taken off and the windows of both plateaus.

    Parameters
    ----------
    position, height : array (n,) [m]
    base : array (n,) or None [m]
        The line below, at the same positions.
    windows : sequence of (low, high) [m]
    said : str
        The step with its error.
    title : str
    """
    unit = best_unit([height], "length")
    x = in_unit(position, "um")
    series = [Series(x=x, y=in_unit(height, unit), label="trace")]
    if base is not None:
        series.append(Series(x=x, y=in_unit(base, unit), label="line taken off", ink=1, dash=1))
    spans = tuple(Span(low=plain(a, "um"), high=plain(b, "um"), label="plateau") for a, b in windows)
    panel = Panel(
        x=Axis(label="position", unit="µm"),
        y=Axis(label="height", unit=unit),
        series=tuple(series),
        spans=spans,
        note=said,
    )
    return Plot(title=title or "Stylus trace", panels=(panel,))


def residual_plot(
    x: FloatArray, residual: FloatArray, *, axis: Axis, label: str = "data less fit", title: str = ""
) -> Plot:
    """What a fit leaves, in standard deviations of the data, with the lines between which 95 % should lie.

    Parameters
    ----------
    x : array (n,)
    residual : array (n,)
        Divided by the standard deviation of each point.
    axis : Axis
        Of ``x``.
    label, title : str
    """
    series = Series(x=x, y=residual, label=label, mark="circle", line=False, thin=True)
    panel = Panel(
        x=axis,
        y=Axis(label="residual over its σ", unit="1"),
        series=(series,),
        levels=(
            Level(value=1.96, label="95 % within"),
            Level(value=-1.96, label=""),
            Level(value=0.0, label=""),
        ),
    )
    return Plot(title=title or "Residuals of the fit", panels=(panel,))
