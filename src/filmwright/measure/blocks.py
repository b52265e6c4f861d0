"""From rows of cells to blocks: column names found by their meaning, with the rows of numbers below them."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from filmwright.measure.cells import OVERFLOW, Cell, Numbers, Piece, Row
from filmwright.measure.columns import MEASURED, Column, is_unit, read_name, with_unit
from filmwright.measure.headers import Meaning, bias_row, matrix_header, read_header
from filmwright.measure.stated import NOTHING, Stated, read_statement, title_device

Array = NDArray[np.float64]

WORDED = ("device", "direction", "flag")
"""Roles whose cells are texts."""

_LIMITED = re.compile(r"compl|clip|limit|over|\*\*|##", re.IGNORECASE)


@dataclass(frozen=True, kw_only=True)
class Block:
    """A run of numeric rows under one header.

    Attributes
    ----------
    columns : tuple of Column
    values : array (n_rows, n_columns) [SI]
        NaN where a cell held no number, infinite where the instrument was over its range or limited.
    texts : mapping from column number to tuple of str (n_rows)
        Columns whose cells are words.
    stated : Stated
        What the text above the block says.
    header, line, last : int
        Line of the names, first and last line of the numbers.
    sheet : str
    unread : int
        Cells under a measured name that are neither a number nor empty.
    beyond : int
        Rows with numbers beyond the last name.
    """

    columns: tuple[Column, ...]
    values: Array
    texts: Mapping[int, tuple[str, ...]] = field(default_factory=dict)
    stated: Stated = NOTHING
    header: int = 0
    line: int = 1
    last: int = 1
    sheet: str = ""
    unread: int = 0
    beyond: int = 0


def find_blocks(
    pieces: Sequence[Piece], sheet: str = "", meaning: Meaning = read_name, names: Sequence[str] = ()
) -> tuple[Block, ...]:
    """All blocks of numbers below a header that names measured quantities.

    Parameters
    ----------
    pieces : sequence of Row or Numbers
    sheet : str
    meaning : callable
        From a name to its column.
    names : sequence of str
        Names of a table that has none.

    Returns
    -------
    tuple of Block
        Empty when no row names at least two measured quantities above numbers.
    """
    reader = _Reader(sheet, meaning)
    if names:
        reader.columns = read_header(tuple(names), (), meaning)
        reader.fixed = True
    for piece in pieces:
        if isinstance(piece, Numbers):
            reader.take_numbers(piece)
        else:
            reader.take(piece.cells, piece.line)
    reader.close()
    return tuple(reader.blocks) or _lying(pieces, sheet, meaning)


class _Reader:
    """Walks the rows once and keeps the header, what was stated and the rows of the open block."""

    def __init__(self, sheet: str, meaning: Meaning) -> None:
        self.sheet, self.meaning = sheet, meaning
        self.blocks: list[Block] = []
        self.fixed = False
        self.columns: tuple[Column, ...] = ()
        self.stated = NOTHING
        self.above: tuple[Cell, ...] = ()
        self.named: tuple[Cell, ...] = ()
        self.header = 0
        self._empty()

    def _empty(self) -> None:
        self.parts: list[Array | list[Sequence[Cell]]] = []
        self.line = self.last = 0
        self.beyond = 0

    def take_numbers(self, piece: Numbers) -> None:
        """Rows of plain numbers."""
        width = piece.values.shape[1]
        known = sum(1 for column in self.columns[:width] if column.role in MEASURED)
        if not (known >= 2 or (known == 1 and width == 1)):
            return
        if not self.parts:
            self.line = piece.line
        self.last = piece.line + len(piece.values) - 1
        if width > len(self.columns):
            self.beyond += len(piece.values)
        self.parts.append(piece.values[:, : len(self.columns)])

    def take(self, row: tuple[Cell, ...], line: int) -> None:
        """One row of cells."""
        if self.columns and self._is_data(row):
            if not self.parts:
                self.line = line
            self.last = line
            if not self.parts or not isinstance(self.parts[-1], list):
                self.parts.append([])
            rows = self.parts[-1]
            assert isinstance(rows, list)
            rows.append(row)
            if any(isinstance(cell, float) for cell in row[len(self.columns) :]):
                self.beyond += 1
            return
        texts = [cell for cell in row if isinstance(cell, str) and cell]
        if not texts:
            return
        if self._is_unit_row(row, texts):
            padded = [str(cell) for cell in row] + [""] * len(self.columns)
            self.columns = tuple(
                with_unit(column, cell) for column, cell in zip(self.columns, padded, strict=False)
            )
            return
        if self._is_header(row, texts, line):
            return
        self.close()
        self.stated = self.stated.joined(read_statement(row))
        if len(texts) == 1 and len([cell for cell in row if cell != ""]) == 1:
            name = title_device(texts[0])
            self.stated = self.stated.joined(Stated(device=name)) if name else self.stated
        self.above = row

    def _is_unit_row(self, row: Sequence[Cell], texts: Sequence[str]) -> bool:
        if not self.columns or self.parts or any(isinstance(cell, float) for cell in row):
            return False
        return all(is_unit(text) or text in ("-", "#", "1") for text in texts)

    def _is_data(self, row: Sequence[Cell]) -> bool:
        known = [at for at, column in enumerate(self.columns) if column.role in MEASURED and at < len(row)]
        filled = [at for at in known if not isinstance(row[at], str)]
        if not (len(filled) >= 2 or (len(filled) == 1 and len(known) == 1)):
            return False
        return not any(
            self.columns[at].role not in WORDED and read_name(cell).role in MEASURED
            for at, cell in enumerate(row[: len(self.columns)])
            if isinstance(cell, str) and cell
        )

    def _is_header(self, row: tuple[Cell, ...], texts: Sequence[str], line: int) -> bool:
        numbers = len([cell for cell in row if isinstance(cell, float)])
        if self.fixed:
            return False
        columns: tuple[Column, ...] = ()
        if len(texts) == 1 and numbers >= 2:
            columns = matrix_header(row, self.above)
            if not columns and self.columns and not self.parts:
                told = bias_row(self.columns, row, self.meaning)
                self.columns = told or self.columns
                if told:
                    return True
        elif len(texts) >= 2 and len(texts) > 3 * numbers:
            above = self.named if self.columns and not self.parts and line - self.header <= 2 else self.above
            columns = read_header(row, above, self.meaning)
        if not columns:
            return False
        self.close()
        self.columns, self.above, self.named, self.header = columns, (), row, line
        return True

    def close(self) -> None:
        """End the open block."""
        if self.parts:
            values, texts, unread = _filled(self.columns, self.parts)
            if any(column.factor != 1.0 or column.offset for column in self.columns):
                factors = np.array([column.factor for column in self.columns])
                values = values * factors + np.array([column.offset for column in self.columns])
            self.blocks.append(
                Block(
                    columns=self.columns,
                    values=values,
                    texts=texts,
                    stated=self.stated,
                    header=self.header,
                    line=self.line,
                    last=self.last,
                    sheet=self.sheet,
                    unread=unread,
                    beyond=self.beyond,
                )
            )
        self._empty()


def _filled(
    columns: Sequence[Column], parts: Sequence[Array | list[Sequence[Cell]]]
) -> tuple[Array, dict[int, tuple[str, ...]], int]:
    """All rows as numbers, the worded columns as texts, and how many cells could not be read."""
    width = len(columns)
    worded = [at for at, column in enumerate(columns) if column.role in WORDED]
    texts: dict[int, list[str]] = {at: [] for at in worded}
    arrays, unread = [], 0
    for part in parts:
        if isinstance(part, list):
            rows = [_numbers(row, columns) for row in part]
            unread += sum(count for _, count in rows)
            array = np.array([row for row, _ in rows])
            for at in worded:
                texts[at] += [_word(row[at]) if at < len(row) else "" for row in part]
        else:
            array = part
            if array.shape[1] < width:
                array = np.hstack([array, np.full((len(array), width - array.shape[1]), np.nan)])
            for at in worded:
                texts[at] += [_word(cell) for cell in array[:, at].tolist()]
            array = (
                np.where(np.abs(array) >= OVERFLOW, np.inf, array)
                if np.any(np.abs(array) >= OVERFLOW)
                else array
            )
        arrays.append(array)
    whole = np.vstack(arrays) if len(arrays) > 1 else arrays[0]
    return whole, {at: tuple(words) for at, words in texts.items()}, unread


def _word(cell: Cell) -> str:
    return cell.strip() if isinstance(cell, str) else "" if math.isnan(cell) else f"{cell:g}"


def _numbers(row: Sequence[Cell], columns: Sequence[Column]) -> tuple[list[float], int]:
    numbers, unread = [], 0
    for cell, column in zip(row, columns, strict=False):
        if not isinstance(cell, str):
            numbers.append(cell)
            continue
        limited = cell and column.role in MEASURED and _LIMITED.search(cell)
        unread += 1 if cell and not limited and column.role in MEASURED else 0
        numbers.append(math.inf if limited else math.nan)
    return numbers + [math.nan] * (len(columns) - len(numbers)), unread


def _lying(pieces: Sequence[Piece], sheet: str, meaning: Meaning) -> tuple[Block, ...]:
    """A table that lies on its side: a name in the first cell of each row, its values to the right."""
    rows = [
        piece
        for piece in pieces
        if isinstance(piece, Row)
        and len(piece.cells) > 4
        and isinstance(piece.cells[0], str)
        and sum(1 for cell in piece.cells[1:] if isinstance(cell, float)) >= 4
        and meaning(piece.cells[0]).role
    ]
    if len(rows) < 2:
        return ()
    length = max(len(row.cells) for row in rows)
    padded = [(*row.cells, *[""] * (length - len(row.cells))) for row in rows]
    reader = _Reader(sheet, meaning)
    for row in zip(*padded, strict=True):
        reader.take(row, rows[0].line)
    reader.close()
    return tuple(replace(block, line=rows[0].line, last=rows[-1].line) for block in reader.blocks)
