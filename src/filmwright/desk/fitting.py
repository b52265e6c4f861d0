"""The verb fit: measured tables → one set of parameters for all curves of a device, with intervals."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from filmwright.desk.curve_files import write_figure
from filmwright.desk.files import write
from filmwright.desk.fit_answers import FitAnswer, points_text
from filmwright.desk.measuring import _geometry
from filmwright.errors import BadInput, Problems
from filmwright.measure import OutputCurve, Sweep, extract_many, families_of, fit_families, read_table
from filmwright.outputs import fit_plots


def fit(  # noqa: PLR0913 - one option per thing that can be said of a device
    files: Iterable[Path],
    width: str = "",
    length: str = "",
    capacitance: str = "",
    robust: bool = False,
    bulk: bool = False,
    as_csv: bool = False,
    points: Path | None = None,
    figure: Path | None = None,
) -> FitAnswer:
    """The channel current fitted to the curves of every device in the files, the directions apart.

    ``points`` is written as a table, ``figure`` for print.

    One file that cannot be read does not stop the others: it is named under ``problems``. When none can be read, all
    problems are raised.
    """
    problems = Problems()
    geometry = _geometry((width, length, capacitance, ""), problems)
    mistyped = bool(problems.found)
    sweeps: list[Sweep] = []
    outputs: list[OutputCurve] = []
    notes: list[str] = []
    for file in (Path(each) for each in files):
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
    families = families_of(extract_many(sweeps, geometry), outputs) if sweeps else ()
    known = {family.file for family in families}
    notes.extend(
        f"{file}: the drain voltage is not known, so no current can be computed for it"
        for file in dict.fromkeys(sweep.file for sweep in sweeps)
        if file not in known
    )
    results = fit_families(families, geometry, robust=robust, bulk=bulk)
    if figure is not None:
        write_figure([plot for each in results for plot in fit_plots(each)], figure)
    return FitAnswer(
        results=results,
        problems=(*(str(problem) for problem in problems.found), *notes),
        as_csv=as_csv,
        open=write(points, points_text(results)) if points is not None else None,
    )
