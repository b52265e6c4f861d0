"""Curves that belong to one device in one direction, put together as points that one set of parameters must meet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from filmwright.measure.curves import OutputCurve, Sweep
from filmwright.measure.extraction import Extraction
from filmwright.measure.results import CurveResult
from filmwright.measure.smoothing import FEWEST_FOR_NOISE, Array, read_noise

BLIND_SHARE, BLIND_FLOOR = 0.02, 1e-4
"""Noise that is taken where a curve has too few points to show its own: of the current, and of the largest one."""

_EXACT = 1e-7
"""Of the largest current of a curve, the least noise that a point is given: data without noise keep a finite weight."""


@dataclass(frozen=True, kw_only=True)
class Family:
    """Points of one device in one direction, in n-type signs.

    Attributes
    ----------
    gate, drain : array (n,) [V]
    current : array (n,) [A]
    floor, share : array (n,)
        Noise of each point: floor² + (share·current)², floor in [A].
    curve : array (n,) of int
        Which curve a point belongs to.
    labels : tuple of str
        What each curve is, in words.
    noise_known : bool
        False where a curve is too short to show its noise.
    sign : float
        +1 for an n-type device, −1 for a p-type one.
    results : tuple of CurveResult
        The extraction of its transfer curves, for type, classes and starting values.
    file, device : str
    direction : "forward" or "backward"
    bulk_voltage : float [V] or None
    leak : float
        Largest share of the gate current in the drain current at the largest drain current; NaN where not measured.
    left_out : int
        Points that were measured but do not belong to the channel of this type.
    """

    gate: Array
    drain: Array
    current: Array
    floor: Array
    share: Array
    curve: NDArray[np.intp]
    labels: tuple[str, ...]
    noise_known: bool
    sign: float
    results: tuple[CurveResult, ...]
    file: str
    device: str
    direction: str
    bulk_voltage: float | None
    leak: float
    left_out: int = 0


@dataclass(frozen=True)
class _Curve:
    """One curve in n-type signs: along the swept voltage, from low currents to high ones."""

    gate: Array
    drain: Array
    current: Array
    swept: Array
    leak: Array | None
    label: str


def families_of(extraction: Extraction, outputs: Sequence[OutputCurve] = ()) -> tuple[Family, ...]:
    """The families of what was extracted and of the output curves beside it: by file, device, bulk bias and direction.

    Transfer curves that were cut out of output curves stand back for those curves.

    Parameters
    ----------
    extraction : Extraction
    outputs : sequence of OutputCurve

    Returns
    -------
    tuple of Family
    """
    results = list(extraction)
    groups: dict[tuple[str, str, float | None, str], list[Sweep]] = {}
    told: dict[tuple[str, str, float | None, str], list[CurveResult]] = {}
    drawn: dict[tuple[str, str, float | None, str], list[OutputCurve]] = {}
    for sweep, result in zip(extraction.sweeps, results, strict=True):
        key = (sweep.file, sweep.device, sweep.bulk_voltage, result.direction)
        groups.setdefault(key, []).append(sweep)
        told.setdefault(key, []).append(result)
    for curve in outputs:
        key = (curve.file, curve.device, curve.bulk_voltage, curve.direction)
        key = (
            key
            if key in groups
            else next((each for each in groups if each[:2] == key[:2] and key[3] == each[3]), key)
        )
        drawn.setdefault(key, []).append(curve)
    return tuple(
        family
        for key, sweeps in groups.items()
        if (family := _family(key, sweeps, told[key], drawn.get(key, []))) is not None
    )


def _family(
    key: tuple[str, str, float | None, str],
    sweeps: Sequence[Sweep],
    results: Sequence[CurveResult],
    outputs: Sequence[OutputCurve],
) -> Family | None:
    file, device, bulk, direction = key
    sign = 1.0 if results[0].type == "n" else -1.0
    own = [sweep for sweep in sweeps if not (sweep.sliced and outputs)]
    curves = [_transfer(sweep, sign) for sweep in own if sweep.drain_voltage]
    curves += [_output(each, sign) for each in outputs if each.gate_voltage is not None]
    curves = [each for each in curves if len(each.current)]
    if not curves:
        return None
    kept = [_kept(each, results) for each in curves]
    noises = [_noise(each, rows) for each, rows in zip(curves, kept, strict=True)]
    parts = list(zip(curves, kept, noises, strict=True))
    joined = {
        name: np.concatenate([getattr(each, name)[rows] for each, rows, _ in parts])
        for name in ("gate", "drain", "current")
    }
    counts = [int(rows.sum()) for rows in kept]
    return Family(
        **joined,
        floor=np.concatenate([np.full(count, each[0]) for count, each in zip(counts, noises, strict=True)]),
        share=np.concatenate([np.full(count, each[1]) for count, each in zip(counts, noises, strict=True)]),
        curve=np.repeat(np.arange(len(curves)), counts),
        labels=tuple(each.label for each in curves),
        noise_known=all(each[2] for each in noises),
        sign=sign,
        results=tuple(results),
        file=file,
        device=device,
        direction=direction,
        bulk_voltage=bulk,
        leak=_leak(curves),
        left_out=sum(len(rows) - int(rows.sum()) for rows in kept)
        + sum(len(each.left_out) for each in own if each.left_out is not None),
    )


def _upright(current: Array, drain: Array) -> Array:
    """The current with a positive sign at a positive drain voltage, whatever the instrument calls it."""
    top = current[np.argmax(np.abs(current))] if len(current) else 1.0
    return -current if top < 0 else current


def _transfer(sweep: Sweep, sign: float) -> _Curve:
    order = slice(None) if sign > 0 else slice(None, None, -1)
    gate = sign * sweep.gate_voltage[order]
    drain = np.full(len(gate), abs(sweep.drain_voltage or 0.0))
    leak = None if sweep.gate_current is None else sweep.gate_current[order]
    return _Curve(gate, drain, _upright(sweep.drain_current[order], drain), gate, leak, sweep.label)


def _output(curve: OutputCurve, sign: float) -> _Curve:
    drain = sign * curve.drain_voltage
    order = np.argsort(drain)
    order = order[drain[order] > 0]
    drain = drain[order]
    gate = np.full(len(drain), sign * (curve.gate_voltage or 0.0))
    leak = None if curve.gate_current is None else curve.gate_current[order]
    return _Curve(gate, drain, _upright(curve.drain_current[order], drain), drain, leak, curve.label)


def _kept(curve: _Curve, results: Sequence[CurveResult]) -> NDArray[np.bool_]:
    """Points of the channel: finite, off the side of the other carriers, below the limit of the instrument."""
    rows = np.isfinite(curve.current) & np.isfinite(curve.gate) & np.isfinite(curve.drain)
    if curve.swept is not curve.gate:
        return rows
    classes = {name for result in results for name in result.classes}
    if "ambipolar" in classes:
        rows &= np.arange(len(rows)) >= int(np.argmin(np.abs(curve.current)))
    return rows


def _noise(curve: _Curve, rows: NDArray[np.bool_]) -> tuple[float, float, bool]:
    """Floor [A] and share of the noise of a curve, and whether the curve shows it."""
    current = curve.current[rows]
    if not len(current):
        return 0.0, 0.0, True
    largest = float(np.abs(current).max())
    floor, share, known = BLIND_FLOOR * largest, BLIND_SHARE, False
    if len(current) >= FEWEST_FOR_NOISE:
        found = read_noise(curve.swept[rows], current[None])
        if np.isfinite(found.floor[0]):
            floor, share, known = float(found.floor[0]), float(found.share[0]), True
    return max(floor, _EXACT**2 * largest), max(share, _EXACT), known


def _leak(curves: Sequence[_Curve]) -> float:
    shares = []
    for each in curves:
        if each.leak is not None and np.any(each.current > 0):
            top = int(np.argmax(each.current))
            shares.append(abs(float(each.leak[top])) / float(each.current[top]))
    finite = [share for share in shares if np.isfinite(share)]
    return min(finite) if finite else float("nan")
