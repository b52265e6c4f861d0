"""From the bytes of a file to rows of cells: encoding, separator, decimal comma, workbook sheets."""

from __future__ import annotations

import csv
import math
import re
from dataclasses import dataclass
from pathlib import Path

from filmwright.errors import BadInput, Problem
from filmwright.measure.columns import prefix_factor
from filmwright.measure.workbook import UnreadableWorkbook, read_workbook

Cell = float | str
"""A number (NaN: missing, overflow) or a text; the empty text is an empty cell."""

OVERFLOW = 1e30
"""Larger readings are an instrument's code for overflow, not a measurement."""

_MISSING = {
    "nan",
    "na",
    "n/a",
    "--",
    "---",
    "null",
    "none",
    "inf",
    "+inf",
    "-inf",
    "overflow",
    "overload",
    "ovld",
    "#n/a",
}
_PLAIN = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_SUFFIXED = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([afpnuµμmkMG])?(?:A|V|F|S|s|Ohm|Ω)?")
_SEPARATORS = (
    ("\t", "."),
    (";", "."),
    (",", "."),
    ("\t", ","),
    (";", ","),
    (",", ","),
    ("|", "."),
    (" ", "."),
    (" ", ","),
)
_NAMES = {"\t": "tab", ";": "semicolon", ",": "comma", "|": "bar", " ": "blanks"}


@dataclass(frozen=True, kw_only=True)
class Grid:
    """Rows of cells with what was understood on the way.

    Attributes
    ----------
    rows : tuple of tuple of Cell
    lines : tuple of int
        Line (or sheet row) of each row, from 1.
    sheet : str
        Name of the sheet; empty for text.
    notes : tuple of str
        Encoding, separator, decimal sign.
    """

    rows: tuple[tuple[Cell, ...], ...]
    lines: tuple[int, ...]
    sheet: str = ""
    notes: tuple[str, ...] = ()


def read_grids(path: str | Path) -> tuple[Grid, ...]:
    """Read a file of any of the kinds that benches produce; the content decides, not the name's ending.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    tuple of Grid
        One for a text, one for each sheet with content of a workbook.

    Raises
    ------
    BadInput
        If the file is missing, unreadable, empty, or neither a text nor a workbook.
    """
    name = str(path)
    try:
        data = Path(path).read_bytes()
    except (OSError, ValueError) as trouble:
        raise _bad(
            name, "a file that can be read", str(trouble), "check the path and the permissions"
        ) from None
    if not data.strip(b"\x00 \t\r\n"):
        raise _bad(name, "a table of measured values", "an empty file", "export the measurement again")
    if data[:4] == b"PK\x03\x04" or data[:4] == b"\xd0\xcf\x11\xe0":
        return _workbook(data, name)
    return (_text(data, name),)


def _bad(file: str, expected: str, got: str, remedy: str) -> BadInput:
    why = "no curve can be read from it"
    return BadInput(
        Problem(what="the measurement file", expected=expected, got=got, why=why, remedy=remedy, file=file)
    )


def _workbook(data: bytes, name: str) -> tuple[Grid, ...]:
    try:
        sheets = read_workbook(data)
    except UnreadableWorkbook as trouble:
        got = f"a workbook that cannot be read ({trouble})"
        remedy = "open it in a spreadsheet program and save it again"
        raise _bad(name, "a whole workbook", got, remedy) from None
    grids = []
    for sheet, rows in sheets:
        cells = tuple(tuple(_from_sheet(cell) for cell in row) for row in rows)
        if any(any(cell != "" for cell in row) for row in cells):
            grids.append(
                Grid(rows=cells, lines=tuple(range(1, len(cells) + 1)), sheet=sheet, notes=("workbook",))
            )
    if not grids:
        raise _bad(
            name, "a table of measured values", "a workbook without content", "export the measurement again"
        )
    return tuple(grids)


def _from_sheet(cell: float | str) -> Cell:
    if not isinstance(cell, str):
        return _in_range(cell)
    text = cell.strip()
    number = to_number(text, ".")
    if number is None and re.fullmatch(r"[+-]?\d+,\d+(?:[eE][+-]?\d+)?", text):
        number = to_number(text, ",")
    return text if number is None else number


def _in_range(number: float) -> float:
    return number if math.isfinite(number) and abs(number) < OVERFLOW else math.nan


def to_number(text: str, decimal: str) -> float | None:
    """A cell as a number: NaN where the instrument wrote that it had none, None where it is a text.

    Parameters
    ----------
    text : str
        E.g. ``1.2e-9``, ``3,5``, ``12.5u``, ``0.1 V``, ``NaN``.
    decimal : str
        The decimal sign, ``.`` or ``,``.

    Returns
    -------
    float or None
    """
    bare = text.strip().strip('"').strip()
    if not bare:
        return None
    if decimal == ",":
        if "." in bare:
            return math.nan if bare.lower() in _MISSING else None
        bare = bare.replace(",", ".")
    bare = bare.replace("−", "-")
    if _PLAIN.fullmatch(bare):
        return _in_range(float(bare))
    if bare.lower() in _MISSING:
        return math.nan
    match = _SUFFIXED.fullmatch(bare)
    if match is None:
        return None
    return _in_range(float(match[1]) * (prefix_factor(match[2]) if match[2] else 1.0))


def decode(data: bytes) -> tuple[str, str] | None:
    """The text of a file and the name of its encoding; None when it is not a text."""
    for mark, encoding in (
        (b"\xef\xbb\xbf", "utf-8-sig"),
        (b"\xff\xfe\x00\x00", "utf-32"),
        (b"\x00\x00\xfe\xff", "utf-32"),
        (b"\xff\xfe", "utf-16"),
        (b"\xfe\xff", "utf-16"),
    ):
        if data.startswith(mark):
            return _checked(data.decode(encoding, errors="replace"), encoding)
    head = data[:4000]
    zeros = head.count(0)
    if zeros > len(head) / 4:
        encoding = "utf-16-le" if head[1::2].count(0) >= zeros / 2 else "utf-16-be"
        return _checked(data.decode(encoding, errors="replace"), encoding)
    try:
        return _checked(data.decode("utf-8"), "utf-8")
    except UnicodeDecodeError:
        return _checked(data.decode("cp1252", errors="replace"), "cp1252")


def _checked(text: str, encoding: str) -> tuple[str, str] | None:
    head = text[:20000]
    strange = sum(
        1
        for each in head
        if (each < " " and each not in "\t\r\n\f\x1a") or each == "\ufffd" or each == "\x7f"
    )
    return None if strange > 0.02 * len(head) else (text.replace("\x00", ""), encoding)


def _text(data: bytes, name: str) -> Grid:
    decoded = decode(data)
    if decoded is None:
        raise _bad(
            name,
            "a text table or a workbook",
            "binary data",
            "export the measurement as text or as a workbook",
        )
    text, encoding = decoded
    lines = [(number, line) for number, line in enumerate(re.split(r"\r\n|\r|\n", text), 1) if line.strip()]
    separator, decimal = _shape([line for _, line in lines])
    rows = tuple(tuple(_cells(line, separator, decimal)) for _, line in lines)
    notes = (f"encoding {encoding}", f"separator {_NAMES[separator]}", f'decimal sign "{decimal}"')
    return Grid(rows=rows, lines=tuple(number for number, _ in lines), notes=notes)


def split(line: str, separator: str) -> list[str]:
    """The cells of a line as text; a leading comment sign does not count."""
    bare = re.sub(r"^\s*(?:#+|//|%)\s*", "", line)
    if separator == " ":
        return bare.split()
    if '"' in bare:
        try:
            return [each.strip() for each in next(csv.reader([bare], delimiter=separator), [])]
        except csv.Error:
            return [each.strip() for each in bare.split(separator)]
    return [each.strip() for each in bare.split(separator)]


def _shape(lines: list[str]) -> tuple[str, str]:
    """Separator and decimal sign under which most cells of whole rows are numbers."""
    sample = lines if len(lines) <= 160 else lines[:: len(lines) // 100 + 1] + lines[:60]
    best, chosen = 0, (",", ".")
    for separator, decimal in _SEPARATORS:
        score = 0
        for line in sample:
            cells = [each for each in split(line, separator) if each]
            numeric = sum(1 for each in cells if to_number(each, decimal) is not None)
            if numeric >= 2 and numeric >= len(cells) - 1:
                score += numeric
        if score > best:
            best, chosen = score, (separator, decimal)
    return chosen


def _cells(line: str, separator: str, decimal: str) -> list[Cell]:
    texts = split(line, separator)
    numbers = [to_number(each, decimal) for each in texts]
    if (
        separator == " "
        and sum(1 for each in numbers if each is not None) < 2
        and re.search(r"\S\s{2,}\S|\S\(|\S \(", line)
    ):
        # Names with single blanks inside, such as "Drain current (A)", stand two or more blanks apart.
        texts = re.split(r"\s{2,}|\s(?=[A-Z][a-z]+\s+\w+\s*[(\[])", line.strip().lstrip("#% "))
        numbers = [to_number(each, decimal) for each in texts]
    return [text if number is None else number for text, number in zip(texts, numbers, strict=True)]
