"""From runs to curves: split at bias steps and turning points, families sliced at constant drain voltage."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from filmwright.measure.blocks import Block
from filmwright.measure.compliance import without_held
from filmwright.measure.curves import Array, OutputCurve
from filmwright.measure.curves import Sweep as Sweep
from filmwright.measure.runs import (
    BIAS_JITTER,
    BIAS_STEP,
    FEWEST_POINTS,
    Run,
    find_runs,
    held_value,
    moves,
    one_way,
    pieces,
)


def find_curves(
    blocks: Sequence[Block], file: str, sha256: str = ""
) -> tuple[tuple[Sweep, ...], tuple[OutputCurve, ...], tuple[str, ...]]:
    """All transfer and output curves of a file, and what was noticed on the way.

    Parameters
    ----------
    blocks : sequence of Block
    file, sha256 : str

    Returns
    -------
    tuple of Sweep, tuple of OutputCurve, tuple of str
    """
    runs, notes = find_runs(blocks)
    transfers: list[Sweep] = []
    outputs: list[Run] = []
    pairs = itertools.count()
    origin = (file, sha256)
    for run in runs:
        for piece in pieces(run):
            if moves(piece.gate):
                transfers += _directions(piece, origin, pairs, notes)
            elif moves(piece.drain):
                known = np.isfinite(piece.drain)
                outputs.append(piece if known.all() else piece.cut(known))
    transfers = _sides_paired(transfers, runs, pairs)
    if outputs and not transfers:
        transfers += _slices(outputs, origin, notes)
    elif outputs:
        notes.append(f"{len(outputs)} output curves stand beside the transfer curves")
    if runs and not transfers and not notes:
        notes.append(f"no run of at least {FEWEST_POINTS} different gate voltages was found")
    families = tuple(curve for piece in outputs for curve in _output_curves(piece, origin, pairs))
    return tuple(transfers), families, tuple(notes)


def _paired(swept: Array, way: Array, pairs: Iterator[int]) -> Iterator[tuple[slice, bool, int]]:
    """One-way pieces of a sweep: where, whether rising, and the number it shares with the way back."""
    turns = [slice(low, high) for low, high in one_way(swept, way)]
    rising = [bool(swept[each][-1] > swept[each][0]) for each in turns]
    for at in range(1, len(turns)):
        told, before = way[turns[at].start], way[turns[at - 1].start]
        if told * before < 0 and rising[at] == rising[at - 1]:
            # A way back that is written in the order of the way there.
            rising[at] = not rising[at]
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


def _directions(piece: Run, origin: tuple[str, str], pairs: Iterator[int], notes: list[str]) -> list[Sweep]:
    found = []
    for where, rising, pair in _paired(piece.gate, piece.way, pairs):
        sweep = _sweep(piece.cut(where), origin, rising, pair)
        if sweep is None:
            notes.append("a gate sweep is left out: all but a few of its points are over range or limited")
        else:
            found.append(sweep)
    return found


def _sides_paired(sweeps: list[Sweep], runs: Sequence[Run], pairs: Iterator[int]) -> list[Sweep]:
    """The two directions that stand side by side in columns of their own are one measurement."""
    ways = [float(run.way[0]) for run in runs]
    if (
        len(sweeps) != len(runs)
        or not (1.0 in ways and -1.0 in ways)
        or any(each.pair >= 0 for each in sweeps)
    ):
        return sweeps
    open_at: dict[tuple[object, ...], int] = {}
    for at, (sweep, way) in enumerate(zip(sweeps, ways, strict=True)):
        key = (sweep.line, sweep.device, sweep.drain_voltage, sweep.bulk_voltage, sweep.temperature)
        before = open_at.pop(key, None)
        if before is None or ways[before] * way >= 0:
            open_at[key] = at
            continue
        pair = next(pairs)
        sweeps[before] = replace(sweeps[before], pair=pair)
        sweeps[at] = replace(sweep, pair=pair, rising=not sweeps[before].rising)
    return sweeps


def _sweep(part: Run, origin: tuple[str, str], rising: bool, pair: int, sliced: bool = False) -> Sweep | None:
    drain, bulk, heat = held_value(part.drain), held_value(part.bulk), held_value(part.heat)
    kept, left_out, warnings = _kept(part, part.gate, "VG")
    if kept is None:
        return None
    gate, current, leak = _merged(kept.gate, kept.current, kept.gate_current)
    if len(gate) < FEWEST_POINTS:
        return None
    if len(gate) < len(kept.gate):
        warnings.append(
            f"{len(kept.gate) - len(gate)} points at a gate voltage met before were averaged into it"
        )
    words = [part.device] if part.device else []
    words += [f"block {part.block}", f"VD {drain:g} V" if drain is not None else "VD not given"]
    words += [f"VB {bulk:g} V"] if bulk is not None else []
    words += [f"{heat:.4g} K"] if heat is not None else []
    words += ["cut out of the output curves"] if sliced else ["gate rising" if rising else "gate falling"]
    sweep = Sweep(
        gate_voltage=gate,
        drain_current=current,
        gate_current=leak if np.isfinite(leak).any() else None,
        drain_voltage=drain,
        bulk_voltage=bulk,
        rising=rising,
        pair=pair,
        file=origin[0],
        label=", ".join(words),
        line=part.line,
        sliced=sliced,
        device=part.device,
        temperature=heat,
        width=part.width,
        length=part.length,
        left_out=left_out,
        held_at=_limit(gate, current, left_out),
        warnings=tuple(warnings),
        sha256=origin[1],
    )
    return without_held(sweep)


def _limit(gate: Array, current: Array, left_out: Array | None) -> float | None:
    """The largest current that was read, where the points beyond it are those that the instrument marked."""
    if left_out is None:
        return None
    size = np.abs(current)
    top = int(np.argmax(size))
    beyond = (top > len(gate) // 2 and left_out[-1] > gate[-1]) or (
        top < len(gate) // 2 and left_out[0] < gate[0]
    )
    return float(size[top]) if beyond else None


def _kept(part: Run, swept: Array, name: str) -> tuple[Run | None, Array | None, list[str]]:
    """The points that stand, those that the instrument marked, and the sentence that says so."""
    if not part.limited.any():
        return part, None, []
    out = np.unique(swept[part.limited])
    kept = part.cut(~part.limited)
    if len(kept.gate) < FEWEST_POINTS:
        return None, out, []
    where = f"{name} {out[0]:.4g} V" if len(out) == 1 else f"{name} {out[0]:.4g} to {out[-1]:.4g} V"
    count = int(part.limited.sum())
    said = f"{count} point{'s' if count != 1 else ''} at {where} marked as over range or limited: left out"
    return kept, out, [said]


def _output_curves(piece: Run, origin: tuple[str, str], pairs: Iterator[int]) -> Iterator[OutputCurve]:
    for where, rising, pair in _paired(piece.drain, piece.way, pairs):
        part, left_out, warnings = _kept(piece.cut(where), piece.drain[where], "VD")
        if part is None:
            continue
        gate = held_value(part.gate)
        drain, current, leak = _merged(part.drain, part.current, part.gate_current)
        words = [part.device] if part.device else []
        words += [f"block {part.block}", "VG not given" if gate is None else f"VG {gate:g} V"]
        yield OutputCurve(
            drain_voltage=drain,
            drain_current=current,
            gate_current=leak if np.isfinite(leak).any() else None,
            gate_voltage=gate,
            direction="forward" if rising == (drain[-1] + drain[0] >= 0) else "backward",
            pair=pair,
            bulk_voltage=held_value(part.bulk),
            temperature=held_value(part.heat),
            device=part.device,
            file=origin[0],
            label=", ".join(words),
            line=part.line,
            left_out=left_out,
            warnings=tuple(warnings),
            sha256=origin[1],
        )


def _merged(swept: Array, *others: Array) -> tuple[Array, ...]:
    """Points in order of the swept voltage, repeats averaged."""
    steps = swept[1:] - swept[:-1]
    if (steps > 0).all():
        return (swept, *others)
    if (steps < 0).all():
        return tuple(np.ascontiguousarray(each[::-1]) for each in (swept, *others))
    unique, where, counts = np.unique(swept, return_inverse=True, return_counts=True)
    merged = [np.bincount(where, weights=each, minlength=len(unique)) / counts for each in others]
    return (unique, *merged)


def _slices(outputs: Sequence[Run], origin: tuple[str, str], notes: list[str]) -> list[Sweep]:
    """Transfer curves at the smallest and the largest drain voltage of each device's output family."""
    families: dict[tuple[str, float | None], list[Run]] = {}
    for run in outputs:
        families.setdefault((run.device, held_value(run.heat)), []).append(run)
    return [sweep for family in families.values() for sweep in _family_slices(family, origin, notes)]


def _family_slices(outputs: Sequence[Run], origin: tuple[str, str], notes: list[str]) -> list[Sweep]:
    levels: dict[float, Run] = {}
    for run in map(_first_way, outputs):
        levels.setdefault(float(f"{np.median(run.gate):.6g}"), run)
    if len(levels) < FEWEST_POINTS:
        notes.append(
            f"output curves at {len(levels)} gate voltages: a transfer curve needs at least {FEWEST_POINTS}"
        )
        return []
    gates = np.array(sorted(levels))
    family = [levels[float(each)] for each in gates]
    reach = min(float(np.max(np.abs(run.drain))) for run in family)
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
    sliced = [_slice(family, gates, float(each), origin) for each in dict.fromkeys(chosen)]
    return [each for each in sliced if each is not None]


def _first_way(run: Run) -> Run:
    kept = run.cut(~run.limited) if np.any(run.limited) else run
    turns = one_way(kept.drain, kept.way)
    part = kept.cut(slice(*turns[0])) if turns else kept
    return part.cut(np.argsort(part.drain, kind="stable"))


def _slice(family: Sequence[Run], gates: Array, drain: float, origin: tuple[str, str]) -> Sweep | None:
    first = family[0]
    count = len(gates)
    cut = Run(
        gate=gates,
        drain=np.full(count, drain),
        bulk=np.array([np.median(run.bulk) for run in family]),
        current=np.array([np.interp(drain, run.drain, run.current) for run in family]),
        gate_current=np.array([np.interp(drain, run.drain, run.gate_current) for run in family]),
        heat=np.full(count, np.nan if held_value(first.heat) is None else held_value(first.heat)),
        limited=np.array(
            [
                len(run.drain) == 0 or abs(drain) > np.max(np.abs(run.drain)) * (1 + BIAS_STEP)
                for run in family
            ]
        ),
        way=np.zeros(count),
        device=first.device,
        width=first.width,
        length=first.length,
        block=first.block,
        line=first.line,
    )
    return _sweep(cut, origin, rising=True, pair=-1, sliced=True)
