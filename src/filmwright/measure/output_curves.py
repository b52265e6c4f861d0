"""From families of output curves to parameters: conductance in saturation, modulation, low-voltage shape, kink.

Every number has its definition, error, window and validity, as those of a transfer curve have.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np

from filmwright import device
from filmwright.measure.curves import OutputCurve
from filmwright.measure.output_readings import (
    FEWEST,
    SURE,
    OutputReading,
    curves_cross,
    fit_line,
    read_output,
)
from filmwright.measure.readings import Flags
from filmwright.measure.results import Bound, Parameter
from filmwright.measure.smoothing import FEWEST_FOR_NOISE
from filmwright.units import ELEMENTARY_CHARGE

OFF = 0.01
"""Share of the family's largest current below which a curve's channel counts as off."""

FLAT = 0.1
"""Conductance of the saturated line over the largest one from which saturation is called soft …"""

STEEP = 0.3
"""… and from which the curve does not saturate."""

CROWDED = 0.05
"""Share by which the conductance must rise from zero drain voltage on before crowding is spoken of."""

OFFSET = 0.001
"""Share of a curve's largest current at zero drain voltage from which an offset is told."""

DROOP = 0.005
"""Share by which the current must fall after its largest value before a droop is spoken of."""

TOLD = 0.25
"""Share of the spanned gate voltages up to which the error of the family's threshold may go."""

NEAR = 0.2
"""How far the saturation voltage may lie from V_G − V_T, as a share of it, and still agree."""


@dataclass(frozen=True, kw_only=True)
class OutputResult:
    """What one output curve says.

    Attributes
    ----------
    gate_voltage : float [V]
    parameters : mapping from name to Parameter
        Windows are drain voltages.
    classes : mapping from class to evidence
    """

    gate_voltage: float
    parameters: Mapping[str, Parameter]
    classes: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class OutputFamily:
    """What the output curves of one device say together.

    Attributes
    ----------
    file, label : str
        What is common to the curves, in words, e.g. ``M07, backward, VB −2.5 V``; empty for a single family.
    type : "n" or "p"
    curves : tuple of OutputResult
        In order of rising overdrive.
    parameters : mapping from name to Parameter
        Of the family: the threshold from its saturated currents, the place of saturation.
    classes : mapping from class to evidence
    """

    file: str
    label: str = ""
    type: Literal["n", "p"]
    curves: tuple[OutputResult, ...]
    parameters: Mapping[str, Parameter] = field(default_factory=dict)
    classes: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class _Turned:
    """An output curve in n-type signs with its numbers; no reading where the channel is off."""

    gate: float
    sign: float
    reading: OutputReading | None
    largest: float
    leak_at_zero: float
    why: str = ""


def output_families(curves: Sequence[OutputCurve]) -> tuple[OutputFamily, ...]:
    """Parameters of all output curves of a table, one family per device, direction, bulk voltage and temperature.

    Parameters
    ----------
    curves : sequence of OutputCurve
        Those without a known gate voltage are left out.

    Returns
    -------
    tuple of OutputFamily
    """
    groups: dict[tuple[object, ...], list[OutputCurve]] = {}
    for curve in curves:
        if curve.gate_voltage is not None:
            key = (curve.file, curve.device, curve.direction, curve.bulk_voltage, curve.temperature)
            groups.setdefault(key, []).append(curve)
    return tuple(read_family(members) for members in groups.values())


def _label(curve: OutputCurve) -> str:
    words = [curve.device] if curve.device else []
    words += [curve.direction]
    words += [] if curve.bulk_voltage is None else [f"VB {curve.bulk_voltage:g} V"]
    words += [] if curve.temperature is None else [f"{curve.temperature:g} K"]
    return ", ".join(words)


def read_family(curves: Sequence[OutputCurve], threshold: float | None = None) -> OutputFamily:
    """Parameters of the output curves of one device, measured in one direction.

    Equation: those of ``filmwright.device`` (``channel_length_modulation``, ``early_voltage``,
    ``saturation_voltage``); errors are the noise of the points carried through straight lines and parabolas.

    Parameters
    ----------
    curves : sequence of OutputCurve
        At least one, in any order. Valid range: the gate voltage of each is known.
    threshold : float [V] or None
        Against which the place of saturation is held; None takes the family's own, from its saturated currents.

    Returns
    -------
    OutputFamily

    References
    ----------
    As for the laws; A. Valletta et al., Appl. Phys. Lett. 99, 233309 (2011) for currents bent upward at low
    drain voltage by an injecting contact (abstract published).
    """
    sign = _sign(curves)
    turned = sorted(_turn(curves, sign), key=lambda each: each.gate)
    own = _family_threshold(turned, sign)
    against = threshold if threshold is not None else own.value if own.valid else None
    results = tuple(_result(each, against) for each in turned)
    classes: dict[str, str] = {}
    on = [each for each in turned if each.reading is not None]
    crossing = curves_cross([each.reading for each in on if each.reading is not None])
    if crossing is not None and len({each.gate for each in on}) == len(on):
        at, drain, gap = crossing
        classes["curves cross"] = (
            f"the curve at VG {sign * on[at].gate:g} V lies {gap:.2g} A below the one at VG "
            f"{sign * on[at - 1].gate:g} V at VD {sign * drain:.3g} V: drift, trapping or heat between the sweeps"
        )
    return OutputFamily(
        file=curves[0].file,
        label=_label(curves[0]),
        type="n" if sign > 0 else "p",
        curves=results,
        parameters={"threshold_voltage_of_family": own, **_place_of_saturation(turned, against, sign)},
        classes=classes,
    )


def _sign(curves: Sequence[OutputCurve]) -> float:
    """+1 for n-type: the side of the drain voltage on which the currents are large."""
    total = 0.0
    for curve in curves:
        total += float(np.sum(np.abs(curve.drain_current) * np.sign(curve.drain_voltage)))
    return -1.0 if total < 0 else 1.0


def _turn(curves: Sequence[OutputCurve], sign: float) -> list[_Turned]:
    sizes = [float(np.max(np.abs(each.drain_current[_read(each)]), initial=0.0)) for each in curves]
    most = max(sizes, default=0.0)
    turned = []
    for curve, size in zip(curves, sizes, strict=True):
        kept = np.flatnonzero(_read(curve))
        order = kept[np.argsort(sign * curve.drain_voltage[kept], kind="stable")]
        drain, current = sign * curve.drain_voltage[order], curve.drain_current[order]
        current = current if np.sum(current * np.sign(drain)) >= 0 else -current
        leak = float("nan")
        if curve.gate_current is not None and drain.size:
            leak = sign * float(curve.gate_current[order][np.argmin(np.abs(drain))])
        why = ""
        if np.sum(drain >= 0) < FEWEST:
            why = f"{int(np.sum(drain >= 0))} drain voltages: an output curve needs at least {FEWEST}"
        elif most < ELEMENTARY_CHARGE:
            why = "no current: less than one electron a second"
        elif size < OFF * most:
            why = f"the channel is off: {size:.2g} A at most, {size / most:.1%} of the largest curve"
        turned.append(
            _Turned(
                gate=sign * (curve.gate_voltage or 0.0),
                sign=sign,
                reading=None if why else read_output(drain, current),
                largest=size,
                leak_at_zero=leak,
                why=why,
            )
        )
    return turned


def _read(curve: OutputCurve) -> Flags:
    """Points that hold two numbers."""
    found: Flags = np.isfinite(curve.drain_voltage) & np.isfinite(curve.drain_current)
    return found


_METHODS = {
    "output_conductance": ("S", "slope of the straight line through the saturated stretch, from 1.2 saturation voltages on"),
    "channel_length_modulation": ("1/V", "λ = g/I₀ of that line, I = I₀·(1 + λ·V_D)"),
    "early_voltage": ("V", "where that line meets zero current, left of zero: V_A = 1/λ"),
    "saturation_drain_voltage": ("V", "twice the drain voltage at three quarters of the saturated line (square law)"),
    "conductance_at_zero": ("S", "slope at zero drain voltage of the parabola through the first stretch"),
    "low_drain_curvature": ("S/V", "second derivative of the first stretch; below zero for ohmic contacts"),
    "conductance_rise": ("", "largest conductance over that at zero drain voltage; 1 for ohmic contacts"),
    "kink_voltage": ("V", "drain voltage from which the current lies above the line of the flattest stretch"),
    "current_droop": ("", "share by which the current falls from its largest value to the end"),
    "zero_drain_current": ("A", "current at the point of zero drain voltage"),
}  # fmt: skip


def _result(turned: _Turned, threshold: float | None) -> OutputResult:
    gate = turned.sign * turned.gate
    reading = turned.reading
    if reading is None:
        refused = {name: _refused(name, turned.why) for name in _METHODS}
        return OutputResult(gate_voltage=gate, parameters=refused)
    over = None if threshold is None else turned.gate - turned.sign * threshold
    parameters = {
        **_saturated(reading, turned.sign, over),
        **_low(reading, turned.sign),
        **_late(reading, turned.sign),
    }
    return OutputResult(
        gate_voltage=gate, parameters=parameters, classes=_classes(reading, turned, parameters)
    )


def _refused(name: str, why: str) -> Parameter:
    unit, method = _METHODS[name]
    return Parameter(value=None, std=None, unit=unit, method=method, window=None, valid=False, why_not=why)


def _stated(
    name: str,
    value: float,
    std: float,
    window: tuple[float, float],
    sign: float,
    why: str = "",
    bound: Bound = "",
) -> Parameter:
    """A parameter in the device's signs; ``sign`` turns the window."""
    unit, method = _METHODS[name]
    if not np.isfinite(value):
        return _refused(name, why or "not told by this curve")
    ends = sorted((sign * window[0], sign * window[1]))
    return Parameter(
        value=value,
        std=std if np.isfinite(std) else None,
        unit=unit,
        method=method,
        window=(ends[0], ends[1]),
        valid=not why,
        why_not=why,
        bound=bound,
    )


def _saturated(reading: OutputReading, sign: float, over: float | None) -> dict[str, Parameter]:
    line, end = reading.line, float(reading.drain[-1])
    window = (float(reading.drain[line.first]), float(reading.drain[line.last]))
    why = ""
    if not reading.flatness <= STEEP:
        why = f"does not saturate: the flattest stretch still has {reading.flatness:.0%} of the largest conductance"
        if over is not None and end < over:
            why += f" (VD reaches {end:.3g} V, V_G − V_T is {over:.3g} V)"
    elif not np.isfinite(reading.saturation):
        why = (
            "the current never lies below three quarters of its saturated line: no linear region in the sweep"
        )
    names = ("output_conductance", "channel_length_modulation", "early_voltage", "saturation_drain_voltage")
    if why:
        return {name: _refused(name, why) for name in names}
    middle, slope = (window[0] + window[1]) / 2.0, line.slope
    modulation = float(device.channel_length_modulation(line.at(middle), slope, middle))
    spread = line.covariance[1, 1] - 2.0 * modulation * line.covariance[0, 1]
    std = float(np.sqrt(spread + modulation**2 * line.covariance[0, 0])) / line.at_zero
    bound: Bound = ""
    if not reading.beyond:
        still = "the stretch beyond it still bends" if reading.bends else "the sweep ends near it"
        bound, why = "at most", f"saturation voltage {sign * reading.saturation:.3g} V, {still}: a bound only"
    elif slope <= 2.0 * line.slope_std:
        why = f"not distinguishable from zero: {slope:.2g} ± {line.slope_std:.1g} S"
    place = (sign * reading.saturation, 2.0 * reading.three_quarters_std)
    return {
        "output_conductance": _stated(names[0], slope, line.slope_std, window, sign, why, bound),
        "channel_length_modulation": _stated(names[1], modulation, std, window, sign, why, bound),
        "early_voltage": _early(modulation, std, window, sign, why, bound),
        "saturation_drain_voltage": _stated(names[3], *place, (0.0, end), sign),
    }


def _early(
    modulation: float, std: float, window: tuple[float, float], sign: float, why: str, bound: Bound
) -> Parameter:
    """The Early voltage; where the modulation is not told from zero, the least that it can be."""
    name = "early_voltage"
    if not why:
        return _stated(name, 1.0 / modulation, std / modulation**2, window, sign)
    most = modulation if bound else modulation + 2.0 * std
    if most <= 0:
        return _refused(name, f"{why}; the current falls")
    return _stated(name, 1.0 / most, float("nan"), window, sign, why, "at least")


def _low(reading: OutputReading, sign: float) -> dict[str, Parameter]:
    low = reading.low
    window = (float(reading.drain[0]), low.reach)
    rise = reading.steepest / low.conductance if low.conductance > 0 else float("inf")
    rising = reading.steepest > 0 and low.conductance > 0
    parts = (
        (reading.steepest_std / reading.steepest, low.conductance_std / low.conductance)
        if rising
        else (0.0, 0.0)
    )
    rise_std = rise * float(np.hypot(*parts))
    unknown = (
        ""
        if low.conductance > SURE * low.conductance_std
        else "the conductance at zero is not told from the noise"
    )
    stated = rising and not unknown
    return {
        "conductance_at_zero": _stated(
            "conductance_at_zero", low.conductance, low.conductance_std, window, sign, unknown
        ),
        "low_drain_curvature": _stated("low_drain_curvature", low.curvature, low.curvature_std, window, sign),
        "conductance_rise": _stated(
            "conductance_rise", rise, rise_std, (window[0], max(reading.steepest_at, low.reach)), sign
        )
        if stated
        else _refused("conductance_rise", unknown or "the current does not rise from zero drain voltage"),
        "zero_drain_current": _stated(
            "zero_drain_current", sign * low.offset, low.offset_std, (window[0], window[0]), sign
        )
        if np.isfinite(low.offset)
        else _refused("zero_drain_current", "no point was measured at zero drain voltage"),
    }


def _late(reading: OutputReading, sign: float) -> dict[str, Parameter]:
    end = float(reading.drain[-1])
    first = float(reading.drain[reading.line.first])
    kink = reading.kink_at
    step = float(np.max(np.diff(reading.drain)))
    droop, error = reading.droop, reading.droop_std
    seen = droop > (SURE + 1.0) * error and droop > DROOP
    return {
        "kink_voltage": _stated("kink_voltage", sign * kink, step / np.sqrt(12.0), (first, end), sign)
        if np.isfinite(kink)
        else _refused("kink_voltage", _no_kink(reading)),
        "current_droop": _stated("current_droop", droop, error, (reading.droop_from, end), sign)
        if seen
        else _refused("current_droop", "none: the current falls by no more than its noise"),
    }


def _no_kink(reading: OutputReading) -> str:
    if np.isfinite(reading.end_excess_std):
        return f"none: at the end {reading.end_excess:+.1%} ± {reading.end_excess_std:.1%} from the line"
    return "none: the flattest stretch is the last one"


def _classes(reading: OutputReading, turned: _Turned, parameters: Mapping[str, Parameter]) -> dict[str, str]:
    low, sign, end = reading.low, turned.sign, float(reading.drain[-1])
    found = {}
    rise = reading.steepest / low.conductance - 1.0 if low.conductance > 0 else float("inf")
    bent = low.curvature > SURE * low.curvature_std and len(reading.drain) >= FEWEST_FOR_NOISE
    if bent and (rise > CROWDED):
        found["contact crowding at low VD"] = (
            f"the current bends upward up to VD {sign * low.reach:.3g} V (second derivative {low.curvature:.2g} ± "
            f"{low.curvature_std:.1g} S/V); the conductance rises from {max(low.conductance, 0.0):.2g} S to "
            f"{reading.steepest:.2g} S at VD {sign * reading.steepest_at:.3g} V"
        )
    if not reading.flatness <= STEEP:
        found["no saturation"] = (
            f"up to VD {sign * end:.3g} V the flattest stretch keeps {reading.flatness:.0%} of the largest conductance"
        )
    elif reading.flatness > FLAT and reading.beyond:
        found["soft saturation"] = (
            f"the saturated stretch keeps {reading.flatness:.0%} of the largest conductance"
        )
    if parameters["kink_voltage"].valid:
        found["kink"] = (
            f"from VD {parameters['kink_voltage'].value:.3g} V on the current leaves the saturated line and ends "
            f"{reading.end_excess:.0%} above it"
        )
    if parameters["current_droop"].valid:
        power = float(reading.current[-1]) * end
        found["current droop (heat or trapping)"] = (
            f"the current falls by {parameters['current_droop'].value:.1%} from VD "
            f"{sign * reading.droop_from:.3g} V to VD {sign * end:.3g} V, at {power:.2g} W"
        )
    if abs(low.offset) > (SURE + 1.0) * low.offset_std and abs(low.offset) > OFFSET * turned.largest:
        found["offset at zero VD"] = _offset_words(low.offset, turned)
    return found


def _offset_words(offset: float, turned: _Turned) -> str:
    words = f"{turned.sign * offset:.2g} A flow at zero drain voltage"
    if not np.isfinite(turned.leak_at_zero):
        return (
            f"{words} (no gate current was measured: leakage through the gate or an offset of the instrument)"
        )
    half = -turned.leak_at_zero / 2.0
    alike = half * offset > 0 and 0.5 <= abs(half / offset) <= 2.0
    cause = "leakage through the gate shared between source and drain" if alike else "not the gate's leakage"
    return f"{words}, half of the gate current there is {turned.sign * half:.2g} A: {cause}"


def _family_threshold(turned: Sequence[_Turned], sign: float) -> Parameter:
    """Where the line through the root of the saturated currents meets zero."""
    method = (
        "line through √I₀ of the saturated lines (at V_D = 0) against V_G, to zero; upper half of the curves"
    )
    points = [
        (each.gate, each.reading.line.at_zero, each.reading.line.std_at(0.0))
        for each in turned
        if each.reading is not None and each.reading.flatness <= STEEP and each.reading.beyond
    ]
    if len(points) < 3:
        why = f"{len(points)} curves saturate, a line needs 3"
        return Parameter(value=None, std=None, unit="V", method=method, window=None, valid=False, why_not=why)
    gates, currents, errors = (
        np.array(each) for each in zip(*points[-max(3, len(points) // 2) :], strict=True)
    )
    roots = np.sqrt(currents)
    line = fit_line(gates, roots, np.maximum(errors / (2.0 * roots), 1e-6 * roots), 0, len(gates) - 1)
    meets = float(device.tangent_intercept(0.0, line.at_zero, line.slope)) if line.slope > 0 else float("nan")
    lean = np.array([1.0, meets]) / line.slope
    std = float(np.sqrt(lean @ line.covariance @ lean))
    ends = sorted((sign * float(gates[0]), sign * float(gates[-1])))
    why = "" if np.isfinite(meets) else "the saturated currents do not rise with the gate voltage"
    if std > TOLD * float(np.ptp(gates)):
        why = f"the line is not told: {sign * meets:.2g} ± {std:.2g} V"
    return Parameter(
        value=None if why else sign * meets,
        std=None if why else std,
        unit="V",
        method=method,
        window=(ends[0], ends[1]),
        valid=not why,
        why_not=why,
    )


def _place_of_saturation(
    turned: Sequence[_Turned], threshold: float | None, sign: float
) -> dict[str, Parameter]:
    """Saturation voltage over V_G − V_T: 1 for a long channel with good contacts."""
    method = "median over the curves of the saturation drain voltage over V_G − V_T"
    read = [
        (each.gate, each.reading.saturation / (each.gate - sign * threshold))
        for each in turned
        if threshold is not None
        and each.reading is not None
        and each.reading.flatness <= STEEP
        and np.isfinite(each.reading.saturation)
        and each.gate > sign * threshold
    ]
    name = "saturation_over_overdrive"
    if not read:
        why = "no threshold is known" if threshold is None else "no curve above threshold saturates"
        return {
            name: Parameter(
                value=None, std=None, unit="", method=method, window=None, valid=False, why_not=why
            )
        }
    ratios = np.array([ratio for _, ratio in read])
    spread = float(np.std(ratios, ddof=1) / np.sqrt(len(ratios))) if len(ratios) > 1 else None
    ends = sorted((sign * read[0][0], sign * read[-1][0]))
    return {
        name: Parameter(
            value=float(np.median(ratios)),
            std=spread,
            unit="",
            method=f"{method}; {_saturation_words(float(np.median(ratios)))}",
            window=(ends[0], ends[1]),
            valid=True,
        )
    }


def _saturation_words(ratio: float) -> str:
    if abs(ratio - 1.0) <= NEAR:
        return "it saturates where V_D = V_G − V_T"
    if ratio < 1.0:
        return "it saturates early: short channel, or a contact that limits"
    return (
        "it saturates late: part of V_D is lost at the contacts, or the threshold is not that of the channel"
    )


def family_fields(family: OutputFamily) -> dict[str, Any]:
    """A family's result for programs: JSON with the unit beside every number.

    Parameters
    ----------
    family : OutputFamily

    Returns
    -------
    dict
    """
    return {
        "file": family.file,
        "label": family.label,
        "type": family.type,
        "parameters": {name: each.fields() for name, each in family.parameters.items()},
        "classes": dict(family.classes),
        "curves": [
            {
                "gate_voltage": curve.gate_voltage,
                "parameters": {name: each.fields() for name, each in curve.parameters.items()},
                "classes": dict(curve.classes),
            }
            for curve in family.curves
        ],
    }
