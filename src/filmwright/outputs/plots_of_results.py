"""From results to figures: mobility against gate voltage, straight-line methods, wafer maps, splits, correlations, fits."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from filmwright.learn import CorrelationMatrix, SplitValue, WaferMap
from filmwright.measure import CurveResult, FitResult, FittedPoints, MobilityCurve, Sweep
from filmwright.outputs.figures import Place
from filmwright.outputs.plot import Axis, FloatArray, Panel, Plot, Series
from filmwright.outputs.plot_parts import best_unit, in_unit, positive
from filmwright.outputs.plots_of_curves import Definition, mobility_plot, straight_line_plot, value_text
from filmwright.outputs.plots_of_lots import Replicate, correlation_plot, map_plot, residual_plot, split_plot

_Z95 = 1.96
_CLEAR = 0.5
"""A mobility is drawn where its standard deviation is below this share of it; nearer to the onset it is noise."""

_MOBILITIES = (
    ("field_effect", "from transconductance"),
    ("average", "mean over the channel"),
    ("at_source", "mean over the charge at the source"),
    ("incremental", "of the charge last added"),
)
_MOST_FITTED = 6
"""Curves of a family in one panel."""


def mobility_curve_plot(curve: MobilityCurve, title: str = "") -> Plot | None:
    """Mobility against gate voltage by every definition with its 95 % band; None where there is no curve.

    Parameters
    ----------
    curve : MobilityCurve
    title : str
    """
    if curve.why_not:
        return None
    found = []
    for name, words in _MOBILITIES:
        value, std = getattr(curve, name), getattr(curve, f"{name}_std")
        with np.errstate(invalid="ignore"):
            clear = np.isfinite(value) & ~(np.nan_to_num(std) > _CLEAR * np.abs(value)) & (value > 0)
        if clear.sum() < 2:
            continue
        half = _Z95 * np.nan_to_num(std[clear])
        banded = bool(np.any(half > 0))
        found.append(
            Definition(
                name=words,
                gate_voltage=curve.gate_voltage[clear],
                value=value[clear],
                low=value[clear] - half if banded else None,
                high=value[clear] + half if banded else None,
            )
        )
    note = (
        f"drawn where known to {_CLEAR:.0%}; charge counted from {curve.onset:.3g} V; contacts not taken off"
    )
    return mobility_plot(found, title, apparent=note.replace("-", "−")) if found else None


def ratio_plot(sweep: Sweep, result: CurveResult) -> Plot | None:
    """The ratio of current and root of transconductance against gate voltage, with the line that gave the threshold.

    Equation: Y = |I_D|/√|dI_D/dV_G|.

    Parameters
    ----------
    sweep : Sweep
    result : CurveResult
        None is drawn where the ratio method gave no threshold.
    """
    slope = np.abs(np.gradient(sweep.drain_current, sweep.gate_voltage))
    with np.errstate(divide="ignore", invalid="ignore"):
        value = np.abs(sweep.drain_current) / np.sqrt(slope)
    return _straight(sweep, result, "threshold_voltage_ratio", value, "Y = |I_D|/√g_m")


def integral_plot(sweep: Sweep, result: CurveResult) -> Plot | None:
    """The integral of the current over the current against gate voltage, with the line that gave the threshold.

    Equation: H = ∫|I_D| dV_G / |I_D|, from the off end of the sweep.

    Parameters
    ----------
    sweep : Sweep
    result : CurveResult
        None is drawn where the integral method gave no threshold.
    """
    turned = -1 if result.type == "p" else 1
    gate, size = sweep.gate_voltage[::turned] * turned, np.abs(sweep.drain_current)[::turned]
    area = np.concatenate([[0.0], np.cumsum((size[1:] + size[:-1]) / 2.0 * np.diff(gate))])
    with np.errstate(divide="ignore", invalid="ignore"):
        value = (area / size)[::turned]
    return _straight(sweep, result, "threshold_voltage_integral", value, "H = ∫|I_D| dV_G / |I_D|")


def _straight(sweep: Sweep, result: CurveResult, name: str, value: FloatArray, label: str) -> Plot | None:
    """Points of the on side with the line; Y in √(µA·V), H in V."""
    parameter = result.parameters.get(name)
    if parameter is None or not parameter.valid or parameter.value is None or parameter.window is None:
        return None
    ratio = name.endswith("ratio")
    unit = "√(µA·V)" if ratio else "V"
    shown = np.sqrt(in_unit(value**2, "uA*V")) if ratio else value
    foot = parameter.value
    reach = 1.6 * max(abs(end - foot) for end in parameter.window)
    on = (sweep.gate_voltage - foot) * (1.0 if result.type == "n" else -1.0)
    near = (on > -0.1 * reach) & (on < reach) & np.isfinite(shown)
    if near.sum() < 3:
        return None
    return straight_line_plot(
        sweep.gate_voltage[near],
        shown[near],
        axis=Axis(label=label, unit=unit),
        foot=foot,
        window=parameter.window,
        label=f"V_T {value_text(parameter)}",
        title=f"Threshold by the {'ratio' if ratio else 'integral'} method",
    )


def wafer_map_plot(found: WaferMap, *, name: str, unit: str, mark: str = "flat") -> Plot:
    """A wafer map with its outliers named and the fitted gradient and bowl as lines of equal value.

    Parameters
    ----------
    found : WaferMap
    name, unit : str
        Of the parameter, to print.
    mark : str
        ``flat``, ``notch`` or ``die``.
    """
    places = [
        Place(x=each.x, y=each.y, value=each.value, label=each.device, why_not=each.cause)
        for each in found.points
    ]
    parts = {part.part: part for part in found.parts}

    def surface(x: FloatArray, y: FloatArray) -> FloatArray:
        u, v = x / found.radius, y / found.radius
        tilt, bowl = parts["gradient"], parts["bowl"]
        along = u * math.cos(tilt.direction) + v * math.sin(tilt.direction)
        return (found.centre or 0.0) + tilt.rise * along + bowl.rise * (u**2 + v**2)

    told = found.centre is not None and len(parts) == 2
    return map_plot(
        places,
        size=2 * found.radius,
        name=name,
        unit=unit,
        mark=mark,
        outliers=found.outliers,
        fitted=surface if told else None,
    )


def splits_plot(values: Mapping[str, Sequence[SplitValue]], *, name: str, unit: str) -> Plot:
    """Devices of every split, a box for each wafer.

    Parameters
    ----------
    values : mapping from split to sequence of SplitValue
    name, unit : str
        Of the parameter, to print.
    """
    replicates = [
        Replicate(split=split, wafer=wafer, values=tuple(each.value for each in own if each.wafer == wafer))
        for split, own in values.items()
        for wafer in dict.fromkeys(each.wafer for each in own)
    ]
    return split_plot(replicates, name=name, unit=unit)


def correlations_plot(found: CorrelationMatrix) -> Plot:
    """Rank correlations of all parameters, with the number of devices behind each.

    Parameters
    ----------
    found : CorrelationMatrix
    """
    at = {name: k for k, name in enumerate(found.names)}
    counts = np.zeros((len(at), len(at)))
    for each in found.pairs:
        i, j = at[each.first], at[each.second]
        counts[i, j] = counts[j, i] = each.pairs
    np.fill_diagonal(counts, counts.max() if counts.size else 0.0)
    return correlation_plot([name.replace("_", " ") for name in found.names], found.array(), counts)


def fit_plots(result: FitResult) -> tuple[Plot, ...]:
    """Measured points with the fitted curves and their bands, and what the fit leaves; none where nothing was fitted.

    Parameters
    ----------
    result : FitResult
    """
    points = result.points
    if points is None:
        return ()
    swept: dict[str, list[int]] = {"gate voltage": [], "drain voltage": []}
    for number in range(len(points.labels)):
        own = points.curve == number
        if own.any():
            moves = np.ptp(points.gate_voltage[own]) >= np.ptp(points.drain_voltage[own])
            swept["gate voltage" if moves else "drain voltage"].append(number)
    panels = [
        panel
        for name, members in swept.items()
        if members
        for panel in _fit_panels(points, name, members[:_MOST_FITTED])
    ]
    device = f" of {result.device}" if result.device else ""
    residuals = residual_plot(
        points.gate_voltage,
        points.residual,
        axis=Axis(label="gate voltage", unit="V"),
        label="fit less measured",
        title=f"Residuals of the fit{device}",
    )
    return Plot(title=f"Fit{device}", panels=tuple(panels)), residuals


def _fit_panels(points: FittedPoints, swept: str, members: Sequence[int]) -> list[Panel]:
    """Linear; and logarithmic for transfer curves."""
    unit = best_unit([points.measured], "current")
    panels = [_fit_panel(points, swept, members, Axis(label="drain current", unit=unit))]
    if swept == "gate voltage":
        panels.append(
            _fit_panel(points, swept, members, Axis(label="|drain current|", unit="A", scale="log"))
        )
    return panels


def _fit_panel(points: FittedPoints, swept: str, members: Sequence[int], axis: Axis) -> Panel:
    log = axis.scale == "log"
    series = []
    for place, number in enumerate(members):
        own = np.flatnonzero(points.curve == number)
        volts = points.gate_voltage if swept == "gate voltage" else points.drain_voltage
        own = own[np.argsort(volts[own], kind="stable")]
        fitted, half = points.fitted[own], _Z95 * points.band[own]

        def shown(values: FloatArray) -> FloatArray:
            return positive(values) if log else in_unit(values, axis.unit)

        low, high = np.minimum(np.abs(fitted - half), np.abs(fitted + half)), np.abs(fitted) + half
        ends = (low, high) if log else (in_unit(fitted - half, axis.unit), in_unit(fitted + half, axis.unit))
        series.append(
            Series(
                x=volts[own], y=shown(fitted), low=ends[0], high=ends[1], label=f"fit, {points.labels[number]}",
                ink=place % 7, dash=place % 7,
            )
        )  # fmt: skip
        series.append(
            Series(
                x=volts[own], y=shown(points.measured[own]), line=False, mark="ring", thin=True, ink=place % 7,
                label="measured" if place == 0 else "",
            )
        )  # fmt: skip
    return Panel(
        title=f"{'logarithmic' if log else 'linear'}, against {swept}",
        x=Axis(label=swept, unit="V"),
        y=axis,
        series=tuple(series),
    )
