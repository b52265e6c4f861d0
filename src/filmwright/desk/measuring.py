"""The verb extract: measured tables → parameters."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path

from filmwright.desk.answers import ExtractAnswer
from filmwright.desk.curve_files import write_all
from filmwright.errors import BadInput, Problem, Problems
from filmwright.measure import Geometry, OutputCurve, Sweep, curve_fields, extract_many, read_table
from filmwright.units import UnitProblem, read


def extract(
    files: Iterable[Path],
    width: str = "",
    length: str = "",
    capacitance: str = "",
    into: Mapping[str, Path | None] | None = None,
) -> ExtractAnswer:
    """Parameters of every curve in the files; ``into`` says where to write ``page``, ``figure``, ``csv``, ``parquet``.

    One file that cannot be read does not stop the others: it is named under ``problems``. When none can be read, all
    problems are raised.
    """
    problems = Problems()
    geometry = _geometry(width, length, capacitance, problems)
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
    )
    return replace(answer, written=write_all(answer, into.items())) if into else answer


def _geometry(width: str, length: str, capacitance: str, problems: Problems) -> Geometry:
    values: dict[str, float | None] = {}
    for name, text, dimension in (
        ("width", width, "length"),
        ("length", length, "length"),
        ("areal_capacitance", capacitance, "areal capacitance"),
    ):
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
    return Geometry(
        width=values["width"], length=values["length"], areal_capacitance=values["areal_capacitance"]
    )
