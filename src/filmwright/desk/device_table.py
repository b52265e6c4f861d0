"""What is known of measured files beside their curves: a table with a row for each device."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from filmwright.errors import BadInput, Problem, Problems
from filmwright.units import UnitProblem, read

NOT_NAMED = "not named"
"""The wafer of devices of which nobody said on which they are."""

_SUFFIXES = frozenset({".csv", ".txt", ".dat", ".tsv", ".xls", ".xlsx", ".ods"})
_LENGTHS = {
    "width": "length",
    "length": "length",
    "x": "length",
    "y": "length",
    "edge": "length",
    "area": "area",
}
_MEANINGS: Mapping[str, str] = {
    "file": r"file ?(name)?|table",
    "device": r"device ?(name)?|dut|label",
    "wafer": r"wafer|chip|sample|substrate",
    "kind": r"kind|type|polarity",
    "width": r"w|width|channel width",
    "length": r"l|length|channel length",
    "area": r"area|gate area",
    "edge": r"edge|edge length|border|perimeter|gate edge",
    "x": r"x",
    "y": r"y",
    "split": r"split|variant|group",
    "day": r"day|date|batch|run",
    "tool": r"tool|chamber",
    "position": r"position|slot",
    "left_out": r"exclude|excluded|left out|excluded because",
}


@dataclass(frozen=True, kw_only=True)
class About:
    """What is known of one measured device; empty or None where it is not.

    Attributes
    ----------
    file, device, wafer, kind, split, day, tool, position, left_out : str
    width, length, edge, x, y : float or None [m]
    area : float or None [m²]
    """

    file: str = ""
    device: str = ""
    wafer: str = ""
    kind: str = ""
    split: str = ""
    day: str = ""
    tool: str = ""
    position: str = ""
    left_out: str = ""
    width: float | None = None
    length: float | None = None
    area: float | None = None
    edge: float | None = None
    x: float | None = None
    y: float | None = None


def measured_files(given: Iterable[Path]) -> tuple[Path, ...]:
    """The files themselves, and the tables of folders, in order of name."""
    found: list[Path] = []
    for path in given:
        if path.is_dir():
            found.extend(sorted(each for each in path.iterdir() if each.suffix.lower() in _SUFFIXES))
        else:
            found.append(path)
    return tuple(found)


def read_device_table(path: Path, columns: Iterable[str] = ()) -> tuple[tuple[About, ...], tuple[str, ...]]:
    """The rows of a table of devices, and what was understood of its columns.

    Columns are known by their names; sizes and places need a unit, in the head (``W [um]``, ``x_mm``) or in the cell.

    Parameters
    ----------
    path : Path
    columns : iterable of str
        Corrections such as ``kind=device``: what is meant, then the name of the column.

    Raises
    ------
    BadInput
        For a file that cannot be read, a column that is not there, a size without a unit; all at once.
    """
    rows = _rows(path)
    problems = Problems()
    heads = rows[0] if rows else []
    places = _places(path, heads, columns, problems)
    found = []
    for number, row in enumerate(rows[1:], 2):
        cells = {what: row[at].strip() for what, (at, _) in places.items() if at < len(row)}
        if any(cells.values()):
            found.append(_about(path, number, cells, places, problems))
    problems.raise_any()
    said = ", ".join(f"{what.replace('_', ' ')} from “{heads[at]}”" for what, (at, _) in places.items())
    return tuple(found), (f"{path.name}: {said}" if said else f"{path.name}: no column was understood",)


def _rows(path: Path) -> list[list[str]]:
    try:
        text = path.read_text("utf-8-sig")
    except (OSError, UnicodeError) as trouble:
        raise BadInput(
            Problem(
                what="the table of devices",
                expected="a readable text file (UTF-8)",
                got=getattr(trouble, "strerror", None) or "other characters",
                why="sizes, places and wafers of the devices stand in it",
                remedy="save it as CSV in UTF-8",
                file=str(path),
            )
        ) from None
    first = text.partition("\n")[0]
    separator = max(",;\t", key=first.count)
    return [row for row in csv.reader(text.splitlines(), delimiter=separator) if row]


def _places(
    path: Path, heads: list[str], columns: Iterable[str], problems: Problems
) -> dict[str, tuple[int, str]]:
    """For each meaning its column and the unit of the head."""
    found: dict[str, tuple[int, str]] = {}
    taken: set[int] = set()
    for text in columns:
        what, _, name = (part.strip() for part in text.partition("="))
        at = next((k for k, head in enumerate(heads) if head.strip() == name), None)
        if what not in _MEANINGS or at is None:
            problems.add(
                Problem(
                    what=f'the correction "{text}"',
                    expected="MEANING=COLUMN, a meaning of " + ", ".join(_MEANINGS),
                    got=f"columns {', '.join(heads)}",
                    why="it says what a column means",
                    remedy='write it like "kind=device"',
                    file=str(path),
                )
            )
        else:
            found[what] = (at, _split_head(heads[at])[1])
            taken.add(at)
    for at, head in enumerate(heads):
        if at in taken:
            continue
        name, unit = _split_head(head)
        for what, pattern in _MEANINGS.items():
            if what not in found and re.fullmatch(pattern, name, re.IGNORECASE):
                found[what] = (at, unit)
                break
    return found


def _split_head(head: str) -> tuple[str, str]:
    """Name and unit of a column: ``W [um]``, ``W (µm)``, ``W_um``."""
    text = head.strip()
    inside = re.fullmatch(r"(.*?)\s*[\[(]\s*(.*?)\s*[\])]", text)
    if inside:
        return inside[1].replace("_", " "), inside[2]
    after = re.fullmatch(r"(.*?)[_ ](nm|um|µm|μm|mm|cm|m|um2|um\^2|µm²|mm2|mm\^2|cm\^2)", text)
    return (after[1].replace("_", " "), after[2]) if after else (text.replace("_", " "), "")


def _about(
    path: Path, line: int, cells: Mapping[str, str], places: Mapping[str, tuple[int, str]], problems: Problems
) -> About:
    words: dict[str, Any] = {what: text for what, text in cells.items() if what not in _LENGTHS}
    numbers: dict[str, Any] = {}
    for what, dimension in _LENGTHS.items():
        text = cells.get(what, "")
        if not text:
            continue
        value = _number(f"{text} {places[what][1]}".strip(), dimension, what, path, line, problems)
        if value is not None:
            numbers[what] = value
    return About(**words, **numbers)


def _number(text: str, dimension: str, what: str, path: Path, line: int, problems: Problems) -> float | None:
    # A place may be zero or negative and zero needs no unit.
    if what in ("x", "y") and re.fullmatch(r"[+-]?0*\.?0*", text):
        return 0.0
    try:
        value = read(text, dimension, what).value
    except UnitProblem as trouble:
        problems.add(trouble.problem.at(str(path), line))
        return None
    if what not in ("x", "y") and not value > 0:
        problems.add(
            Problem(
                what=f"the {what}",
                expected="more than zero",
                got=f'"{text}"',
                why="a device has a size",
                remedy="correct it, or leave the cell empty",
                file=str(path),
                line=line,
            )
        )
        return None
    return value


def matched(path: Path, rows: Iterable[About], device: str = "") -> About | None:
    """The row of a device: by the name of its file, else by wafer and device as they stand in that name.

    Of a file with several devices the row is the one that names ``device`` too.
    """
    stem = path.stem.lower()
    own = [row for row in rows if row.file and Path(row.file).name.lower() in (path.name.lower(), stem)]
    if own:
        return next((row for row in own if device and row.device == device), own[0])
    for row in rows:
        if row.file or not row.device:
            continue
        device, wafer = row.device.lower(), row.wafer.lower()
        both = {f"{a}{s}{b}" for a, b in ((wafer, device), (device, wafer)) for s in "-_ " if wafer}
        if stem in (both or {device}):
            return row
    return None
