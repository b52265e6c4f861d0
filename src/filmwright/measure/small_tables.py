"""Small tables, also typed by hand: columns by what their names mean, numbers in SI, errors beside the values."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from filmwright.errors import BadInput, Problem, Problems
from filmwright.measure.cells import Cell, Row
from filmwright.measure.curves import Array
from filmwright.measure.grids import read_bytes, read_grids
from filmwright.units import UnitProblem, read, to_si

_UNIT = re.compile(r"^(?P<name>.*?)\s*[(\[](?P<unit>[^()\[\]]*)[)\]]\s*$")
_ERROR = re.compile(r"±|\+-|\berror\b|\bstd\b|\bsigma\b|\buncertainty\b|\bspread\b|standard deviation")
_MOST = 20


@dataclass(frozen=True, kw_only=True)
class Meaning:
    """A column that may be there.

    Attributes
    ----------
    words : tuple of str
        Names that people give it, in small letters.
    dimension : str
        Of ``filmwright.units``; empty for a text.
    wanted : bool
        Whether nothing can be read without it.
    """

    words: tuple[str, ...]
    dimension: str = ""
    wanted: bool = False


@dataclass(frozen=True, kw_only=True)
class SmallTable:
    """A table as read.

    Attributes
    ----------
    numbers : mapping from name to array (n,) [SI]
        NaN where a cell is empty.
    errors : mapping from name to array (n,) [SI]
        Of the columns that have one beside them.
    texts : mapping from name to tuple of str
    lines : tuple of int
    understood : tuple of str
    """

    numbers: Mapping[str, Array]
    errors: Mapping[str, Array]
    texts: Mapping[str, tuple[str, ...]]
    lines: tuple[int, ...]
    understood: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class _Place:
    at: int
    unit: str
    written: str


def read_small_table(path: str | Path, meanings: Mapping[str, Meaning]) -> SmallTable:
    """Read a table by the meaning of its columns; a length or a resistance without a unit is refused, not guessed.

    Parameters
    ----------
    path : str or Path
        Text of any separator, or a workbook.
    meanings : mapping from name to Meaning

    Raises
    ------
    BadInput
        With every problem of the table.
    """
    file = str(path)
    all_rows, notes = _rows(path)
    head, values, errors = _head(all_rows, meanings)
    problems = Problems()
    if head is None:
        wanted = ", ".join(f"{name} ({each.words[0]})" for name, each in meanings.items() if each.wanted)
        given = ", ".join(str(cell) for _, row in all_rows[:1] for cell in row)[:120]
        raise BadInput(
            _problem(
                (file, all_rows[0][0] if all_rows else 1), "the table", f"a head with {wanted}", given or "nothing",
                "columns are read by their names", 'write a head such as "length (um), resistance (ohm)" above the numbers',
            )
        )  # fmt: skip
    rows = [(line, row) for line, row in all_rows[head + 1 :] if any(cell != "" for cell in row)]
    numbers = {
        name: _numbers(rows, place, meanings[name].dimension, name, file, problems)
        for name, place in values.items()
        if meanings[name].dimension
    }
    spreads = {
        name: _numbers(rows, place, meanings[name].dimension, f"{name} error", file, problems)
        for name, place in errors.items()
    }
    texts = {
        name: tuple(str(row[place.at]) if place.at < len(row) else "" for _, row in rows)
        for name, place in values.items()
        if not meanings[name].dimension
    }
    if not rows:
        problems.add(
            _problem(
                (file, all_rows[head][0]), "the table", "numbers below the head", "none", "there is nothing to read",
                "write one row for each reading",
            )
        )  # fmt: skip
    problems.raise_any()
    understood = [
        f'column "{place.written}": {name}'
        + (", A read as ångström" if place.unit != _angstrom(place.unit, meanings[name].dimension) else "")
        for name, place in values.items()
    ]
    understood += [f'column "{place.written}": error of the {name}' for name, place in errors.items()]
    return SmallTable(
        numbers=numbers,
        errors=spreads,
        texts=texts,
        lines=tuple(line for line, _ in rows),
        understood=(*notes, *understood),
    )


def has_columns(path: str | Path, meanings: Mapping[str, Meaning]) -> bool:
    """Whether a table has the wanted columns.

    Parameters
    ----------
    path : str or Path
    meanings : mapping from name to Meaning

    Raises
    ------
    BadInput
        When it cannot be read at all.
    """
    return _head(_rows(path)[0], meanings)[0] is not None


_Lines = Sequence[tuple[int, Sequence[Cell]]]


def _rows(path: str | Path) -> tuple[_Lines, tuple[str, ...]]:
    """Every row of the first text or sheet with its line, and how it was read."""
    data, _ = read_bytes(path)
    grid = read_grids(data, str(path))[0]
    rows: list[tuple[int, Sequence[Cell]]] = []
    for piece in grid.pieces:
        if isinstance(piece, Row):
            rows.append((piece.line, piece.cells))
        else:
            rows += [(piece.line + k, tuple(row)) for k, row in enumerate(piece.values.tolist())]
    return rows, grid.layout.words()


def _head(
    rows: _Lines, meanings: Mapping[str, Meaning]
) -> tuple[int | None, dict[str, _Place], dict[str, _Place]]:
    for at, (_, row) in enumerate(rows[:200]):
        below = rows[at + 1][1] if at + 1 < len(rows) else ()
        units = _are_units(below)
        values, errors = _named(row, below if units else (), meanings)
        if all(name in values for name, each in meanings.items() if each.wanted):
            return (at + 1 if units else at), values, errors
    return None, {}, {}


def _are_units(row: Sequence[Cell]) -> bool:
    """Whether a row holds units alone, as under the names of many tables."""
    texts = [cell.strip().strip("()[]") for cell in row if isinstance(cell, str) and cell.strip()]
    if not texts or len(texts) < sum(1 for cell in row if cell != ""):
        return False
    for text in texts:
        try:
            to_si(1.0, text)
        except Exception:  # noqa: BLE001 - whatever a unit library says of a word that is no unit
            return False
    return True


def _named(
    row: Sequence[Cell], below: Sequence[Cell], meanings: Mapping[str, Meaning]
) -> tuple[dict[str, _Place], dict[str, _Place]]:
    values: dict[str, _Place] = {}
    errors: dict[str, _Place] = {}
    last = ""
    for at, cell in enumerate(row):
        if not isinstance(cell, str) or not cell:
            continue
        match = _UNIT.match(cell)
        bare = (match["name"] if match else cell).strip().lower()
        unit = match["unit"].strip() if match else ""
        if not unit and at < len(below):
            unit = str(below[at]).strip().strip("()[]")
        is_error = bool(_ERROR.search(bare))
        plain = _ERROR.sub("", bare).replace(" of ", " ").strip(" ,:_")
        name = next((name for name, each in meanings.items() if plain in each.words), "")
        place = _Place(at=at, unit=unit, written=cell)
        if is_error and (name or last):
            errors.setdefault(name or last, place)
        elif name and name not in values:
            values[name] = place
            last = name
    return values, errors


def _numbers(rows: _Lines, place: _Place, dimension: str, name: str, file: str, problems: Problems) -> Array:
    try:
        read(f"1 {place.unit}".strip(), dimension, f"the unit of {name}")
    except UnitProblem as trouble:
        problems.add(trouble.problem.at(file))
        return np.full(len(rows), np.nan)
    unit = _angstrom(place.unit, dimension)
    found = []
    for line, row in rows:
        cell = row[place.at] if place.at < len(row) else ""
        if isinstance(cell, str) and cell.strip() and len(problems.found) < _MOST:
            problems.add(
                _problem(
                    (file, line), f"the {name} in this line", "a number", f'"{cell}"', "it cannot be used",
                    "write a number, or leave the line out",
                )
            )  # fmt: skip
        found.append(to_si(cell, unit) if not isinstance(cell, str) else np.nan)
    return np.array(found)


def _angstrom(unit: str, dimension: str) -> str:
    """The unit; A is the ångström where a length stands."""
    return "ang" if dimension == "length" and unit == "A" else unit


def _problem(place: tuple[str, int], what: str, expected: str, got: str, why: str, remedy: str) -> Problem:
    file, line = place
    return Problem(what=what, expected=expected, got=got, why=why, remedy=remedy, file=file, line=line)
