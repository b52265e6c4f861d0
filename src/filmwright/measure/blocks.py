"""From rows of cells to blocks: column names found by their meaning, with the rows of numbers below them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from filmwright.measure.cells import Cell, Grid
from filmwright.measure.columns import Column, is_unit, read_biases, read_name, with_unit

_MEASURED = {"drain_current", "gate_current", "source_current", "bulk_current", "gate_voltage",
"drain_voltage",
             "source_voltage", "bulk_voltage", "capacitance", "bias_voltage"}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Block:
    """A run of numeric rows under one header.

    Attributes
    ----------
    columns : tuple of Column
    values : array (n_rows, n_columns) [SI]
        NaN where a cell held no number.
    biases : mapping from role to float [V]
        Voltages stated in the text above the block.
    line : int
        Where the numbers begin.
    sheet : str
    """

    columns: tuple[Column, ...]
    values: NDArray[np.float64]
    biases: Mapping[str, float] = field(default_factory=dict)
    line: int = 1
    sheet: str = ""


def find_blocks(grid: Grid) -> tuple[Block, ...]:
    """All blocks of numbers below a header that names measured quantities.

    Parameters
    ----------
    grid : Grid

    Returns
    -------
    tuple of Block
        Empty when no row names at least two measured quantities above numbers.
    """
    reader = _Reader(grid)
    for row, line in zip(grid.rows, grid.lines, strict=True):
        reader.take(row, line)
    reader.close()
    return tuple(reader.blocks)


class _Reader:
    """Walks the rows once and keeps the header, stated biases and the rows of the open block."""

    def __init__(self, grid: Grid) -> None:
        self.sheet = grid.sheet
        self.blocks: list[Block] = []
        self.columns: tuple[Column, ...] = ()
        self.biases: dict[str, float] = {}
        self.above: tuple[Cell, ...] = ()
        self.rows: list[list[float]] = []
        self.line = 1

    def take(self, row: Sequence[Cell], line: int) -> None:
        texts = [cell for cell in row if isinstance(cell, str) and cell]
        numbers = [cell for cell in row if not isinstance(cell, str)]
        if self.columns and self._is_data(row):
            if not self.rows:
                self.line = line
            width = len(self.columns)
            cells = [math.nan if isinstance(cell, str) else cell for cell in row[:width]]
            self.rows.append(cells + [math.nan] * (width - len(cells)))
            return
        if not texts:
            return
        if self.columns and not self.rows and not numbers and all(is_unit(text) for text in texts):
            padded = [str(cell) for cell in row] + [""] * len(self.columns)
            self.columns = tuple(
                with_unit(column, cell) for column, cell in zip(self.columns, padded, strict=False)
            )
            return
        if len(texts) >= 2 and len(texts) > 3 * len(numbers) and self._header(row):
            return
        self.close()
        self._state(row)
        self.above = tuple(row)

    def _is_data(self, row: Sequence[Cell]) -> bool:
        known = [at for at, column in enumerate(self.columns) if column.role in _MEASURED and at < len(row)]
        filled = [at for at in known if not isinstance(row[at], str)]
        return len(filled) >= 2 or (len(filled) == 1 and len(known) == 1)

    def _header(self, row: Sequence[Cell]) -> bool:
        names = [cell if isinstance(cell, str) else "" for cell in row]
        columns = [read_name(name) if name else Column(name="", role="") for name in names]
        if sum(1 for column in columns if column.role in _MEASURED) < 2:
            return False
        self.close()
        stated = _filled_forward(self.above, len(columns))
        columns = [
            replace(column, biases={**bias, **column.biases})
            for column, bias in zip(columns, stated, strict=True)
        ]
        self.columns = _numbered(columns)
        self.above = ()
        return True

    def _state(self, row: Sequence[Cell]) -> None:
        """Voltages stated between blocks: ``VD = 0.1 V`` in a text, or a name and a number in two cells."""
        cells = [cell for cell in row if cell != ""]
        stated, _ = read_biases(" ".join(str(cell) for cell in cells))
        if len(cells) in (2, 3) and isinstance(cells[0], str) and isinstance(cells[1], float):
            column = read_name(cells[0].rstrip(":= "))
            unit = cells[2] if len(cells) == 3 and isinstance(cells[2], str) else ""
            if column.role.endswith("_voltage") and math.isfinite(cells[1]):
                stated = {column.role: cells[1] * with_unit(column, unit).factor}
        elif len(cells) == 1 and isinstance(cells[0], str) and ":" in cells[0]:
            name, _, rest = cells[0].partition(":")
            column = read_name(name)
            if column.role.endswith("_voltage"):
                short = {
                    "gate_voltage": "VG",
                    "drain_voltage": "VD",
                    "bulk_voltage": "VB",
                    "source_voltage": "VS",
                }
                stated, _ = read_biases(f"{short.get(column.role, '')}={rest.strip()}")
        self.biases = {**self.biases, **stated}

    def close(self) -> None:
        """End the open block."""
        if self.rows:
            values = np.array(self.rows, dtype=float) * np.array([column.factor for column in self.columns])
            self.blocks.append(
                Block(
                    columns=self.columns,
                    values=values,
                    biases=dict(self.biases),
                    line=self.line,
                    sheet=self.sheet,
                )
            )
        self.rows = []


def _filled_forward(above: Sequence[Cell], width: int) -> list[dict[str, float]]:
    """Biases that a row above the header states for groups of columns, each valid until the next."""
    found = [read_biases(cell)[0] if isinstance(cell, str) else {} for cell in above[:width]]
    found += [{} for _ in range(width - len(found))]
    if sum(1 for each in found if each) < 2:
        return [{} for _ in range(width)]
    current: dict[str, float] = {}
    filled = []
    for each in found:
        current = each or current
        filled.append(current)
    return filled


def _numbered(columns: Sequence[Column]) -> tuple[Column, ...]:
    """Names that repeat without an index (VG, ID, VG, ID) get the number of their occurrence as group."""
    seen: dict[tuple[str, str], int] = {}
    roles = [(column.role, column.group) for column in columns]
    result = []
    for column in columns:
        key = (column.role, column.group)
        seen[key] = seen.get(key, 0) + 1
        plain = not column.group and column.role in _MEASURED and not column.biases
        result.append(replace(column, group=f"#{seen[key]}") if plain and roles.count(key) > 1 else column)
    return tuple(result)
