"""What a file's name says, by a stated pattern: ``{wafer}-{device}_w{width:um}_l{length:um}``.

A field stands in braces, a number with the unit in which the name gives it, written there (``w100um``) or not (``w100``);
``{*}`` is anything; all else must stand in the name as written. ``p`` between digits is a decimal point (``w0p42``).
"""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from filmwright.errors import Problem, Problems, nearest
from filmwright.units import UnitProblem, read, to_si

TEXTS = ("wafer", "device")
NUMBERS = {
    "width": "length",
    "length": "length",
    "areal-capacitance": "areal capacitance",
    "drain-voltage": "voltage",
    "gate-voltage": "voltage",
    "temperature": "temperature",
}
_NUMBER = r"[-+−]?\d+(?:[.,p]\d+)?(?:[eE][-+]?\d+)?"


@dataclass(frozen=True, kw_only=True)
class NamePattern:
    """A pattern of file names.

    Attributes
    ----------
    text : str
        As written.
    expression : str
        The same as a regular expression.
    units : tuple of (field, unit)
    """

    text: str
    expression: str
    units: tuple[tuple[str, str], ...]

    def read(self, path: str | Path) -> Mapping[str, float | str] | None:
        """What the name of a file says, numbers in SI; None where it does not follow the pattern."""
        name = Path(path).name
        for each in (Path(path).stem, name):
            if match := re.fullmatch(self.expression, each, re.IGNORECASE):
                units = dict(self.units)
                return {
                    field.replace("_", "-"): to_si(_number(value), units[field.replace("_", "-")])
                    if field.replace("_", "-") in units
                    else value.strip()
                    for field, value in match.groupdict().items()
                }
        return None


@functools.lru_cache(maxsize=64)
def read_pattern(text: str) -> NamePattern:
    """A pattern as a person writes it.

    Parameters
    ----------
    text : str
        E.g. ``{wafer}-{device}_w{width:um}_l{length:um}``.

    Raises
    ------
    BadInput
        Naming every field that is not understood.
    """
    problems, expression, units, before = Problems(), "", [], "x"
    fields: list[str] = []
    for part in re.split(r"(\{[^{}]*\})", text):
        if not (part.startswith("{") and part.endswith("}")):
            if "{" in part or "}" in part:
                problems.add(_bad("braces in pairs", part, "write a field as {device} or {width:um}"))
            expression += re.escape(part)
            before = part or before
            continue
        field, _, unit = (each.strip() for each in part[1:-1].partition(":"))
        if field == "*":
            expression += ".*?"
            continue
        if problem := _misread(field, unit, fields, before):
            problems.add(problem)
            continue
        fields.append(field)
        if field in NUMBERS:
            units.append((field, unit))
        body = _NUMBER if field in NUMBERS else ".+?"
        expression += f"(?P<{field.replace('-', '_')}>{body})" + (_written(unit) if unit else "")
        before = ""
    if not fields and not problems.found:
        problems.add(_bad("at least one field", text, "write one as {device}"))
    problems.raise_any()
    return NamePattern(text=text, expression=expression, units=tuple(units))


def _written(unit: str) -> str:
    """The unit where the name has it, with any of the three ways to write a millionth."""
    return rf"(?:\s?{re.sub('^[uµμ]', '[uµμ]', re.escape(unit))})?"


def _number(text: str) -> float:
    return float(text.replace("−", "-").replace(",", ".").replace("p", "."))


def _misread(field: str, unit: str, before: list[str], literal: str) -> Problem | None:
    known = [*TEXTS, *NUMBERS]
    if field not in known:
        return _bad("one of " + ", ".join(known) + " or *", field, nearest(field, known))
    if field in before:
        return _bad("each field once", field, "delete the second")
    if field in TEXTS:
        if unit:
            return _bad(f"{{{field}}} without a unit", f"{field}:{unit}", f"write {{{field}}}")
        return (
            _bad("something between two fields", field, "write - or _ between them") if not literal else None
        )
    if not unit:
        return _bad(
            "a unit for every number",
            field,
            f"write {{{field}:um}}" if NUMBERS[field] == "length" else f"write {{{field}:V}}",
        )
    try:
        read(f"1 {unit}", NUMBERS[field], f"the unit of {field}")
    except UnitProblem as trouble:
        return trouble.problem
    return None


def _bad(expected: str, got: str, remedy: str) -> Problem:
    return Problem(
        what="the pattern of file names",
        expected=expected,
        got=f'"{got}"',
        why="what belongs to a device is read from it",
        remedy=remedy,
    )
