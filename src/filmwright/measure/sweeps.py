"""From blocks to transfer curves: runs split at bias steps and turning points, families sliced."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from filmwright.measure.blocks import Block
from filmwright.measure.columns import Column
from filmwright.measure.curves import Array, OutputCurve
from filmwright.measure.curves import Sweep as Sweep

FEWEST_POINTS = 4
"""Gate voltages that a transfer curve needs at least."""

BIAS_STEP = 0.02
"""A bias counts as held while it moves by less than this share of itself."""

BIAS_JITTER = 0.002
"""… or by less than this [V]."""


@dataclass(frozen=True, kw_only=True)
class _Run:
    """Points of one drain current with all its voltages, in the order of measurement."""

    gate: Array
    drain: Array
    bulk: Array
    current: Array
    gate_current: Array
    block: int
    line: int

    def cut(self, rows: slice) -> _Run:
        return _Run(
            gate=self.gate[rows],
            drain=self.drain[rows],
            bulk=self.bulk[rows],
            current=self.current[rows],
            gate_current=self.gate_current[rows],
            block=self.block,
            line=self.line,
        )


def find_curves(
    blocks: Sequence[Block], file: str
) -> tuple[tuple[Sweep, ...], tuple[OutputCurve, ...], tuple[str, ...]]:
    """All transfer and output curves of a file, and what was noticed on the way.

    Parameters
    ----------
    blocks : sequence of Block
    file : str

    Returns
    -------
    tuple of Sweep, tuple of OutputCurve, tuple of str
    """
    notes: list[str] = []
    runs = [run for at, block in enumerate(blocks, 1) for run in _runs(block, at)]
    transfers: list[Sweep] = []
    outputs: list[_Run] = []
    pairs = itertools.count()
    for run in runs:
        for piece in _held(run):
            if _moves(piece.gate):
                transfers += _directions(piece, file, pairs)
            elif _moves(piece.drain):
                outputs.append(piece)
    if outputs and not transfers:
        transfers += _slices(outputs, file, notes)
    elif outputs:
        notes.append(f"{len(outputs)} output curves stand beside the transfer curves")
    if runs and not transfers and not notes:
        notes.append(f"no run of at least {FEWEST_POINTS} different gate voltages was found")
    families = tuple(curve for piece in outputs for curve in _output_curves(piece, file, pairs))
    return tuple(transfers), families, tuple(notes)


def _runs(block: Block, number: int) -> Iterable[_Run]:
    columns = block.columns
    for at, column in enumerate(columns):
        if column.role != "drain_current":
            continue
        source = _values(block, column, "source_voltage")
        source = np.where(np.isfinite(source), source, 0.0)
        gate = _values(block, column, "gate_voltage") - source
        current = block.values[:, at]
        good = np.isfinite(gate) & np.isfinite(current)
        if not np.any(good):
            continue
        yield _Run(
            gate=gate[good],
            drain=(_values(block, column, "drain_voltage") - source)[good],
            bulk=(_values(block, column, "bulk_voltage") - source)[good],
            current=current[good],
            gate_current=_values(block, column, "gate_current")[good],
            block=number,
            line=block.line,
        )


def _values(block: Block, current: Column, role: str) -> Array:
    """The column with this role that belongs to a drain current: same repeat, else shared, else stated."""
    alike = [at for at, column in enumerate(block.columns) if column.role == role]
    same = [at for at in alike if block.columns[at].group == current.group]
    shared = [at for at in alike if not block.columns[at].group or len(alike) == 1]
    if same or shared:
        return block.values[:, (same or shared)[0]]
    stated = current.biases.get(role, block.biases.get(role, np.nan))
    return np.full(len(block.values), stated)


def _tolerance(values: Array) -> float:
    finite = values[np.isfinite(values)]
    return max(BIAS_JITTER, BIAS_STEP * float(np.median(np.abs(finite)))) if finite.size else BIAS_JITTER


def _moves(values: Array) -> bool:
    finite = values[np.isfinite(values)]
    return bool(finite.size >= FEWEST_POINTS and np.ptp(finite) > 2 * _tolerance(finite[:1]))


def _changes(values: Array) -> NDArray[np.bool_]:
    """Whether each point differs from the one before by more than jitter."""
    step = np.abs(np.diff(values))
    size = np.maximum(np.abs(values[1:]), np.abs(values[:-1]))
    return np.nan_to_num(step, nan=0.0) > np.maximum(BIAS_JITTER, BIAS_STEP * np.nan_to_num(size, nan=0.0))


def _held(run: _Run) -> Iterable[_Run]:
    """Pieces in which the slower of gate and drain voltage, and the bulk voltage, are held."""
    gate_steps, drain_steps = np.abs(np.diff(run.gate)) > 0, _changes(run.drain)
    slow = drain_steps if gate_steps.sum() >= drain_steps.sum() else _changes(run.gate)
    if np.array_equal(gate_steps, drain_steps) and drain_steps.sum() > 2:
        slow = np.zeros_like(drain_steps)
    cuts = np.flatnonzero(slow | _changes(run.bulk)) + 1
    for start, stop in itertools.pairwise([0, *cuts.tolist(), len(run.gate)]):
        yield run.cut(slice(start, stop))


def _turns(gate: Array) -> list[tuple[int, int]]:
    """Pieces with the gate voltage moving one way, the turning point in both unless measured twice."""
    moves = np.diff(gate)
    usual = float(np.median(np.abs(moves[moves != 0]))) if np.any(moves != 0) else 0.0
    pieces, start, way = [], 0, 0.0
    for at, move in enumerate(moves):
        if move == 0:
            later = moves[at + 1 :]
            following = np.sign(later[later != 0][0]) if np.any(later != 0) else way
            if way and following != way and start != at + 1:
                pieces.append((start, at + 1))
                start, way = at + 1, 0.0
            continue
        if way and np.sign(move) != way:
            jump = abs(move) > 3 * usual
            pieces.append((start, at + 1))
            start, way = (at + 1, 0.0) if jump else (at, float(np.sign(move)))
            continue
        way = float(np.sign(move))
    pieces.append((start, len(gate)))
    return [(low, high) for low, high in pieces if len(np.unique(gate[low:high])) >= FEWEST_POINTS]


def _paired(swept: Array, pairs: Iterator[int]) -> Iterator[tuple[slice, bool, int]]:
    """One-way pieces of a sweep: where, whether rising, and the number it shares with the way back."""
    turns = [slice(low, high) for low, high in _turns(swept)]
    rising = [bool(swept[each][-1] > swept[each][0]) for each in turns]
    at = 0
    while at < len(turns):
        if at + 1 < len(turns) and rising[at] != rising[at + 1]:
            pair = next(pairs)
            yield turns[at], rising[at], pair
            yield turns[at + 1], rising[at + 1], pair
            at += 2
        else:
            yield turns[at], rising[at], -1
            at += 1


def _directions(piece: _Run, file: str, pairs: Iterator[int]) -> list[Sweep]:
    return [
        _sweep(piece.cut(where), file, rising, pair) for where, rising, pair in _paired(piece.gate, pairs)
    ]


def _output_curves(piece: _Run, file: str, pairs: Iterator[int]) -> Iterator[OutputCurve]:
    for where, rising, pair in _paired(piece.drain, pairs):
        part = piece.cut(where)
        gate, bulk = _bias(part.gate), _bias(part.bulk)
        drain, current, leak = _merged(part.drain, part.current, part.gate_current)
        forward = rising == (drain[-1] + drain[0] >= 0)
        yield OutputCurve(
            drain_voltage=drain,
            drain_current=current,
            gate_current=leak if np.any(np.isfinite(leak)) else None,
            gate_voltage=gate,
            direction="forward" if forward else "backward",
            pair=pair,
            bulk_voltage=bulk,
            file=file,
            label=f"block {part.block}, " + ("VG not given" if gate is None else f"VG {gate:g} V"),
            line=part.line,
        )


def _sweep(part: _Run, file: str, rising: bool, pair: int, sliced: bool = False) -> Sweep:
    drain, bulk = _bias(part.drain), _bias(part.bulk)
    gate, current, leak = _merged(part.gate, part.current, part.gate_current)
    words = [f"block {part.block}"]
    words += [f"VD {drain:g} V"] if drain is not None else ["VD not given"]
    words += [f"VB {bulk:g} V"] if bulk is not None else []
    words += ["cut out of the output curves"] if sliced else ["gate rising" if rising else "gate falling"]
    return Sweep(
        gate_voltage=gate,
        drain_current=current,
        gate_current=leak if np.any(np.isfinite(leak)) else None,
        drain_voltage=drain,
        bulk_voltage=bulk,
        rising=rising,
        pair=pair,
        file=file,
        label=", ".join(words),
        line=part.line,
        sliced=sliced,
    )


def _bias(values: Array) -> float | None:
    finite = values[np.isfinite(values)]
    return float(f"{np.median(finite):.6g}") if finite.size else None


def _merged(gate: Array, *others: Array) -> tuple[Array, ...]:
    """Points in order of gate voltage, repeats averaged."""
    unique, where, counts = np.unique(gate, return_inverse=True, return_counts=True)
    merged = [np.bincount(where, weights=each, minlength=len(unique)) / counts for each in others]
    return (unique, *merged)


def _slices(outputs: Sequence[_Run], file: str, notes: list[str]) -> list[Sweep]:
    """Transfer curves at the smallest and the largest drain voltage of an output family."""
    rising = [_first_way(run) for run in outputs]
    levels: dict[float, _Run] = {}
    for run in rising:
        levels.setdefault(float(f"{np.median(run.gate):.6g}"), run)
    if len(levels) < FEWEST_POINTS:
        notes.append(
            f"output curves at {len(levels)} gate voltages: a transfer curve needs at least {FEWEST_POINTS}"
        )
        return []
    gates = np.array(sorted(levels))
    family = [levels[float(each)] for each in gates]
    reach = min(np.max(np.abs(run.drain)) for run in family)
    drains = np.unique(np.concatenate([run.drain for run in family]))
    usable = drains[(np.abs(drains) > BIAS_JITTER) & (np.abs(drains) <= reach * (1 + BIAS_STEP))]
    if not usable.size:
        notes.append("the output curves have no drain voltage in common")
        return []
    chosen = [usable[np.argmin(np.abs(usable))], usable[np.argmax(np.abs(usable))]]
    notes.append(
        f"no gate sweep in the file: transfer curves were cut out of {len(family)} output curves at VD "
        + " and ".join(f"{each:.4g} V" for each in dict.fromkeys(chosen))
    )
    return [_slice(family, gates, float(each), file) for each in dict.fromkeys(chosen)]


def _first_way(run: _Run) -> _Run:
    turns = _turns(run.drain)
    part = run.cut(slice(*turns[0])) if turns else run
    order = np.argsort(part.drain, kind="stable")
    return _Run(
        gate=part.gate[order],
        drain=part.drain[order],
        bulk=part.bulk[order],
        current=part.current[order],
        gate_current=part.gate_current[order],
        block=part.block,
        line=part.line,
    )


def _slice(family: Sequence[_Run], gates: Array, drain: float, file: str) -> Sweep:
    cut = _Run(
        gate=gates,
        drain=np.full(len(gates), drain),
        bulk=np.array([np.median(run.bulk) for run in family]),
        current=np.array([np.interp(drain, run.drain, run.current) for run in family]),
        gate_current=np.array([np.interp(drain, run.drain, run.gate_current) for run in family]),
        block=family[0].block,
        line=family[0].line,
    )
    return _sweep(cut, file, rising=True, pair=-1, sliced=True)
