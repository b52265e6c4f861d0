"""How measured tables are read: reading rules found, corrected and kept, and what was understood told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from filmwright.errors import BadInput, Problem
from filmwright.measure import (
    Measurement,
    NamePattern,
    Rule,
    explain_table,
    named,
    read_pattern,
    read_rules,
    rule_text,
    shape_of_file,
    with_corrections,
)
from filmwright.measure import read_tables as read_all

RULES_NAME = "reading-rules.toml"
"""The file of reading rules, beside the record."""


@dataclass(frozen=True, kw_only=True)
class TableReading:
    """What a person says about the reading of tables.

    Attributes
    ----------
    explain : bool
        Tell what was understood instead of extracting.
    read_as : tuple of str
        Corrections such as ``I2 = gate current, nA``.
    keep_as : str
        Name under which the corrections are kept as a rule.
    rules : Path or None
        File of reading rules; None takes the one in this folder, if it is there.
    name_pattern : str
        What the names of the files say.
    lot : str
        Lot whose drawing gives W, L and areal capacitance.
    record : Path or None
    """

    explain: bool = False
    read_as: tuple[str, ...] = ()
    keep_as: str = ""
    rules: Path | None = None
    name_pattern: str = ""
    lot: str = ""
    record: str | Path | None = None

    @staticmethod
    def of(words: Mapping[str, Any] | None) -> TableReading:
        """From the words of the command line."""
        told: dict[str, Any] = dict(words or {})
        return TableReading(**{**told, "read_as": tuple(told.get("read_as", ()))})


def rules_for(asked: TableReading, files: Sequence[Path]) -> tuple[tuple[Rule, ...], tuple[Path, ...]]:
    """The rules to read with, the corrections among them, and the file of rules when one was written."""
    path = asked.rules or Path(RULES_NAME)
    kept = read_rules(path) if asked.rules is not None or path.is_file() else ()
    if not asked.read_as:
        if asked.keep_as:
            raise BadInput(
                _problem(
                    "what is kept under a name",
                    "a correction beside it",
                    f'--keep-as "{asked.keep_as}" alone',
                    'write --read-as "I2 = gate current, nA" too',
                )
            )
        return kept, ()
    shape = _one_shape(files)
    before = next((rule for rule in kept if rule.shape == shape), None)
    rule = with_corrections(before or Rule(name=asked.keep_as or "as corrected", shape=shape), asked.read_as)
    written: tuple[Path, ...] = ()
    if asked.keep_as:
        _keep(path, replace(rule, name=asked.keep_as), kept)
        written = (path,)
    return (rule, *(each for each in kept if each.shape != shape)), written


def tables(
    asked: TableReading, files: Sequence[Path], rules: Sequence[Rule], tell: Any = None
) -> tuple[tuple[Measurement, ...], tuple[Problem, ...]]:
    """The measurements of all files that can be read, with what their names say, and the problems of the others."""
    pattern = read_pattern(asked.name_pattern) if asked.name_pattern else None
    found = read_all(files, rules, tell=tell)
    if pattern is None:
        return found.measurements, found.problems
    return tuple(_named(each, pattern) for each in found.measurements), found.problems


def explanations(
    files: Sequence[Path], rules: Sequence[Rule]
) -> tuple[tuple[dict[str, Any], ...], tuple[Problem, ...]]:
    """What was understood of each file, for programs and people."""
    told: list[dict[str, Any]] = []
    problems: list[Problem] = []
    for file in files:
        try:
            found = explain_table(file, rules)
        except BadInput as bad:
            problems.extend(bad.problems)
            continue
        told.append(
            {"file": found.file, "lines": [{"topic": topic, "text": text} for topic, text in found.lines]}
        )
    return tuple(told), tuple(problems)


def _named(measurement: Measurement, pattern: NamePattern) -> Measurement:
    sweeps, outputs, notes = named(measurement.sweeps, measurement.output_curves, pattern)
    return replace(
        measurement, sweeps=sweeps, output_curves=outputs, warnings=(*measurement.warnings, *notes)
    )


def _one_shape(files: Sequence[Path]) -> str:
    shapes = {shape_of_file(file): file for file in files}
    if len(shapes) > 1:
        shown = ", ".join(path.name for path in list(shapes.values())[:3])
        raise BadInput(
            _problem(
                "the corrected tables",
                "of one shape",
                f"{len(shapes)} shapes ({shown})",
                "correct one shape after the other",
            )
        )
    return next(iter(shapes))


def _keep(path: Path, rule: Rule, kept: Sequence[Rule]) -> None:
    """Append the rule, so that what a person wrote in the file stays as it is."""
    for each in kept:
        if each.shape == rule.shape or each.name == rule.name:
            same = "shape" if each.shape == rule.shape else "name"
            raise BadInput(
                _problem(
                    "the rule that is kept",
                    f"of a new {same}",
                    f'"{each.name}" in {path}',
                    f'change "{each.name}" in {path}, or delete it there',
                )
            )
    before = (
        path.read_text("utf-8")
        if path.is_file()
        else "# Reading rules of filmwright: how tables of one shape are read.\n"
    )
    with path.open("w", encoding="utf-8") as out:
        out.write(before.rstrip("\n") + "\n\n" + rule_text(rule))


def _problem(what: str, expected: str, got: str, remedy: str) -> Problem:
    return Problem(
        what=what, expected=expected, got=got, why="a rule is for tables of one shape", remedy=remedy
    )
