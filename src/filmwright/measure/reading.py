"""The front door for files: what was understood, and the curves in it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from filmwright.errors import BadInput, Problem
from filmwright.measure.blocks import Block, find_blocks
from filmwright.measure.columns import read_name
from filmwright.measure.curves import CapacitanceCurve, OutputCurve, Sweep
from filmwright.measure.file_names import read_pattern
from filmwright.measure.grids import Grid, first_texts, read_bytes, read_grids
from filmwright.measure.naming import named
from filmwright.measure.rules import Rule, meaning_of
from filmwright.measure.runs import FEWEST_POINTS
from filmwright.measure.shapes import shape_of
from filmwright.measure.sweeps import find_curves
from filmwright.measure.text import Layout

_DRAIN = re.compile(r"\s*(?:I_?DS?(?![a-z])|drain.{0,3}(?:current|i\b))", re.IGNORECASE)


@dataclass(frozen=True, kw_only=True)
class Measurement:
    """What a file holds.

    Attributes
    ----------
    file : str
    sweeps : tuple of Sweep
        The transfer curves; empty when there is none, and a warning then says why.
    output_curves : tuple of OutputCurve
        Drain current against drain voltage at held gate voltages.
    capacitance : tuple of CapacitanceCurve
    warnings : tuple of str
    sha256 : str
        Of the raw file.
    """

    file: str
    sweeps: tuple[Sweep, ...]
    output_curves: tuple[OutputCurve, ...] = ()
    capacitance: tuple[CapacitanceCurve, ...] = ()
    warnings: tuple[str, ...] = ()
    sha256: str = ""


@dataclass(frozen=True, kw_only=True)
class Opened:
    """A file on the way: its bytes as rows and blocks, and the rule that was used."""

    file: str
    sha256: str
    grids: tuple[Grid, ...]
    blocks: tuple[Block, ...]
    rule: Rule | None = None


def read_table(path: str | Path, rules: Sequence[Rule] = ()) -> Measurement:
    """Read an instrument's table, by the meaning of its column names.

    Parameters
    ----------
    path : str or Path
        Delimited text of any encoding, or a workbook (.xls, .xlsx, .ods).
    rules : sequence of Rule
        Reading rules; the one for tables of this shape is used.

    Returns
    -------
    Measurement
        Without sweeps, with a warning, for a capacitance–voltage curve.

    Raises
    ------
    BadInput
        If the file cannot be read, holds no drain current against gate or drain voltage, or too few points.
    """
    return measured(opened(path, rules))


def opened(path: str | Path, rules: Sequence[Rule] = ()) -> Opened:
    """A file as blocks under names."""
    name = str(path)
    data, sha256 = read_bytes(path)
    grids = read_grids(data, name)
    rule = _rule_for(grids, rules) if rules else None
    if rule is not None and (rule.layout != Layout() or rule.skip):
        grids = read_grids(data, name, rule.layout, rule.skip)
    meaning, names = (read_name, ()) if rule is None else (meaning_of(rule), rule.names)
    blocks = tuple(block for grid in grids for block in find_blocks(grid.pieces, grid.sheet, meaning, names))
    return Opened(file=name, sha256=sha256, grids=grids, blocks=blocks, rule=rule)


def _rule_for(grids: tuple[Grid, ...], rules: Sequence[Rule]) -> Rule | None:
    """The rule of this shape; one without a shape is for every table."""
    shape = shape_of(grids)[0]
    return next((rule for rule in rules if rule.shape in (shape, "")), None)


def measured(table: Opened) -> Measurement:
    """The curves in the blocks of a file."""
    name, sha256, grids, blocks = table.file, table.sha256, table.grids, table.blocks
    currents = [block for block in blocks if _has(block, "drain_current") or _has(block, "source_current")]
    capacitance = tuple(
        _capacitance(block, name, sha256)
        for block in blocks
        if _has(block, "capacitance") and _numbers(block)
    )
    if not currents and capacitance:
        text = "a capacitance–voltage curve, not a current–voltage sweep: no transistor parameter follows"
        return Measurement(
            file=name,
            sweeps=(),
            capacitance=capacitance,
            warnings=(text,),
            sha256=sha256,
        )
    if not currents:
        raise BadInput(_no_current(name, grids, blocks))
    for block in currents:
        if block.beyond > 0.5 * (block.last - block.line + 1):
            raise BadInput(_too_wide(name, block))
    sweeps, outputs, notes = find_curves(currents, name, sha256)
    if table.rule is not None and table.rule.file_name:
        sweeps, outputs, told = named(sweeps, outputs, read_pattern(table.rule.file_name))
        notes = (*notes, *told)
    if not sweeps and not outputs:
        raise BadInput(_no_curve(name, currents, notes))
    return Measurement(
        file=name,
        sweeps=sweeps,
        output_curves=outputs,
        capacitance=capacitance,
        warnings=(*notes, *_unit_warnings(currents), *_unread(currents), *_passed_over(currents)),
        sha256=sha256,
    )


def _has(block: Block, role: str) -> bool:
    return any(column.role == role for column in block.columns)


def _numbers(block: Block) -> bool:
    return _has(block, "bias_voltage") or _has(block, "gate_voltage") or _has(block, "bulk_voltage")


def _capacitance(block: Block, file: str, sha256: str) -> CapacitanceCurve:
    roles = [column.role for column in block.columns]
    bias = next(each for each in ("bias_voltage", "gate_voltage", "bulk_voltage") if each in roles)
    volts, farads = block.values[:, roles.index(bias)], block.values[:, roles.index("capacitance")]
    good = np.isfinite(volts) & np.isfinite(farads)
    lossy = block.values[:, roles.index("conductance")] if "conductance" in roles else None
    return CapacitanceCurve(
        voltage=volts[good],
        capacitance=farads[good],
        conductance=None if lossy is None else lossy[good],
        frequency=_held_value(block, "frequency"),
        temperature=block.stated.temperature,
        device=block.stated.device,
        file=file,
        line=block.line,
        sha256=sha256,
    )


def _held_value(block: Block, role: str) -> float | None:
    """The one value of a column that is held; None where there is none or it moves."""
    for at, column in enumerate(block.columns):
        if column.role == role:
            finite = block.values[np.isfinite(block.values[:, at]), at]
            return float(finite[0]) if finite.size and np.ptp(finite) == 0 else None
    return None


def _unit_warnings(blocks: Sequence[Block]) -> list[str]:
    names = [
        column.name
        for block in blocks
        for column in block.columns
        if column.role in ("drain_current", "gate_voltage") and not column.unit
    ]
    if not names:
        return []
    shown = ", ".join(dict.fromkeys(names[:2]))
    return [f"no unit stands at {shown}{' …' if len(set(names)) > 2 else ''}: volts and amperes were taken"]


def _no_current(file: str, grids: tuple[Grid, ...], blocks: Sequence[Block]) -> Problem:
    names = [column.name for block in blocks for column in block.columns if column.name] or first_texts(grids)
    shown = ", ".join(dict.fromkeys(name[:40] for name in names[:8])) or "numbers without column names"
    return Problem(
        what="the table",
        expected="columns named as drain current and gate voltage, e.g. ID, VG",
        got=f"no drain current ({shown})",
        why="a transistor parameter is read from the drain current against the gate voltage",
        remedy='name the columns in a header line, e.g. "VG (V), VD (V), ID (A), IG (A)"',
        file=file,
        line=grids[0].pieces[0].line if grids and grids[0].pieces else None,
    )


def _unread(blocks: Sequence[Block]) -> list[str]:
    count = sum(block.unread for block in blocks)
    return [f"{count} cells under measured names are no numbers and were left out"] if count else []


def _passed_over(blocks: Sequence[Block]) -> list[str]:
    """Columns beside the ones that are used whose names look like a drain current and are not understood."""
    names = dict.fromkeys(
        column.name[:40]
        for block in blocks
        for column in block.columns
        if not column.role and not column.ignored and _DRAIN.match(column.name)
    )
    if not names:
        return []
    shown = ", ".join(f'"{name}"' for name in list(names)[:3])
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    first = next(iter(names))
    return [
        f"not understood and not used: {shown}{more}; --read-as '{first} = drain current, VD = 5 V' says what it is"
    ]


def _too_wide(file: str, block: Block) -> Problem:
    return Problem(
        what="the rows of the table",
        expected=f"{len(block.columns)} cells, as many as the line of names has",
        got="more numbers than names",
        why="nobody can tell which number belongs to which name; decimal commas between commas look like this too",
        remedy="export with another separator, or name every column",
        file=file,
        line=block.line,
    )


def _no_curve(file: str, blocks: Sequence[Block], notes: tuple[str, ...]) -> Problem:
    rows = sum(len(block.values) for block in blocks)
    currents = [
        block.values[:, at]
        for block in blocks
        for at, column in enumerate(block.columns)
        if column.role == "drain_current"
    ]
    finite = sum(int(np.isfinite(each).sum()) for each in currents)
    got = f"{rows} row{'s' if rows != 1 else ''} of values"
    got += " without one finite drain current" if not finite else f" ({'; '.join(notes)})" if notes else ""
    return Problem(
        what="the table",
        expected=f"a drain current at {FEWEST_POINTS} or more gate voltages",
        got=got,
        why="no slope and no threshold can be read from fewer points",
        remedy="export the whole sweep, with the gate voltage in a column of its own",
        file=file,
        line=blocks[0].line,
    )
