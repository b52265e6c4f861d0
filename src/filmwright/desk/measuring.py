"""The verb extract: measured tables → parameters."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from filmwright.desk.answers import ExtractAnswer
from filmwright.desk.curve_files import write_all
from filmwright.desk.curve_reports import checklists_of
from filmwright.desk.identity import identified, known_of
from filmwright.desk.table_reading import TableReading, explanations, rules_for, tables
from filmwright.errors import Problem, Problems
from filmwright.measure import (
    Geometry,
    Measurement,
    curve_fields,
    extract_many,
    family_fields,
    output_families,
)
from filmwright.units import UnitProblem, read


def extract(  # noqa: PLR0913 - one word per thing that can be said
    files: Iterable[Path],
    width: str = "",
    length: str = "",
    capacitance: str = "",
    contact_resistance: str = "",
    checklist: bool = False,
    everything: bool = False,
    into: Mapping[str, Path | None] | None = None,
    reading: Mapping[str, Any] | None = None,
    tell: Callable[[int, int, str], None] | None = None,
) -> ExtractAnswer:
    """Parameters of every curve in the files; ``into`` says where to write ``page``, ``figure``, ``csv``, ``parquet``.

    ``everything`` has every parameter of every curve shown, with its definition.
    With ``checklist`` what has to be said beside them is filled in, or named with what is lost without it.
    ``reading`` holds what :class:`TableReading` knows: corrections, rules, the pattern of file names, the lot. One file that
    cannot be read does not stop the others: it is named under ``problems``, and the answer counts as stopped. When none can be
    read, all problems are raised.
    """
    problems = Problems()
    geometry = _geometry((width, length, capacitance, contact_resistance), problems)
    mistyped = bool(problems.found)
    asked = TableReading.of(reading)
    files = [Path(file) for file in files]
    rules, written = rules_for(asked, files)
    if asked.explain:
        told, refused = explanations(files, rules)
        if not told:
            Problems(list(refused)).raise_any()
        return ExtractAnswer(
            curves=(),
            problems=tuple(map(str, refused)),
            refused=len(refused),
            explanations=told,
            written=written,
        )
    measurements, refused = tables(asked, files, rules, tell)
    if mistyped or not measurements:
        Problems([*problems.found, *refused]).raise_any()
    known = known_of(asked.lot, asked.record) if asked.lot else None
    found = tuple(sweep for each in measurements for sweep in each.sweeps)
    outputs = tuple(curve for each in measurements for curve in each.output_curves)
    sweeps, geometries, origins, noticed = identified(found, geometry, known)
    results = tuple(extract_many(sweeps, geometries)) if sweeps else ()
    answer = ExtractAnswer(
        curves=tuple(
            {**curve_fields(result), **origin} for result, origin in zip(results, origins, strict=True)
        ),
        problems=(*map(str, refused), *_without_curve(measurements)),
        noticed=(*_noticed(measurements), *noticed),
        results=results,
        sweeps=sweeps,
        geometries=geometries,
        output_curves=outputs,
        families=tuple(family_fields(each) for each in output_families(outputs)),
        checklists=checklists_of(sweeps, results, geometries, origins) if checklist else (),
        refused=len(refused),
        written=written,
        everything=everything,
    )
    return replace(answer, written=(*written, *write_all(answer, into.items()))) if into else answer


def _without_curve(measurements: Iterable[Measurement]) -> list[str]:
    return [
        f"{each.file}: {warning}"
        + (f"; filmwright capacitance {each.file} reads it" if each.capacitance else "")
        for each in measurements
        if not each.sweeps
        for warning in each.warnings or ("holds no transfer curve",)
    ]


def _noticed(measurements: Iterable[Measurement]) -> list[str]:
    """What was noticed at files with curves; the same at many files is said once."""
    where: dict[str, list[str]] = {}
    for each in measurements:
        for warning in each.warnings if each.sweeps else ():
            where.setdefault(warning, []).append(each.file)
    return [
        f"{files[0]}: {warning}" if len(files) == 1 else f"{len(files)} files ({files[0]} …): {warning}"
        for warning, files in where.items()
    ]


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
