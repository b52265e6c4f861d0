"""Why the devices of a lot differ from their plan: several numbers shared out between causes through the physical model."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from filmwright.desk.explain import Probed, good, linear
from filmwright.device import film_current
from filmwright.emulate import Prediction, assembled
from filmwright.learn import Explanation, Factor, SharedOut, over_wafers, share_out_many
from filmwright.measure import Geometry, Sweep, extract_many
from filmwright.numerics import fit_errors, fit_many
from filmwright.units import ELEMENTARY_CHARGE, to_si

Array = NDArray[np.float64]

ON = "on current"
NAMES = {
    "threshold voltage": "threshold_voltage",
    "field effect mobility": "field_effect_mobility",
    "subthreshold swing": "subthreshold_swing",
}
UNITS = {
    ON: "A",
    "threshold voltage": "V",
    "field effect mobility": "cm^2/(V*s)",
    "subthreshold swing": "V/decade",
}
"""The compared numbers, read off measured and predicted curves by the same definitions."""

_CHARGE, _TRAPS, _MOBILITY = "interface charge", "interface trap density", "mobility"
_CONTACTS = ("contact resistance", "specific contact resistance")
_SIZES = ("width", "length", "overlap of the source", "overlap of the drain")
_FILM = "thickness of the channel"
_PART, _QUIET, _DIFFERENCE = 0.02, 0.02, 1e-3
"""Weights of the fit: part of the current, and below which of the sorted currents the floor lies; step of its differences."""

_STEP = to_si(1, "nm")
"""Standard deviation of a thickness as it was run; judgement for a stylus or a monitor."""

_EDGE = to_si(0.1, "um")
"""… of a width or length; judgement for a line width under a microscope."""

Read = Mapping[str, tuple[float, float]]
"""Number → value and standard deviation [SI]; NaN where there is none."""


@dataclass(frozen=True, kw_only=True)
class Case:
    """One device, or the median of a wafer, with everything shared out.

    Attributes
    ----------
    name : str
        E.g. ``T07 (W1)`` or ``W1, median of 24``.
    wafer : str
    found : mapping from number to SharedOut
    replaced : tuple of (what, planned, as run) [SI]
        Numbers of the plan that what was run or measured has taken the place of.
    fitted : mapping from parameter to (on file, fitted) [SI]
    """

    name: str
    wafer: str
    found: Mapping[str, SharedOut]
    replaced: tuple[tuple[str, float, float], ...] = ()
    fitted: Mapping[str, tuple[float, float]]


class _Model:
    """Numbers of a prediction → what is read off the predicted transfer curve."""

    def __init__(self, prediction: Prediction, sweep: Sweep, geometry: Geometry) -> None:
        self.prediction, self.sweep, self.geometry = prediction, sweep, geometry
        self._curves: dict[tuple[tuple[str, float], ...], Sweep] = {}

    def read(self, sets: Sequence[Mapping[str, float]]) -> dict[str, Array]:
        """Every compared number for every set of parameters."""
        curves = [self.curve(each) for each in sets]
        result = extract_many(curves, self.geometry)
        found = {name: _standing(*result.values(key)) for name, key in NAMES.items()}
        return {ON: np.array([float(curve.drain_current[-1]) for curve in curves]), **found}

    def curve(self, numbers: Mapping[str, float]) -> Sweep:
        """The predicted curve on the measured gate voltages; each set of numbers is solved once."""
        key = tuple(sorted(numbers.items()))
        if key not in self._curves:
            drain = np.full(len(self.sweep.gate_voltage), self.sweep.drain_voltage or 0.0)
            current = film_current(assembled(self.prediction, numbers), self.sweep.gate_voltage, drain)
            self._curves[key] = replace(self.sweep, drain_current=current, gate_current=None, pair=-1)
        return self._curves[key]


def _standing(
    value: Array,
    std: Array,
    valid: np.ndarray[tuple[int], np.dtype[np.bool_]],
) -> Array:
    return np.where(np.isfinite(value), value, np.nan)


def measured_of(probed: Probed) -> dict[str, tuple[float, float]]:
    """The compared numbers of one measured device, with their standard deviations; NaN where refused."""
    place = linear(probed)
    if place is None:
        return {}
    sweep, parameters = probed.sweeps[place], probed.results[place].parameters
    tail = sweep.drain_current[-6:]
    noise = float(np.std(np.diff(tail, 2))) / math.sqrt(6.0) if len(tail) > 3 else 0.0
    found = {ON: (float(sweep.drain_current[-1]), noise)}
    for name, key in NAMES.items():
        parameter = parameters[key]
        told = parameter.valid and parameter.value is not None
        found[name] = (parameter.value or 0.0, parameter.std or 0.0) if told else (math.nan, 0.0)
    return found


def explained(probed: Probed) -> Case | None:
    """One device shared out; None where it is not predicted by the states of its film."""
    return _case(probed, measured_of(probed), f"{probed.device} ({probed.wafer})")


def of_wafers(probed: Sequence[Probed], chosen: Probed) -> tuple[Case, ...]:
    """Of each wafer the device whose threshold is the median of those that are drawn as the chosen one, shared out."""
    cases = []
    alike = [(each, measured_of(each)) for each in probed if good(each) and _drawn_alike(each, chosen)]
    told = [(each, read) for each, read in alike if math.isfinite(read["threshold voltage"][0])]
    for wafer in sorted({each.wafer for each, _ in told}):
        own = sorted(
            (
                (read["threshold voltage"][0], each.device, at)
                for at, (each, read) in enumerate(told)
                if each.wafer == wafer
            )
        )
        middle, read = told[own[len(own) // 2][2]]
        case = _case(middle, read, f"{middle.device} ({wafer}), in the middle of {len(own)}")
        if case is not None:
            cases.append(case)
    return tuple(cases)


def of_lot(cases: Sequence[Case]) -> dict[str, Explanation]:
    """What all wafers say together; each counts as one."""
    return {
        name: over_wafers(each)
        for name in UNITS
        if (each := [case.found[name].explanation for case in cases if name in case.found])
    }


def _drawn_alike(one: Probed, other: Probed) -> bool:
    if one.planned is None or other.planned is None or one.as_run is None:
        return False
    sizes = [(each.planned.design.width, each.planned.design.length) for each in (one, other) if each.planned]
    return bool(np.allclose(sizes[0], sizes[1], rtol=1e-3))


def _case(probed: Probed, measured: Read, name: str) -> Case | None:
    place = linear(probed)
    planned, run = probed.planned, probed.as_run
    if (
        place is None
        or planned is None
        or run is None
        or planned.transistor is None
        or run.transistor is None
    ):
        return None
    if not all(math.isfinite(measured.get(each, (math.nan, 0.0))[0]) for each in ("threshold voltage", ON)):
        return None
    sweep = probed.sweeps[place]
    design = run.design
    geometry = Geometry(width=design.width, length=design.length, areal_capacitance=design.areal_capacitance)
    model = _Model(run, sweep, geometry)
    fitted = _fitted(model, run)
    factors = _factors(planned, run, fitted)
    named = {each for factor in factors for each in factor.planned}
    fixed = {each: value for each, value in run.numbers.items() if each not in named}
    found = share_out_many(model.read, factors, measured, fixed)
    return Case(
        name=name,
        wafer=probed.wafer,
        found=found,
        replaced=tuple(
            (each, planned.numbers[each], value)
            for each, value in run.numbers.items()
            if each in planned.numbers and not math.isclose(planned.numbers[each], value, rel_tol=1e-6)
        ),
        fitted={each: (run.numbers[each], fitted.numbers[each]) for each in (_CHARGE, _TRAPS, _MOBILITY)},
    )


@dataclass(frozen=True)
class _Fit:
    """Numbers with charge, traps and mobility as fitted, and the standard deviations of the three."""

    numbers: Mapping[str, float]
    std: Mapping[str, float]


def _fitted(model: _Model, run: Prediction) -> _Fit:
    """Charge, traps and mobility with which the physical model meets the whole measured curve.

    Least squares in parts of the current (and of the floor of the curve), derivatives by differences; the standard deviations
    follow from what is left.
    """
    per_volt = run.design.areal_capacitance / ELEMENTARY_CHARGE
    measured = model.sweep.drain_current
    # What flows beside the channel is no matter of charge, mobility or traps: a thousandth of the largest is not looked into.
    least = float(max(np.quantile(np.abs(measured), _QUIET), 1e-3 * np.max(np.abs(measured))))
    weight = 1.0 / (_PART * np.maximum(np.abs(measured), least) + least)
    traps = max(run.numbers[_TRAPS], 1e-6 * per_volt / ELEMENTARY_CHARGE)

    def numbers(x: Array) -> dict[str, float]:
        return {
            **run.numbers,
            _CHARGE: run.numbers[_CHARGE] + per_volt * float(x[0]),
            _MOBILITY: run.numbers[_MOBILITY] * math.exp(float(x[1])),
            _TRAPS: traps * math.exp(float(x[2])),
        }

    def one(x: Array) -> Array:
        result: Array = (model.curve(numbers(x)).drain_current - measured) * weight
        return result

    def problem(x: Array, rows: np.ndarray[tuple[int], np.dtype[np.intp]]) -> tuple[Array, Array]:
        here = [one(each) for each in x]
        slopes = [
            [(one(each + step) - rest) / _DIFFERENCE for step in _DIFFERENCE * np.eye(3)]
            for each, rest in zip(x, here, strict=True)
        ]
        return np.array(here), np.array(slopes)

    start = np.zeros((1, 3))
    found = fit_many(problem, start, [-20.0, -5.0, -5.0], [20.0, 5.0, 5.0], rounds=15, tolerance=1e-5)
    std = np.nan_to_num(fit_errors(found, noise_known=False).std[0], nan=0.0, posinf=0.0)
    best = numbers(found.x[0])
    scale = {_CHARGE: per_volt, _MOBILITY: best[_MOBILITY], _TRAPS: best[_TRAPS]}
    return _Fit(
        best,
        {
            name: float(size) * scale[name]
            for name, size in zip((_CHARGE, _MOBILITY, _TRAPS), std, strict=True)
        },
    )


def _factors(planned: Prediction, run: Prediction, fitted: _Fit) -> tuple[Factor, ...]:
    def spread(name: str) -> float:
        value = run.rests_on.get(name)
        return value.std if value is not None else 0.0

    def factor(
        name: str, keys: Sequence[str], std: Mapping[str, float], actual: Mapping[str, float]
    ) -> Factor:
        own = [key for key in keys if key in run.numbers and key in planned.numbers]
        return Factor(
            name=name,
            planned={key: planned.numbers[key] for key in own},
            actual={key: actual[key] for key in own},
            std={key: std[key] for key in own if std.get(key, 0.0) > 0},
            known="as run" if actual is run.numbers else "measured",
        )

    insulator = [key for key in run.numbers if key.startswith("thickness of ") and key != _FILM]
    permittivities = [f"permittivity of {material}" for material in dict.fromkeys(run.dielectrics)]
    contacts = [key for key in _CONTACTS if key in run.numbers]
    rows: tuple[tuple[str, Sequence[str], Mapping[str, float], Mapping[str, float]], ...] = (
        (
            "insulator",
            [*insulator, *permittivities],
            {**dict.fromkeys(insulator, _STEP), **{key: spread(key) for key in permittivities}},
            run.numbers,
        ),
        ("channel thickness", [_FILM], {_FILM: _STEP}, run.numbers),
        ("channel length and width", _SIZES, {"width": _EDGE, "length": _EDGE}, run.numbers),
        # What is on file of a contact may be off by more than its own size: the move stays on this side of zero.
        (
            "contacts",
            contacts,
            {key: min(spread(key), 0.9 * run.numbers[key]) for key in contacts},
            run.numbers,
        ),
        ("threshold charge", [_CHARGE], fitted.std, fitted.numbers),
        # One that the curve hardly tells may be off by more than its own size, too.
        ("traps", [_TRAPS], {_TRAPS: min(fitted.std[_TRAPS], 0.9 * fitted.numbers[_TRAPS])}, fitted.numbers),
        (
            "mobility",
            [_MOBILITY],
            {_MOBILITY: min(fitted.std[_MOBILITY], 0.9 * fitted.numbers[_MOBILITY])},
            fitted.numbers,
        ),
    )
    return tuple(factor(name, keys, std, actual) for name, keys, std, actual in rows if keys)
