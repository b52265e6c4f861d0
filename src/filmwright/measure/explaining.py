"""What was understood of a table, in words: from the encoding to each curve, and what was left out and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from filmwright.errors import BadInput
from filmwright.measure.blocks import WORDED, Block
from filmwright.measure.columns import Column
from filmwright.measure.grids import read_bytes, read_grids
from filmwright.measure.reading import Measurement, Opened, measured, opened
from filmwright.measure.rules import Rule
from filmwright.measure.shapes import shape_of

FIRST = 3
"""Values of a column that are shown."""

_SI = {"voltage": "V", "current": "A", "capacitance": "F", "conductance": "S", "frequency": "Hz", "temperature": "K",
       "width": "m", "length": "m", "time": "s"}  # fmt: skip

MOST_BLOCKS, MOST_CURVES = 12, 40
"""Blocks and curves that are told one by one."""


@dataclass(frozen=True, kw_only=True)
class Explanation:
    """How a file was understood.

    Attributes
    ----------
    file : str
    lines : tuple of (topic, text)
        From the bytes to the curves.
    """

    file: str
    lines: tuple[tuple[str, str], ...]

    def __str__(self) -> str:
        return "\n".join(f"{topic}: {text}" for topic, text in self.lines)


def explain_table(path: str | Path, rules: Sequence[Rule] = ()) -> Explanation:
    """What was understood of a file, also where no curve came of it.

    Parameters
    ----------
    path : str or Path
    rules : sequence of Rule

    Raises
    ------
    BadInput
        If it is neither a text nor a workbook.
    """
    table = opened(path, rules)
    lines = [("raw file", f"SHA-256 {table.sha256}")]
    shape, names, line = shape_of(read_grids(read_bytes(path)[0], table.file))
    lines.append(
        (
            "shape",
            f"{shape}, from {'line ' + str(line) if line else 'the numbers'}: {names[:200] or 'no names'}",
        )
    )
    lines.append(("reading rule", f'"{table.rule.name}"' if table.rule else "none of this shape"))
    for grid in table.grids:
        told = ", ".join(grid.layout.words())
        lines.append(("sheet" if grid.sheet else "text", f'"{grid.sheet}", {told}' if grid.sheet else told))
    for number, block in enumerate(table.blocks[:MOST_BLOCKS], 1):
        lines += _block(number, block)
    if len(table.blocks) > MOST_BLOCKS:
        lines.append(("blocks", f"{len(table.blocks) - MOST_BLOCKS} more"))
    return Explanation(file=table.file, lines=(*lines, *_outcome(table)))


def shape_of_file(path: str | Path) -> str:
    """The digest of a file's line of names, by which a reading rule knows it.

    Parameters
    ----------
    path : str or Path
        Delimited text or a workbook.

    Returns
    -------
    str

    Raises
    ------
    BadInput
        If the file cannot be read.
    """
    return shape_of(read_grids(read_bytes(path)[0], str(path)))[0]


def _block(number: int, block: Block) -> list[tuple[str, str]]:
    place = f" of sheet {block.sheet}" if block.sheet else ""
    head = f"names in line {block.header}, " if block.header else "names from the rule, "
    lines = [
        (
            f"block {number}",
            f"{head}{len(block.values)} rows in lines {block.line} to {block.last}{place}{_stated(block)}",
        )
    ]
    for at, column in enumerate(block.columns):
        if column.name:
            lines.append((f'column "{column.name[:60]}"', _column(block, at, column)))
    if block.unread:
        lines.append(("left out", f"{block.unread} cells under measured names that are no numbers"))
    return lines


def _stated(block: Block) -> str:
    told = block.stated
    words = [f"{role.replace('_', ' ')} {value:g} V" for role, value in told.biases.items()]
    words += [f"device {told.device}"] if told.device else []
    words += [f"temperature {told.temperature:.2f} K"] if told.temperature is not None else []
    words += [
        f"{name} {value:.4g} m"
        for name, value in (("W", told.width), ("L", told.length))
        if value is not None
    ]
    words += [f"limit of the current {told.limit:g} A"] if told.limit is not None else []
    return f"; stated around it: {', '.join(words)}" if words else ""


def _column(block: Block, at: int, column: Column) -> str:
    if not column.role:
        return f"not used: {column.ignored}" if column.ignored else "not used: the name means nothing known"
    words = [column.role.replace("_", " ").replace("bias voltage", "voltage").replace("flag", "limit mark")]
    if column.role in WORDED:
        return f"{words[0]}: {', '.join(dict.fromkeys(block.texts[at]))[:80]}"
    unit = _SI.get(column.role.rpartition("_")[2], "")
    words.append(f"in {column.unit}" if column.unit else f"no unit given, {unit or 'SI'} taken")
    words += ["sign turned"] if column.factor < 0 else []
    words += ["counted from the source"] if column.referred else []
    words += ["its size alone"] if column.absolute else []
    words += ["forward" if column.way > 0 else "backward"] if column.way else []
    words += [f"repeat {column.group}"] if column.group else []
    words += [f"{role.replace('_', ' ')} {value:g} V" for role, value in column.biases.items()]
    words += [f"device {column.device}"] if column.device else []
    values = block.values[:, at]
    shown = ", ".join(f"{each:.4g}" for each in values[:FIRST])
    over, missing = int(np.isinf(values).sum()), int(np.isnan(values).sum())
    words += [f"{over} over range"] if over else []
    words += [f"{missing} missing"] if missing else []
    return f"{', '.join(words)}; first values {shown} {unit}".rstrip()


def _outcome(table: Opened) -> list[tuple[str, str]]:
    try:
        found = measured(table)
    except BadInput as bad:
        return [("refused", str(problem)) for problem in bad.problems]
    return _curves(found)


def _curves(found: Measurement) -> list[tuple[str, str]]:
    lines = [
        (
            "transfer curve",
            f"{each.label}, {len(each.gate_voltage)} points, VG {each.gate_voltage[0]:.4g} to {each.gate_voltage[-1]:.4g} V"
            + (", one of two directions" if each.pair >= 0 else "")
            + "".join(f"; {warning}" for warning in each.warnings),
        )
        for each in found.sweeps[:MOST_CURVES]
    ]
    lines += [
        (
            "output curve",
            f"{each.label}, {len(each.drain_voltage)} points, VD {each.drain_voltage[0]:.4g} to {each.drain_voltage[-1]:.4g} V, "
            f"{each.direction}" + "".join(f"; {warning}" for warning in each.warnings),
        )
        for each in found.output_curves[:MOST_CURVES]
    ]
    lines += [
        ("capacitance curve", f"{each.points} points, block at line {each.line}")
        for each in found.capacitance
    ]
    more = len(found.sweeps) + len(found.output_curves) - len(lines) + len(found.capacitance)
    lines += [("curves", f"{more} more")] if more > 0 else []
    return lines + [("noticed", warning) for warning in found.warnings]
