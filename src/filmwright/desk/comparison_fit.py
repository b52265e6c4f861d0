"""The physical model laid through one measured transfer curve: charge, traps and mobility, and whether it reproduces the curve."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from filmwright.device import ChargeTable, GatedFilm, charge_table, film_current, thermal_voltage
from filmwright.emulate import Prediction, assembled
from filmwright.measure import Geometry, Sweep, extract_many
from filmwright.numerics import Fitted, fit_errors, fit_many
from filmwright.units import ELEMENTARY_CHARGE

Array = NDArray[np.float64]

ON = "on current"
THRESHOLD, FIELD_EFFECT, SWING = "threshold voltage", "field effect mobility", "subthreshold swing"
NAMES = {
    THRESHOLD: "threshold_voltage",
    FIELD_EFFECT: "field_effect_mobility",
    SWING: "subthreshold_swing",
}
"""The compared numbers, read off measured and predicted curves by the same definitions."""

CHARGE, TRAPS, MOBILITY = "interface charge", "interface trap density", "mobility"
FITTED = (CHARGE, MOBILITY, TRAPS)

_PART, _LEAST = 0.02, 1e-3
"""Weights of the fit: part of the current, and of the largest current below which nothing is looked into."""
_QUIET, _DIFFERENCE = 0.02, 1e-3
"""Below which of the sorted currents the floor lies; step of the differences."""
_TAIL = 3.0
"""Weighted misfit from which a point counts less: a model that is not quite the device must not be bent to its steepest points."""
_GOOD = 2.0
"""Mean weighted misfit above which the fit is begun from all starts, not from the nearest alone."""
_ROOM = 2.0
"""How far beside zero and the extracted shift the fit may move the threshold [V]."""
_WIDE = 5.0
"""… and beside one the mobility and the traps [natural logarithm]."""
_ALIKE, _NEAR = 0.1, 0.02
"""A curve is reproduced when on current and mobility are met to this part, the threshold to this part of the swept voltages."""
_UNTOLD = 1.0
"""Standard deviation of the logarithm from which a size counts as not told by the curve."""

Read = Mapping[str, tuple[float, float]]
"""Number → value and standard deviation [SI]; NaN where there is none."""


class FilmModel:
    """Numbers of a prediction → what is read off the predicted transfer curve.

    Poisson's equation is solved once for each semiconductor; what lies before it is added.
    """

    def __init__(self, prediction: Prediction, sweep: Sweep, geometry: Geometry) -> None:
        self.prediction, self.sweep, self.geometry = prediction, sweep, geometry
        self._curves: dict[tuple[tuple[str, float], ...], Sweep] = {}
        self._tables: dict[GatedFilm, ChargeTable] = {}
        made = prediction.transistor
        offset = made.offset if made is not None else 0.0
        self._capacitance = prediction.design.areal_capacitance
        gate, drain = sweep.gate_voltage, abs(sweep.drain_voltage or 0.0)
        # Whole volts, so that devices of one wafer find the table made.
        self._low = math.floor(float(np.min(gate)) - drain - offset) - 4.0
        self._high = 2.0 * math.ceil(max(float(np.max(gate)) - offset, 0.0)) + 6.0

    def read(self, sets: Sequence[Mapping[str, float]]) -> dict[str, Array]:
        """Every compared number for every set of parameters."""
        curves = [self.curve(each) for each in sets]
        result = extract_many(curves, self.geometry)
        found = {}
        for name, key in NAMES.items():
            value, _, _ = result.values(key)
            found[name] = np.where(np.isfinite(value), value, np.nan)
        return {ON: np.array([float(curve.drain_current[-1]) for curve in curves]), **found}

    def curve(self, numbers: Mapping[str, float]) -> Sweep:
        """The predicted curve on the measured gate voltages; each set of numbers is solved once."""
        key = tuple(sorted(numbers.items()))
        if key not in self._curves:
            made = assembled(self.prediction, numbers, self._table)
            gate, drain = self.sweep.gate_voltage, self.sweep.drain_voltage or 0.0
            table = self._table(made.film)
            enough = float(np.max(gate)) - min(drain, 0.0) - made.offset <= table.highest
            current = film_current(made, gate, np.full(len(gate), drain), table if enough else None)
            self._curves[key] = replace(self.sweep, drain_current=current, gate_current=None, pair=-1)
        return self._curves[key]

    def _table(self, film: GatedFilm) -> ChargeTable:
        if film not in self._tables:
            bare = replace(
                film, areal_capacitance=self._capacitance, interface_states=0.0, interface_neutral=0.0
            )
            self._tables[film] = charge_table(bare, self._low, self._high).behind(film)
        return self._tables[film]


@dataclass(frozen=True, kw_only=True)
class CurveFit:
    """Numbers with charge, traps and mobility as fitted.

    Attributes
    ----------
    numbers : mapping from property or size to float [SI]
    std : mapping from the three to float [SI]
        Infinite where the curve does not tell it.
    missed : str
        By how much the fit misses the measured curve; empty where it reproduces it.
    answers : mapping from the three to array (n) [SI/A]
        How they answer a change of the measured currents.
    """

    numbers: Mapping[str, float]
    std: Mapping[str, float]
    answers: Mapping[str, Array]
    missed: str = ""


def followed(model: FilmModel, fit: CurveFit, stds: Mapping[str, float]) -> dict[str, dict[str, float]]:
    """How far the three would move, were another number off by its standard deviation.

    Equation: δx = −(JᵀwJ)⁻¹·Jᵀw·δr, with δr what the move changes of the curve

    Parameters
    ----------
    model : FilmModel
    fit : CurveFit
    stds : mapping from property or size to float [SI]
        Of what was not fitted.

    Returns
    -------
    mapping from property or size to a mapping from the three to float [SI]; without those that the curve does not tell
    """
    here = model.curve(fit.numbers).drain_current
    found = {}
    for name, std in stds.items():
        change = model.curve({**fit.numbers, name: fit.numbers[name] + std}).drain_current - here
        found[name] = {
            each: -float(answer @ change)
            for each, answer in fit.answers.items()
            if math.isfinite(fit.std[each])
        }
    return found


def fitted(model: FilmModel, run: Prediction, measured: Read) -> CurveFit:
    """Charge, traps and mobility with which the physical model meets the whole measured curve.

    Least squares in parts of the current (and of the floor of the curve), derivatives by differences, from several starts of which
    the others follow from the extracted threshold, mobility and swing; the standard deviations follow from what is left.

    Parameters
    ----------
    model : FilmModel
    run : Prediction
        Where it begins.
    measured : mapping from number to value and standard deviation [SI]
    """
    per_volt = run.design.areal_capacitance / ELEMENTARY_CHARGE
    currents = model.sweep.drain_current
    # What flows beside the channel is no matter of charge, mobility or traps: the smallest currents are not looked into.
    least = float(max(np.quantile(np.abs(currents), _QUIET), _LEAST * np.max(np.abs(currents))))
    weight = 1.0 / (_PART * np.maximum(np.abs(currents), least) + least)
    traps = max(run.numbers[TRAPS], 1e-6 * per_volt / ELEMENTARY_CHARGE)

    def numbers(x: Array) -> dict[str, float]:
        return {
            **run.numbers,
            CHARGE: run.numbers[CHARGE] + per_volt * float(x[0]),
            MOBILITY: run.numbers[MOBILITY] * math.exp(float(x[1])),
            TRAPS: traps * math.exp(float(x[2])),
        }

    def one(x: Array) -> Array:
        result: Array = (model.curve(numbers(x)).drain_current - currents) * weight
        return result

    def problem(x: Array, rows: np.ndarray[tuple[int], np.dtype[np.intp]]) -> tuple[Array, Array]:
        here = [one(each) for each in x]
        slopes = [
            [(one(each + step) - rest) / _DIFFERENCE for step in _DIFFERENCE * np.eye(3)]
            for each, rest in zip(x, here, strict=True)
        ]
        return np.array(here), np.array(slopes)

    start = _starts(model, run, measured, traps)
    room = np.array([_ROOM, _WIDE, _WIDE])
    low, high = np.min(start, axis=0) - room, np.max(start, axis=0) + room

    def ended(starts: Array) -> Fitted:
        return fit_many(problem, starts, low, high, tail=_TAIL, rounds=15, tolerance=1e-5)

    nearest = int(np.argmin([float(np.sum(np.abs(one(each)))) for each in start]))
    found, best = ended(start[nearest : nearest + 1]), 0
    if float(np.sqrt(np.mean(found.residual[0] ** 2))) > _GOOD or _missed(
        model, numbers(found.x[0]), measured
    ):
        found = ended(start)
        best = int(np.argmin(np.where(np.isfinite(found.cost), found.cost, np.inf)))
    end = numbers(found.x[best])
    std = fit_errors(found, noise_known=False).std[best]
    scale = {CHARGE: per_volt, MOBILITY: end[MOBILITY], TRAPS: end[TRAPS]}
    # What the weighted currents say of each unknown.
    pulls = found.slopes[best] * found.weights[best]
    answers = np.linalg.pinv(pulls @ found.slopes[best].T, hermitian=True) @ (pulls * weight)
    told = {CHARGE: _ROOM, MOBILITY: _UNTOLD, TRAPS: _UNTOLD}
    return CurveFit(
        numbers=end,
        std={
            name: float(size) * scale[name] if size < told[name] else math.inf
            for name, size in zip(FITTED, std, strict=True)
        },
        answers={name: scale[name] * row for name, row in zip(FITTED, answers, strict=True)},
        missed=_missed(model, end, measured),
    )


def _starts(model: FilmModel, run: Prediction, measured: Read, traps: float) -> Array:
    """From what is on file, and from the extracted numbers: threshold → charge, mobility, swing → traps."""
    predicted = {name: float(each[0]) for name, each in model.read([run.numbers]).items()}
    shift = measured[THRESHOLD][0] - predicted[THRESHOLD]
    ratio = measured[FIELD_EFFECT][0] / predicted[FIELD_EFFECT]
    if not (ratio > 0 and math.isfinite(ratio)):
        ratio = measured[ON][0] / predicted[ON]
    moved = [-shift if math.isfinite(shift) else 0.0, math.log(ratio) if ratio > 0 else 0.0]
    # Swing = kT/q·ln 10·(1 + q·D_it/C): what it lies above the predicted one is interface states.
    unit = math.log(10.0) * float(thermal_voltage(run.temperature))
    more = (
        (measured[SWING][0] - predicted[SWING]) / unit * run.design.areal_capacitance / ELEMENTARY_CHARGE**2
    )
    steeper = math.log(max(1.0 + more / traps, math.exp(-_WIDE))) if math.isfinite(more) else 0.0
    return np.array([[0.0, 0.0, 0.0], [*moved, 0.0], [*moved, steeper]])


def _missed(model: FilmModel, end: Mapping[str, float], measured: Read) -> str:
    """How far the fitted curve lies from the measured one, where that is too far."""
    told = {name: float(each[0]) for name, each in model.read([end]).items()}
    span = float(np.ptp(model.sweep.gate_voltage))
    said = []
    for name in (ON, FIELD_EFFECT):
        value, std = measured[name]
        off = told[name] - value
        if math.isfinite(value) and not abs(off) <= max(_ALIKE * abs(value), 3.0 * std):
            said.append(f"the {name} by {abs(off / value):.0%}" if math.isfinite(off) else f"any {name}")
    value, std = measured[THRESHOLD]
    off = told[THRESHOLD] - value
    if not abs(off) <= max(_NEAR * span, 3.0 * std):
        said.append(f"the {THRESHOLD} by {abs(off):.2g} V" if math.isfinite(off) else f"any {THRESHOLD}")
    return ", ".join(said)
