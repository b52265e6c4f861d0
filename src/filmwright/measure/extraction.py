"""From sweeps to results: type and sign found, curves on equal grids put together, pairs compared."""

from __future__ import annotations

import itertools
import os
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import NamedTuple

import numpy as np

from filmwright.measure.batch import Batch, extract_batch
from filmwright.measure.classes import EVIDENCE, SIGNED
from filmwright.measure.compliance import without_held
from filmwright.measure.context import Column, Known
from filmwright.measure.hysteresis import shifts, targets, turn_of
from filmwright.measure.refusals import WHYS
from filmwright.measure.results import CurveResult, Geometry, Parameter
from filmwright.measure.smoothing import FEWEST_FOR_NOISE, Array, third_differences
from filmwright.measure.sweeps import Sweep

CHUNK = 1024
"""Curves that are worked on together: enough for the arithmetic to outweigh the calls, few enough for two threads to share."""


APPARENT = 0.2
"""Share that contacts may have in the resistance from which mobilities are called apparent."""


class _Turned(NamedTuple):
    """A sweep in n-type signs."""

    grid: Array
    current: Array
    gate_current: Array
    drain: float
    sign: float
    largest: float
    """Largest current."""


class Extraction:
    """Parameters of many curves as arrays; a curve's own result is put into words when asked for."""

    def __init__(self, sweeps: Sequence[Sweep], geometries: Sequence[Geometry], threads: int = 1) -> None:
        self.sweeps = tuple(without_held(each) for each in sweeps)
        self.geometries = tuple(geometries)
        self._turned = _turn(self.sweeps)
        self._partner = _partners(self.sweeps)
        self._ionic = [self._ionic_evidence(at) for at in range(len(self.sweeps))]
        self._floor = _instrument_floors(self.sweeps, self._turned)
        self._targets = targets(np.array([each.largest for each in self._turned]), self._partner)
        self._batches: list[Batch] = []
        self._members: list[list[int]] = []
        self._paired: dict[str, Column] = {}
        self._place: list[tuple[int, int]] = [(0, 0)] * len(self.sweeps)
        groups = list(_alike(self._turned))
        if threads > 1 and len(groups) > 1:
            with ThreadPoolExecutor(threads) as pool:
                batches = list(pool.map(self._extract, groups))
        else:
            batches = [self._extract(members) for members in groups]
        for members, batch in zip(groups, batches, strict=True):
            self._place_all(members, batch)
        self._paired = self._compare_directions()

    def __len__(self) -> int:
        return len(self.sweeps)

    def __iter__(self) -> Iterator[CurveResult]:
        return (self.curve(at) for at in range(len(self)))

    def _extract(self, members: Sequence[int]) -> Batch:
        turned = [self._turned[at] for at in members]
        geometry = [self.geometries[at] for at in members]
        known = Known(
            drain_voltage=np.array([each.drain for each in turned]),
            width=np.array([each.width or np.nan for each in geometry]),
            length=np.array([each.length or np.nan for each in geometry]),
            areal_capacitance=np.array([each.areal_capacitance or np.nan for each in geometry]),
            contact_resistance=_or_nan([each.contact_resistance for each in geometry]),
            contact_resistance_std=_or_nan([each.contact_resistance_std for each in geometry]),
            temperature=np.array([each.temperature for each in geometry]),
            ionic=np.array([bool(self._ionic[at]) for at in members]),
            instrument_floor=self._floor[np.asarray(members)],
            held_at=_or_nan([self.sweeps[at].held_at for at in members]),
            targets=self._targets[np.asarray(members)],
        )
        currents = np.stack([each.current for each in turned])
        leaks = np.stack([each.gate_current for each in turned])
        return extract_batch(turned[0].grid, currents, leaks, known)

    def _place_all(self, members: Sequence[int], batch: Batch) -> None:
        for row, at in enumerate(members):
            self._place[at] = (len(self._batches), row)
        self._batches.append(batch)
        self._members.append(list(members))

    def values(self, name: str) -> tuple[Array, Array, np.ndarray[tuple[int], np.dtype[np.bool_]]]:
        """Value, standard deviation and validity of one parameter over all curves, SI, device signs."""
        if name in self._paired:
            column = self._paired[name]
            return np.array([each.sign for each in self._turned]) * column.value, column.std, column.valid
        value, std = np.full(len(self), np.nan), np.full(len(self), np.nan)
        valid = np.zeros(len(self), dtype=bool)
        signs = np.array([each.sign for each in self._turned])
        for batch, members in zip(self._batches, self._members, strict=True):
            if name == "threshold_voltage":
                root, line = _either(batch)
                pick = root.valid & ~line.valid
                value[members] = np.where(pick, root.value, line.value)
                std[members] = np.where(pick, root.std, line.std)
                valid[members] = np.where(pick, root.valid, line.valid)
                volts = True
            else:
                column = batch.columns[name]
                value[members], std[members], valid[members] = column.value, column.std, column.valid
                volts = column.volts
            if volts:
                value[members] *= signs[members]
        return value, std, valid

    def _column(self, name: str, batch: Batch, row: int) -> Column:
        if name != "threshold_voltage":
            return batch.columns[name]
        root, line = _either(batch)
        return root if root.valid[row] and not line.valid[row] else line

    def curve(self, at: int) -> CurveResult:
        """One curve's result in words."""
        sweep, turned = self.sweeps[at], self._turned[at]
        number, row = self._place[at]
        batch = self._batches[number]
        names = ["threshold_voltage", *batch.columns]
        parameters = {name: self._parameter(self._column(name, batch, row), at, row) for name in names}
        for name, column in self._paired.items():
            parameters[name] = self._parameter(column, at, at)
        classes = self._classes(at)
        return CurveResult(
            file=sweep.file,
            sweep=sweep.label,
            drain_voltage=sweep.drain_voltage,
            bulk_voltage=sweep.bulk_voltage,
            direction="forward" if sweep.rising == (turned.sign > 0) else "backward",
            type="n" if turned.sign > 0 else "p",
            parameters=parameters,
            classes=classes,
            warnings=tuple(f"{name}: {evidence}" for name, evidence in classes.items()) + self._cautions(at),
        )

    def _words(self, at: int) -> dict[str, object]:
        number, row = self._place[at]
        words = {name: float(each[row]) for name, each in self._batches[number].numbers.items()}
        signed = {f"{name}_shown": self._turned[at].sign * words[name] for name in SIGNED}
        return {**words, **signed, "missing": self.geometries[at].missing(), "ionic": self._ionic[at]}

    def _parameter(self, column: Column, at: int, row: int) -> Parameter:
        sign = self._turned[at].sign
        value, std = column.value[row], column.std[row]
        refused = [key for key, flags in column.refusals.items() if flags[row]]
        if not refused and not np.isfinite(value):
            refused = ["noisy"]
        bounded = bool(refused) and refused[0] in (
            "floor-limited",
            "held",
            "few decades",
            "steeper below",
            "coarse",
            "upper",
            "one curve",
            "gate noise",
        )
        enough = {"dead", "ionic", "geometry", "size"}
        refused = refused[:1] if enough & set(refused[:1]) else refused[:3]
        shown = np.isfinite(value) and not enough & set(refused)
        words = {**self._words(at), **{name: each[row] for name, each in column.numbers.items()}}
        ends = sorted((sign * float(column.low[row]), sign * float(column.high[row])))
        shown_value = float(sign * value if column.volts else value) if shown else None
        shown_std = float(std) if shown and np.isfinite(std) and not bounded else None
        note = ""
        if any(column is each for each in self._paired.values()) and shown_value is not None:
            note = turn_of(shown_value, shown_std, "n" if sign > 0 else "p")
        return Parameter(
            value=shown_value,
            std=shown_std,
            unit=column.unit,
            method=column.method,
            window=(ends[0], ends[1]) if shown and np.all(np.isfinite(ends)) else None,
            valid=not refused,
            why_not="; ".join(WHYS[key].format(**words) for key in refused),
            bound=column.bound if bounded else "",
            note=note,
        )

    def _parameter_named(self, name: str, at: int) -> Parameter:
        number, row = self._place[at]
        return self._parameter(self._column(name, self._batches[number], row), at, row)

    def _classes(self, at: int) -> dict[str, str]:
        number, row = self._place[at]
        words = self._words(at)
        found = {
            name: EVIDENCE[name].format(**words)
            for name, flags in self._batches[number].classes.items()
            if flags[row]
        }
        if self._ionic[at]:
            found["ionic gate"] = self._ionic[at]
        return found

    def _cautions(self, at: int) -> tuple[str, ...]:
        sweep = self.sweeps[at]
        cautions = list(sweep.warnings)
        count = len(sweep.gate_voltage)
        if count < FEWEST_FOR_NOISE:
            cautions.append(
                f"{count} gate voltages: noise and shape cannot be told apart, so no error is given"
            )
        if sweep.sliced:
            cautions.append(
                "cut out of output curves: the points of one curve were measured in different sweeps"
            )
        share = self._parameter_named("contact_share", at)
        if share.bound and (share.value or 0.0) > APPARENT and self.geometries[at].contact_resistance is None:
            cautions.append(
                f"mobilities are apparent: contacts may hold up to {share.value:.0%} of the resistance (more than {APPARENT:.0%})"
            )
        if self.geometries[at].fringe:
            cautions.append(
                "mobilities are overstated: the channel film is wider than the contacts, current flows beside them"
            )
        return tuple(cautions)

    def _compare_directions(self) -> dict[str, Column]:
        """Shift between the directions of every pair, over all sweeps."""
        crossed = np.stack([self._batches[batch].crossed[row] for batch, row in self._place])
        errors = np.stack([self._batches[batch].crossed_std[row] for batch, row in self._place])
        clear = np.array([self._batches[batch].clear[row] for batch, row in self._place])
        dead = np.array([self._batches[batch].classes["dead"][row] for batch, row in self._place])
        signs = np.array([each.sign for each in self._turned])
        value, std, good = self.values("threshold_voltage")
        threshold = (signs * value, std, good)
        forward = np.array([each.rising for each in self.sweeps]) == (signs > 0)
        return shifts(
            self._partner, forward, (self._targets, crossed, errors, clear), threshold, {"dead": dead}
        )

    def _ionic_evidence(self, at: int) -> str:
        """Why the gate is taken for ionic; empty when it is not.

        A dielectric gate may show a displacement current, but not together with a current that saturates at
        low V_D
        while the device is normally on: there the film is doped through by ions.
        """
        stated = self.geometries[at].gate
        if stated:
            return "as stated" if stated == "ionic" else ""
        other = self._partner[at]
        if other < 0:
            return ""
        pair = [self._turned[each] for each in (at, other)]
        if pair[0].sign != pair[1].sign or any(not np.isfinite(each.gate_current).all() for each in pair):
            return ""
        if (
            any(len(each.grid) < FEWEST_FOR_NOISE for each in pair)
            or pair[0].grid[0] >= 0
            or pair[0].grid[-1] <= 0
        ):
            return ""
        leak = [float(np.median(each.gate_current)) for each in pair]
        noise = max(
            float(np.median(np.abs(third_differences(each.grid, each.gate_current[None])))) for each in pair
        )
        loop = leak[0] * leak[1] < 0 and min(abs(each) for each in leak) > 3 * noise
        normally_on = any(
            float(np.interp(0.0, each.grid, each.current)) > 0.1 * each.current.max() for each in pair
        )
        full = any(_fills(each) for each in pair)
        if not (loop and normally_on and full):
            return ""
        return (
            f"the gate current runs in a loop ({leak[0]:.2g} A one way, {leak[1]:.2g} A the other), "
            "the device is normally on and its transconductance falls away inside the sweep"
        )


def _either(batch: Batch) -> tuple[Column, Column]:
    """The two thresholds of which one is called the threshold of a curve."""
    return batch.columns["threshold_voltage_saturation"], batch.columns["threshold_voltage_linear"]


def _or_nan(values: Sequence[float | None]) -> Array:
    return np.array([np.nan if value is None else value for value in values])


def _fills(turned: _Turned) -> bool:
    """Whether the transconductance has fallen below a tenth of its largest before the end of the sweep."""
    slope = np.gradient(turned.current, turned.grid)
    return float(np.mean(slope[-max(3, len(slope) // 20) :])) < 0.1 * float(slope.max())


def _turn(sweeps: Sequence[Sweep]) -> list[_Turned]:
    """The sweeps in n-type signs; the type follows from the side on which the current is large."""
    ends = np.zeros((len(sweeps), 6))
    lengths: dict[int, list[int]] = {}
    for at, sweep in enumerate(sweeps):
        lengths.setdefault(len(sweep.drain_current), []).append(at)
    for count, members in lengths.items():
        part = max(2, count // 5)
        currents = np.array([sweeps[at].drain_current for at in members])
        bottom, top = currents[:, :part], currents[:, -part:]
        ends[members] = np.stack(
            [
                *(np.median(each, axis=1) for each in (np.abs(bottom), np.abs(top), bottom, top)),
                currents.min(axis=1),
                currents.max(axis=1),
            ],
            axis=1,
        )
    return [_turned(sweep, end) for sweep, end in zip(sweeps, ends.tolist(), strict=True)]


def _turned(sweep: Sweep, ends: Sequence[float]) -> _Turned:
    """``ends``: medians of size and of current over the lowest and highest fifth, least and largest current."""
    low, high, low_signed, high_signed, least, most = ends
    if max(low, high) > 2 * min(low, high) or not sweep.drain_voltage:
        sign = 1.0 if high >= low else -1.0
    else:
        sign = 1.0 if sweep.drain_voltage > 0 else -1.0
    polarity = -1.0 if (high_signed if sign > 0 else low_signed) < 0 else 1.0
    drain = np.nan if sweep.drain_voltage is None else abs(sweep.drain_voltage)
    grid, current, leak = sweep.gate_voltage, sweep.drain_current, sweep.gate_current
    if leak is None:
        leak = np.full(len(grid), np.nan)
    if sign < 0:
        grid, current, leak = np.ascontiguousarray(-grid[::-1]), current[::-1], -leak[::-1]
    turned, largest = (current, most) if polarity > 0 else (-current, -least)
    return _Turned(grid, turned, leak, drain, sign, largest)


def _instrument_floors(sweeps: Sequence[Sweep], turned: Sequence[_Turned]) -> Array:
    """Floor that sweeps of a file show by an off current of the wrong sign, which no channel carries."""
    floors: dict[str, float] = {}
    for sweep, each in zip(sweeps, turned, strict=True):
        if sweep.file and len(each.grid) >= FEWEST_FOR_NOISE:
            off = each.current[: max(3, len(each.grid) // 20)]
            size = float(np.mean(np.abs(off)))
            if np.mean(off) < 0.5 * size and size < 0.01 * float(each.current.max()):
                floors[sweep.file] = max(floors.get(sweep.file, 0.0), size)
    return np.array([floors.get(sweep.file, 0.0) for sweep in sweeps])


def _partners(sweeps: Sequence[Sweep]) -> list[int]:
    first: dict[tuple[str, int], int] = {}
    partner = [-1] * len(sweeps)
    for at, sweep in enumerate(sweeps):
        if sweep.pair < 0:
            continue
        key = (sweep.file, sweep.pair)
        if key in first:
            partner[at], partner[first[key]] = first[key], at
        else:
            first[key] = at
    return partner


def _alike(turned: Sequence[_Turned]) -> Iterator[list[int]]:
    """Curves on the same gate voltages (to a thousandth of a step), in chunks."""
    same: dict[bytes, list[int]] = {}
    for at, each in enumerate(turned):
        same.setdefault(each.grid.tobytes(), []).append(at)
    groups: dict[bytes, list[int]] = {}
    for members in same.values():
        grid = turned[members[0]].grid
        step = (grid[-1] - grid[0]) / (len(grid) - 1)
        key = np.round(grid / step * 1000).tobytes() + step.hex()[:8].encode()
        groups.setdefault(key, []).extend(members)
    for members in map(sorted, groups.values()):
        for start in range(0, len(members), CHUNK):
            yield members[start : start + CHUNK]


def extract_many(
    sweeps: Sequence[Sweep],
    geometry: Geometry | Sequence[Geometry] | None = None,
    threads: int | None = None,
) -> Extraction:
    """Parameters of many curves, as arrays.

    Parameters
    ----------
    sweeps : sequence of Sweep
    geometry : Geometry, sequence of Geometry (one for each sweep) or None
    threads : int or None
        Among which the curves are shared out; None takes one for each core, four at most.

    Returns
    -------
    Extraction
        ``values(name)`` gives value, standard deviation and validity of all curves as arrays; ``curve(at)``
        one
        curve in words; it can be walked through.

    Raises
    ------
    ValueError
        If the numbers of sweeps and geometries differ.

    References
    ----------
    As for :func:`extract`.
    """
    if geometry is None or isinstance(geometry, Geometry):
        geometry = list(itertools.repeat(geometry or Geometry(), len(sweeps)))
    if len(geometry) != len(sweeps):
        raise ValueError(f"one geometry for each sweep is needed, got {len(geometry)} for {len(sweeps)}")
    return Extraction(sweeps, geometry, threads or min(os.cpu_count() or 1, 4))


def extract(sweeps: Sequence[Sweep], geometry: Geometry | None = None) -> tuple[CurveResult, ...]:
    """Parameters of each curve, with definition, error, window and validity.

    Equation: those of ``filmwright.device`` (``tangent_intercept``, ``linear_mobility``,
    ``saturation_mobility``); the
    standard deviation is the noise of the points carried through the weights of the smoothing, with the
    scatter
    over equally steep places.

    Parameters
    ----------
    sweeps : sequence of Sweep
    geometry : Geometry or None
        The same for all; what is not known is refused with the reason. Valid range: checked when it is made.

    Returns
    -------
    tuple of CurveResult

    References
    ----------
    JEDEC dictionary, extrapolated threshold voltage (published); A. Ortiz-Conde et al., Microelectron.
    Reliab. 42,
    583 (2002), doi:10.1016/S0026-2714(02)00027-6 (from memory); A. Savitzky, M. J. E. Golay, Anal. Chem. 36,
    1627
    (1964), doi:10.1021/ac60214a047 (from memory).
    """
    return tuple(extract_many(sweeps, geometry))
