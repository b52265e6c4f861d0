"""From a file to rows of cells: text or workbook, by its content and not by the ending of its name."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from filmwright.errors import BadInput, Problem
from filmwright.measure.cells import Cell, Piece, Row, from_sheet
from filmwright.measure.text import Layout, decode, read_rows
from filmwright.measure.workbook import UnreadableWorkbook, read_workbook

LARGEST = 1 << 28
"""Bytes of a measurement file beyond which it is taken for something else."""


SMALL = 1 << 18
"""Bytes that are read at once."""


@dataclass(frozen=True, kw_only=True)
class Grid:
    """Rows of one text or one sheet.

    Attributes
    ----------
    pieces : tuple of Row or Numbers
    layout : Layout
    sheet : str
        Name of the sheet; empty for a text.
    """

    pieces: tuple[Piece, ...]
    layout: Layout
    sheet: str = ""


def read_bytes(path: str | Path) -> tuple[bytes, str]:
    """The bytes of a measurement file and their SHA-256.

    Raises
    ------
    BadInput
        If the file is missing, unreadable, empty or far too large.
    """
    name = str(path)
    try:
        with open(path, "rb") as source:
            # Room for the largest file is made only for one that is not small.
            data = source.read(SMALL)
            data += source.read(LARGEST + 1 - SMALL) if len(data) == SMALL else b""
    except (OSError, ValueError) as trouble:
        said = getattr(trouble, "strerror", None) or str(trouble)
        raise refused(name, "a file that can be read", said, "check the path and the permissions") from None
    if len(data) > LARGEST:
        got = f"more than {LARGEST >> 20} MiB"
        raise refused(
            name, "a table of measured values", got, "export the curves alone, without raw waveforms"
        )
    if not data.strip(b"\x00 \t\r\n"):
        raise refused(name, "a table of measured values", "an empty file", "export the measurement again")
    return data, hashlib.sha256(data).hexdigest()


def read_grids(data: bytes, name: str, stated: Layout | None = None, skip: int = 0) -> tuple[Grid, ...]:
    """Rows of a file of any of the kinds that benches produce.

    Parameters
    ----------
    data : bytes
    name : str
        Of the file, for what is said about it.
    stated : Layout or None
        What a reading rule states of it.
    skip : int
        Lines at the top that are not looked at.

    Returns
    -------
    tuple of Grid
        One for a text, one for each sheet with content of a workbook.

    Raises
    ------
    BadInput
        If it is neither a text nor a workbook, or damaged.
    """
    if data[:4] == b"PK\x03\x04" or data[:4] == b"\xd0\xcf\x11\xe0":
        return _workbook(data, name, skip)
    stated = stated or Layout()
    decoded = decode(data, stated.encoding)
    if decoded is None:
        remedy = "export the measurement as text or as a workbook"
        raise refused(name, "a text table or a workbook", "binary data", remedy)
    text, encoding = decoded
    if skip:
        lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
        text = "\n" * min(skip, len(lines)) + "\n".join(lines[skip:])
    layout = Layout(encoding=encoding, separator=stated.separator, decimal=stated.decimal)
    pieces, layout = read_rows(text, layout)
    return (Grid(pieces=pieces, layout=layout),)


def refused(file: str, expected: str, got: str, remedy: str) -> BadInput:
    """The problem of a file from which nothing can be read."""
    why = "no curve can be read from it"
    return BadInput(
        Problem(what="the measurement file", expected=expected, got=got, why=why, remedy=remedy, file=file)
    )


def _workbook(data: bytes, name: str, skip: int) -> tuple[Grid, ...]:
    try:
        sheets = read_workbook(data)
    except UnreadableWorkbook as trouble:
        got = f"a workbook that cannot be read ({trouble})"
        remedy = "open it in a spreadsheet program and save it again"
        raise refused(name, "a whole workbook", got, remedy) from None
    grids = []
    for sheet, rows in sheets:
        cells = [tuple(map(from_sheet, row)) for row in rows]
        pieces = tuple(
            Row(cells=row, line=number)
            for number, row in enumerate(cells, 1)
            if number > skip and any(cell != "" for cell in row)
        )
        if pieces:
            grids.append(Grid(pieces=pieces, layout=Layout(), sheet=sheet))
    if not grids:
        raise refused(
            name, "a table of measured values", "a workbook without content", "export the measurement again"
        )
    return tuple(grids)


def first_texts(grids: tuple[Grid, ...], most: int = 8) -> list[str]:
    """The first words of a file, to tell a person what was found."""
    rows: list[tuple[Cell, ...]] = [
        piece.cells for grid in grids for piece in grid.pieces[:3] if isinstance(piece, Row)
    ]
    return [cell for row in rows for cell in row if isinstance(cell, str) and cell][:most]
