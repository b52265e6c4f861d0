"""The verb extract: measured tables → parameters."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path

from filmwright.desk.answers import ExtractAnswer
from filmwright.desk.curve_files import write_all
from filmwright.desk.curve_reports import checklists_of
from filmwright.errors import BadInput, Problem, Problems
from filmwright.measure import (
    Geometry,
    OutputCurve,
    Sweep,
    curve_fields,
    extract_many,
    family_fields,
    output_families,
    read_table,
)
from filmwright.units import UnitProblem, read


def extract(
    files: Iterable[Path],
    width: str = "",
    length: str = "",
    capacitance: str = "",
    contact_resistance: str = "",
    checklist: bool = False,
    into: Mapping[str, Path | None] | None = None,
) -> ExtractAnswer:
    """Parameters of every curve in the files; ``into`` says where to write ``page``, ``figure``, ``csv``, ``parquet``.

    With ``checklist`` what has to be said beside them is filled in, or named with what is lost without it.

    One file that cannot be read does not stop the others: it is named under ``problems``. When none can be read, all
    problems are raised.
    """
    problems = Problems()
    geometry = _geometry((width, length, capacitance, contact_resistance), problems)
    mistyped = bool(problems.found)
    sweeps: list[Sweep] = []
    outputs: list[OutputCurve] = []
    notes: list[str] = []
    files = [Path(file) for file in files]
    for file in files:
        try:
            found = read_table(file)
        except BadInput as bad:
            problems.found.extend(bad.problems)
            continue
        sweeps.extend(found.sweeps)
        outputs.extend(found.output_curves)
        if not found.sweeps:
            notes.extend(f"{file}: {warning}" for warning in found.warnings or ("holds no transfer curve",))
    if mistyped or not (sweeps or notes):
        problems.raise_any()
    results = tuple(extract_many(sweeps, geometry)) if sweeps else ()
    answer = ExtractAnswer(
        curves=tuple(curve_fields(result) for result in results),
        problems=(*(str(problem) for problem in problems.found), *notes),
        results=results,
        sweeps=tuple(sweeps),
        geometries=(geometry,) * len(results),
        output_curves=tuple(outputs),
        families=tuple(family_fields(each) for each in output_families(outputs)),
        checklists=checklists_of(sweeps, results, (geometry,) * len(results)) if checklist else (),
    )
    return replace(answer, written=write_all(answer, into.items())) if into else answer


def _geometry(texts: tuple[str, str, str, str], problems: Problems) -> Geometry:
    values: dict[str, float | None] = {}
    known = (
        ("width", "length"),
        ("length", "length"),
        ("areal_capacitance", "areal capacitance"),
        ("contact_resistance", "width-normalised resistance"),
    )
    for (name, dimension), text in zip(known, texts, strict=True):
        values[name] = None
        if not text:
            continue
        option = f"the {name.replace('_', ' ')}"
        try:
            value = read(text, dimension, option).value
        except UnitProblem as trouble:
            problems.add(trouble.problem)
            continue
        if value <= 0:
            problems.add(
                Problem(
                    what=option,
                    expected="more than zero",
                    got=f'"{text}"',
                    why="a device has a size",
                    remedy="write a positive value",
                )
            )
        else:
            values[name] = value
    return Geometry(**values)  # type: ignore[arg-type]
