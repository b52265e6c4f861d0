"""What one cell says: a number in any notation of the trade, an overflow, nothing, or a text."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from filmwright.measure.columns import prefix_factor

Cell = float | str
"""A number (NaN: missing; infinite: overflow or compliance) or a text; the empty text is an empty cell."""

OVERFLOW = 1e30
"""Larger readings are an instrument's code for overflow, not a measurement."""

_MISSING = {
    "nan",
    "na",
    "n/a",
    "n.a.",
    "-",
    "--",
    "---",
    "null",
    "none",
    "missing",
    "#n/a",
    "#nv",
    "#value!",
    ".",
}
_OVERFLOW = {"inf", "+inf", "-inf", "overflow", "overload", "ovld", "ovfl", "ovl", "o.l."}
_PLAIN = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eEdD][+-]?\d+)?")
_SUFFIXED = re.compile(
    r"([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([afpnuµμmkMG])?(?:A|V|F|S|s|Hz|Ohm|Ω)?"
)
_STARRED = re.compile(
    r"\*{2,}|#{2,}|(?:[+-]?[\d.,]+(?:[eE][+-]?\d+)?)\s*(?:\*+|!+|compl\w*|limit\w*|ovfl|ovld)", re.IGNORECASE
)
_THOUSANDS = re.compile(r"[+-]?\d{1,3}(?:\.\d{3})+,\d*(?:[eE][+-]?\d+)?")
_MAYBE_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2}(?:\.\d{3})+")
_ENGLISH = re.compile(r"[+-]?\d{1,3}(?:,\d{3})+\.\d*(?:[eE][+-]?\d+)?")


@dataclass(frozen=True, kw_only=True)
class Row:
    """One row of cells.

    Attributes
    ----------
    cells : tuple of Cell
    line : int
        Line (or row of the sheet), from 1.
    raw : str
        The line as it stands in the file; empty in a workbook.
    """

    cells: tuple[Cell, ...]
    line: int
    raw: str = ""


@dataclass(frozen=True, kw_only=True)
class Numbers:
    """Rows of plain numbers that follow one another.

    Attributes
    ----------
    values : array (n_rows, n_columns)
    line : int
        Of the first row.
    """

    values: NDArray[np.float64]
    line: int


Piece = Row | Numbers


def in_range(number: float) -> float:
    """The number, infinite where it is an instrument's code for overflow."""
    return number if abs(number) < OVERFLOW or math.isnan(number) else math.inf


def from_sheet(cell: float | str) -> Cell:
    """A cell of a workbook; numbers kept as text are numbers."""
    if not isinstance(cell, str):
        return in_range(cell)
    text = cell.strip()
    number = to_number(text, ".")
    if number is None and re.fullmatch(r"[+-]?\d+,\d+(?:[eE][+-]?\d+)?", text):
        number = to_number(text, ",")
    return text if number is None else number


def to_number(text: str, decimal: str) -> float | None:
    """A cell as a number: NaN where the instrument wrote that it had none, infinite where it was over its range or
    limited, None where it is a text.

    Parameters
    ----------
    text : str
        E.g. ``1.2e-9``, ``3,5``, ``1.234,5``, ``12.5u``, ``0.1 V``, ``NaN``, ``OVLD``.
    decimal : str
        The decimal sign, ``.`` or ``,``.

    Returns
    -------
    float or None
        None also for ``1.234`` where the decimal sign is a comma: a thousand or a fraction, nobody can tell.
    """
    bare = text.strip(" \t\"'").replace("−", "-")
    if not bare or len(bare) > 60:
        return None
    if _PLAIN.fullmatch(bare) and not (decimal == "," and _MAYBE_THOUSANDS.fullmatch(bare)):
        return in_range(float(bare.replace("d", "e").replace("D", "e")))
    low = bare.lower()
    if low in _MISSING:
        return math.nan
    if low in _OVERFLOW or _STARRED.fullmatch(bare):
        return math.inf
    return _written(bare, decimal)


def _written(bare: str, decimal: str) -> float | None:
    if decimal == ",":
        if _THOUSANDS.fullmatch(bare):
            bare = bare.replace(".", "")
        elif ("." in bare and "," in bare) or _MAYBE_THOUSANDS.fullmatch(bare):
            return None
        bare = bare.replace(",", ".")
    elif _ENGLISH.fullmatch(bare):
        bare = bare.replace(",", "")
    match = _SUFFIXED.fullmatch(bare)
    if match is None:
        return None
    return in_range(float(match[1]) * (prefix_factor(match[2]) if match[2] else 1.0))
