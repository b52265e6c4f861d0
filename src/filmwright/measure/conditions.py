"""Under which conditions a table was measured, as far as the lines around its numbers say so."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from filmwright.measure.cells import Cell, Row
from filmwright.measure.grids import Grid, read_bytes, read_grids

CONDITIONS = {
    "delay": r"(?:(?:sweep|source|step|measure(?:ment)?)\s+)?delay(?:\s+time)?|settling(?:\s+time)?|wartezeit|verzögerung",
    "hold": r"hold(?:\s+time)?|initial\s+wait",
    "rate": r"(?:sweep|scan|ramp)[ _]*(?:rate|speed)|dv\s*/\s*dt",
    "integration": r"integration(?:\s+time)?|nplc|aperture|averag(?:e|ing)(?:\s+\w+)?",
    "light": r"light(?:\s+\w+)?|illumination|lamp(?:\s+\w+)?|licht|beleuchtung",
    "dark wait": r"dark(?:\s+(?:wait|time|rest))?|time\s+in\s+the\s+dark",
    "temperature": r"(?:chuck\s+|stage\s+|sample\s+|substrate\s+)?temp(?:erature|eratur)?\.?|t\s*(?:chuck|stage)",
    "humidity": r"(?:relative\s+)?humidity|r\.?h\.?|luftfeuchte",
    "atmosphere": r"atmosphere|ambient|environment|(?:purge\s+)?gas|atmosphäre|chamber\s+pressure",
    "age": r"age(?:\s+of\s+\w+)?|fabricated(?:\s+on)?|made\s+on|stored(?:\s+\w+)?|storage(?:\s+\w+)?|days\s+since\s+\w+",
    "date": r"(?:measurement\s+|test\s+|record\s*)?(?:date|time\s*stamp)(?:\s+time)?|measured\s+on|datum|timestamp",
    "limit": r"(?:current\s+|drain\s+|i\s*d?\s*)?compliance(?:\s+\w+)?|current\s+limit|i\s*limit",
}
"""Condition → what its name looks like in a file."""

_NAMES = {name: re.compile(rf"(?:{words})", re.IGNORECASE) for name, words in CONDITIONS.items()}
_PAIR = re.compile(r"^\W*(?P<name>[^:=;\t]{2,40}?)\s*[:=;]\s*(?P<value>\S.{0,80})$")
_UNIT = re.compile(r"^(?P<name>.*?)\s*[(\[](?P<unit>[^)\]]{1,8})[)\]]\s*$")
MOST = 400
"""Rows without numbers that are looked at."""


@dataclass(frozen=True, kw_only=True)
class Condition:
    """What a file says about one condition.

    Attributes
    ----------
    value : str
        As written.
    line : int
    """

    value: str
    line: int


def read_conditions(path: str | Path) -> Mapping[str, Condition]:
    """What a table says about how it was measured: delay, rate, light, temperature, atmosphere, age, date, limit.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    mapping from a key of :data:`CONDITIONS` to Condition
        What is not said is left out; what is said twice is told as it was said first.

    Raises
    ------
    BadInput
        If the file cannot be read.
    """
    data, _ = read_bytes(path)
    return conditions_of(read_grids(data, str(path)))


def conditions_of(grids: tuple[Grid, ...]) -> Mapping[str, Condition]:
    """What the rows between the numbers say.

    Parameters
    ----------
    grids : tuple of Grid
    """
    found: dict[str, Condition] = {}
    for grid in grids:
        rows = [piece for piece in grid.pieces if isinstance(piece, Row)][:MOST]
        for row in rows:
            for name, value in _statements(row):
                found.setdefault(name, Condition(value=value, line=row.line))
    return found


def _statements(row: Row) -> list[tuple[str, str]]:
    """(condition, value) of a row, written ``name: value`` in one cell or as name and value in cells of a row."""
    said = []
    filled = [cell for cell in row.cells if cell != ""]
    for cell in filled:
        match = _PAIR.match(cell) if isinstance(cell, str) else None
        name = _condition(match["name"]) if match else ""
        if match and name:
            said.append((name, _with_unit(match["name"], match["value"].strip())))
    # A row of names is a table's header, not a statement: two or three cells are one.
    if not said and 2 <= len(filled) <= 3 and isinstance(filled[0], str):
        name = _condition(filled[0])
        if name and not (isinstance(filled[1], str) and _condition(filled[1])):
            said.append((name, _with_unit(filled[0], " ".join(_text(cell) for cell in filled[1:]))))
    return said


def _condition(text: str) -> str:
    match = _UNIT.match(text)
    bare = re.sub(r"[_\-.]+", " ", match["name"] if match else text).strip(" #%*\"'")
    return next((name for name, pattern in _NAMES.items() if pattern.fullmatch(bare)), "")


def _with_unit(name: str, value: str) -> str:
    match = _UNIT.match(name)
    return f"{value} {match['unit']}" if match and re.fullmatch(r"[-+\d.,eE]+", value) else value


def _text(cell: Cell) -> str:
    return cell if isinstance(cell, str) else f"{cell:g}"
