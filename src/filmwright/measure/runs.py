"""From blocks to runs: each drain current with the voltages, device and temperature that belong to its points."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from filmwright import units
from filmwright.measure.blocks import Block
from filmwright.measure.columns import Column
from filmwright.measure.curves import Array

FEWEST_POINTS = 4
"""Gate voltages that a transfer curve needs at least."""

BIAS_STEP = 0.02
"""A bias counts as held while it moves by less than this share of itself."""

BIAS_JITTER = 0.002
"""… or by less than this [V]."""

HEAT_STEP = 1.0
"""A temperature counts as held while it moves by less than this [K]."""

AT_LIMIT = 0.999
"""Share of the stated limit of the current from which a point counts as limited."""

MOST_LEVELS = 64
"""Different biases up to which points that alternate between them are dealt out."""

_ANY = "any repeat"
_NOT_FLAGGED = {
    "",
    "0",
    "n",
    "no",
    "ok",
    "none",
    "false",
    "f",
    "normal",
    "in range",
    "-",
    "good",
    "valid",
    "nan",
}
_FORWARD = re.compile(r"f|forth|up|ris|hin|\+|1$|→|>", re.IGNORECASE)
_BACKWARD = re.compile(r"b|rev|r$|down|fall|zur|rück|ret|-|0$|2$|←|<", re.IGNORECASE)


@dataclass(frozen=True, kw_only=True)
class Run:
    """Points of one drain current with all that belongs to them, in the order of measurement.

    Attributes
    ----------
    gate, drain, bulk : array (n_points,) [V]
    current, gate_current : array (n_points,) [A]
    heat : array (n_points,) [K]
    limited : array (n_points,) of bool
        Marked by the instrument as over range or limited.
    way : array (n_points,)
        1 forward, -1 backward, 0 where not said.
    device : str
    width, length : float [m] or None
    block, line : int
    """

    gate: Array
    drain: Array
    bulk: Array
    current: Array
    gate_current: Array
    heat: Array
    limited: NDArray[np.bool_]
    way: Array
    device: str = ""
    width: float | None = None
    length: float | None = None
    block: int
    line: int

    def cut(self, rows: slice | NDArray[np.bool_] | NDArray[np.intp]) -> Run:
        """The run with these points alone."""
        names = ("gate", "drain", "bulk", "current", "gate_current", "heat", "limited", "way")
        return replace(self, **{name: getattr(self, name)[rows] for name in names})


def find_runs(blocks: Sequence[Block]) -> tuple[list[Run], list[str]]:
    """Runs of all drain currents in the blocks, and what was taken for granted on the way.

    Parameters
    ----------
    blocks : sequence of Block

    Returns
    -------
    list of Run, list of str
    """
    notes: list[str] = []
    runs = [run for at, block in enumerate(blocks, 1) for run in _runs(block, at, notes)]
    return runs, list(dict.fromkeys(notes))


def pieces(run: Run) -> list[Run]:
    """Pieces in which the slower of gate and drain voltage, the bulk voltage and the temperature are held."""
    if _alternates(run.way):
        run = run.cut(np.argsort(-run.way, kind="stable"))
    found = list(_held(run))
    if any(moves(each.gate) or moves(each.drain) for each in found):
        return found
    for levels, swept in ((run.drain, "gate"), (run.gate, "drain")):
        dealt = [run.cut(rows) for rows in _levels(levels)]
        if len(dealt) > 1 and all(moves(getattr(each, swept)) for each in dealt):
            return [part for each in dealt for part in _held(each)]
    return found


def _alternates(way: Array) -> bool:
    """Whether the rows change between the directions all the time instead of once or twice."""
    return bool(way.any()) and int(np.count_nonzero(np.diff(way))) > len(way) / 4


def moves(values: Array) -> bool:
    """Whether a voltage was swept over enough points."""
    finite = values[np.isfinite(values)]
    if finite.size < FEWEST_POINTS:
        return False
    return float(finite.max() - finite.min()) > 2 * max(BIAS_JITTER, BIAS_STEP * abs(float(finite[0])))


def held_value(values: Array) -> float | None:
    """The value of a quantity that was held; None where it is not known."""
    if values.size and values[0] == values[-1] and values[0] == values[values.size // 2]:
        return float(f"{values[0]:.6g}")
    finite = values[np.isfinite(values)]
    return float(f"{np.median(finite):.6g}") if finite.size else None


def one_way(swept: Array, way: Array) -> list[tuple[int, int]]:
    """Pieces in which a voltage moves one way, the turning point in both unless it was measured twice."""
    if not way.any():
        return _turns(swept)
    cuts = [0, *(np.flatnonzero(np.diff(way)) + 1).tolist(), len(swept)]
    return [
        (start + low, start + high)
        for start, stop in itertools.pairwise(cuts)
        for low, high in _turns(swept[start:stop])
    ]


def _turns(swept: Array) -> list[tuple[int, int]]:
    steps = swept[1:] - swept[:-1]
    if len(swept) >= FEWEST_POINTS and ((steps > 0).all() or (steps < 0).all()):
        return [(0, len(swept))]
    usual = float(np.median(np.abs(steps[steps != 0]))) if np.any(steps != 0) else 0.0
    nonzero = np.flatnonzero(steps)
    found, start, way = [], 0, 0.0
    for at, move in enumerate(steps.tolist()):
        if move == 0:
            later = nonzero[np.searchsorted(nonzero, at) :]
            following = float(np.sign(steps[later[0]])) if later.size else way
            if way and following != way and start != at + 1:
                found.append((start, at + 1))
                start, way = at + 1, 0.0
            continue
        sign = 1.0 if move > 0 else -1.0
        if way and sign != way:
            jump = abs(move) > 3 * usual
            found.append((start, at + 1))
            start, way = (at + 1, 0.0) if jump else (at, sign)
            continue
        way = sign
    found.append((start, len(swept)))
    return [(low, high) for low, high in found if len(np.unique(swept[low:high])) >= FEWEST_POINTS]


def _runs(block: Block, number: int, notes: list[str]) -> Iterator[Run]:
    currents = [
        (at, column, 1.0) for at, column in enumerate(block.columns) if column.role == "drain_current"
    ]
    if not currents:
        currents = [
            (at, column, -1.0) for at, column in enumerate(block.columns) if column.role == "source_current"
        ]
        if currents:
            notes.append(
                "the drain current was not measured: the source current with its sign turned is taken"
            )
    places = _places(block)
    for at, column, sign in currents:
        source, _ = _values(block, column, "source_voltage", places)
        lifted = bool(np.isfinite(source).any())
        source = np.where(np.isfinite(source), source, 0.0) if lifted else source
        volts = {}
        for role in ("gate_voltage", "drain_voltage", "bulk_voltage"):
            found, of = _values(block, column, role, places)
            volts[role] = found if not lifted or (of is not None and of.referred) else found - source
        current = sign * block.values[:, at]
        limited = np.isinf(current) | _flagged(block)
        if block.stated.limit:
            limited |= np.abs(current) >= AT_LIMIT * block.stated.limit
        leak, _ = _values(block, column, "gate_current", places)
        gate = volts["gate_voltage"]
        good = np.isfinite(gate) & ~np.isnan(current) & ~np.isinf(volts["drain_voltage"])
        if not (good & ~limited).any():
            continue
        whole = Run(
            gate=gate,
            drain=volts["drain_voltage"],
            bulk=volts["bulk_voltage"],
            current=current,
            gate_current=np.where(np.isinf(leak), np.nan, leak),
            heat=_heat(block, column, places, notes),
            limited=limited,
            way=_way(block, column),
            device=column.device or block.stated.device,
            width=block.stated.width,
            length=block.stated.length,
            block=number,
            line=block.line,
        )
        yield from _by_device(whole if good.all() else whole.cut(good), block, good)


def _places(block: Block) -> dict[tuple[str, str], list[int]]:
    """Columns by role and repeat, and by role alone."""
    places: dict[tuple[str, str], list[int]] = {}
    for at, column in enumerate(block.columns):
        for key in {(column.role, column.group), (column.role, _ANY)}:
            places.setdefault(key, []).append(at)
    return places


def _values(
    block: Block, current: Column, role: str, places: Mapping[tuple[str, str], list[int]]
) -> tuple[Array, Column | None]:
    """The column with this role that belongs to a drain current: same repeat, else shared, else stated."""
    alike = places.get((role, _ANY), [])
    found = places.get((role, current.group)) or places.get((role, "")) or (alike if len(alike) == 1 else [])
    if current.way:
        found = [at for at in found if block.columns[at].way in (current.way, 0)]
    if found:
        return block.values[:, found[0]], block.columns[found[0]]
    stated = current.biases.get(role, block.stated.biases.get(role, np.nan))
    return np.full(len(block.values), stated), None


def _flagged(block: Block) -> NDArray[np.bool_]:
    flags = np.zeros(len(block.values), dtype=bool)
    for at, words in block.texts.items():
        if block.columns[at].role == "flag" and len(set(words)) > 1:
            flags |= np.array([word.lower() not in _NOT_FLAGGED for word in words])
    return flags


def _heat(
    block: Block, current: Column, places: Mapping[tuple[str, str], list[int]], notes: list[str]
) -> Array:
    values, column = _values(block, current, "temperature", places)
    if column is None:
        stated = block.stated.temperature
        return np.full(len(values), np.nan if stated is None else stated)
    finite = values[np.isfinite(values)]
    if not column.unit and finite.size and float(np.median(finite)) < 200.0:
        notes.append(f'no unit stands at "{column.name}": °C were taken')
        return values + units.ZERO_CELSIUS
    return values


def _way(block: Block, current: Column) -> Array:
    if current.way:
        return np.full(len(block.values), float(current.way))
    ways = np.zeros(len(block.values))
    for at, words in block.texts.items():
        if block.columns[at].role == "direction" and len(set(words)) <= 4:
            known = {
                word: -1.0 if _BACKWARD.match(word) else 1.0 if _FORWARD.match(word) else 0.0
                for word in words
            }
            ways = np.array([known[word] for word in words])
    return ways


def _by_device(run: Run, block: Block, good: NDArray[np.bool_]) -> Iterator[Run]:
    """One run for each device, width and length that the table names in columns."""
    named = [words for at, words in block.texts.items() if block.columns[at].role == "device"]
    sizes = {
        column.role: block.values[good, at]
        for at, column in enumerate(block.columns)
        if column.role in ("width", "length") and column.unit
    }
    if not named and not sizes:
        yield run
        return
    rows = np.flatnonzero(good)
    names = (
        [" ".join(words[at] for words in named if words[at]) for at in rows]
        if named
        else [run.device] * len(rows)
    )
    keys = [(name, tuple(float(each[at]) for each in sizes.values())) for at, name in enumerate(names)]
    for key in dict.fromkeys(keys):
        part = run.cut(np.array([each == key for each in keys]))
        known = {
            role: value for role, value in zip(sizes, key[1], strict=True) if np.isfinite(value) and value > 0
        }
        yield replace(
            part,
            device=key[0] or run.device,
            width=known.get("width", run.width),
            length=known.get("length", run.length),
        )


def _changes(values: Array) -> NDArray[np.bool_]:
    """Whether each point differs from the one before by more than jitter."""
    if values.size and ((values[0] == values).all() or (np.isnan(values[0]) and np.isnan(values).all())):
        return np.zeros(len(values) - 1, dtype=bool)
    step = np.abs(values[1:] - values[:-1])
    return step > np.maximum(BIAS_JITTER, BIAS_STEP * np.maximum(np.abs(values[1:]), np.abs(values[:-1])))


def _held(run: Run) -> Iterable[Run]:
    gate_steps, drain_steps = run.gate[1:] != run.gate[:-1], _changes(run.drain)
    slow = drain_steps if gate_steps.sum() >= drain_steps.sum() else _changes(run.gate)
    if np.array_equal(gate_steps, drain_steps) and drain_steps.sum() > 2:
        slow = np.zeros_like(drain_steps)
    slow = slow | _changes(run.bulk) | (np.abs(run.heat[1:] - run.heat[:-1]) > HEAT_STEP)
    if not slow.any():
        return [run]
    cuts = (np.flatnonzero(slow) + 1).tolist()
    return [run.cut(slice(start, stop)) for start, stop in itertools.pairwise([0, *cuts, len(run.gate)])]


def _levels(values: Array) -> list[NDArray[np.intp]]:
    """Rows of each level of a voltage that alternates between a few."""
    if not np.all(np.isfinite(values)) or not values.size:
        return []
    order = np.argsort(values, kind="stable")
    steps = _changes(values[order])
    if steps.sum() + 1 > MOST_LEVELS:
        return []
    return [np.sort(group) for group in np.split(order, np.flatnonzero(steps) + 1)]
