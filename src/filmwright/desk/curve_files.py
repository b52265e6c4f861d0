"""What becomes of measured curves: a table, a page, figures for print."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from filmwright.desk.files import write
from filmwright.errors import BadInput, Problem
from filmwright.units import write as written

if TYPE_CHECKING:
    from filmwright.desk.answers import ExtractAnswer
    from filmwright.measure import CurveResult, Geometry, OutputCurve, Sweep
    from filmwright.outputs import CurveFile, Plot

MOST_FILES = 12
"""Devices whose figures are drawn; the tables hold all of them."""

NOTEBOOK_COLUMNS = (
    "file",
    "device",
    "sweep",
    "direction",
    "parameter",
    "bound",
    "value",
    "std",
    "standard_deviation",
    "low",
    "high",
    "unit",
    "valid",
    "why not",
    "why_not",
)


def plots_of(answer: ExtractAnswer) -> tuple[Plot, ...]:
    """Figures of the first devices of an answer: transfer, transconductance, thresholds compared, output curves."""
    return tuple(plot for each in _files(answer)[:MOST_FILES] for plot in each.plots)


def _files(answer: ExtractAnswer) -> list[CurveFile]:
    """Curves put together by the device that they belong to."""
    from filmwright.outputs import CurveFile

    groups: dict[tuple[str, str], list[int]] = {}
    for at, sweep in enumerate(answer.sweeps):
        groups.setdefault((sweep.file, sweep.device), []).append(at)
    families: dict[tuple[str, str], list[OutputCurve]] = {}
    for curve in answer.output_curves:
        families.setdefault((curve.file, curve.device), []).append(curve)
    found = []
    for number, key in enumerate(dict.fromkeys((*groups, *families))):
        places, outputs = groups.get(key, []), families.get(key, [])
        drawn = _plots(answer, places, outputs) if number < MOST_FILES else ()
        file, device = key
        digest = next((answer.sweeps[at].sha256 for at in places), "") or next(
            (curve.sha256 for curve in outputs), ""
        )
        found.append(
            CurveFile(
                name=f"{Path(file).name}{f', {device}' if device else ''}",
                results=tuple(answer.results[at] for at in places),
                plots=drawn,
                sha256=digest,
                said=_known(answer.geometries[places[0]]) if places else "",
            )
        )
    return found


def _plots(answer: ExtractAnswer, places: Sequence[int], outputs: Sequence[OutputCurve]) -> tuple[Plot, ...]:
    from filmwright.outputs import transconductance_plot, transfer_plot

    plots: list[Plot] = []
    if places:
        sweeps: list[Sweep] = [answer.sweeps[at] for at in places]
        results: list[CurveResult] = [answer.results[at] for at in places]
        plots += [transfer_plot(sweeps, results), transconductance_plot(sweeps, results)]
        plots += _read_plots(answer, places)
    if outputs:
        plots.append(_output_plot(outputs))
    return tuple(plots)


def _read_plots(answer: ExtractAnswer, places: Sequence[int]) -> list[Plot]:
    """Of the forward curve at the smallest drain voltage: thresholds compared, straight lines, mobility by definition."""
    from filmwright.measure import mobility_against_gate
    from filmwright.outputs import definitions_plot, integral_plot, mobility_curve_plot, ratio_plot

    forward = [at for at in places if answer.results[at].direction == "forward"] or list(places)
    at = min(forward, key=lambda place: abs(answer.results[place].drain_voltage or 0.0))
    sweep, result, geometry = answer.sweeps[at], answer.results[at], answer.geometries[at]
    found = [
        definitions_plot(result),
        ratio_plot(sweep, result),
        integral_plot(sweep, result),
        mobility_curve_plot(mobility_against_gate(sweep, geometry, result)),
    ]
    return [plot for plot in found if plot is not None]


def _output_plot(outputs: Sequence[OutputCurve]) -> Plot:
    from filmwright.outputs import Curve, output_plot

    curves = []
    for each in outputs:
        gate = "" if each.gate_voltage is None else f"V_G {each.gate_voltage:.4g} V".replace("-", "−")
        way = ", backward" if each.direction == "backward" else ""
        curves.append(Curve(voltage=each.drain_voltage, current=each.drain_current, label=f"{gate}{way}"))
    return output_plot(curves)


def _known(geometry: Geometry) -> str:
    known = [
        f"{name} {written(value, unit)}"
        for name, value, unit in (
            ("W", geometry.width, "um"),
            ("L", geometry.length, "um"),
            ("areal capacitance", geometry.areal_capacitance, "nF/cm^2"),
        )
        if value is not None
    ]
    missing = geometry.missing()
    return ", ".join(known) + (f"{'; ' if known else ''}not known: {missing}" if missing else "")


def write_all(answer: ExtractAnswer, wanted: Iterable[tuple[str, Path | None]]) -> tuple[Path, ...]:
    """Write what was asked for: ``page``, ``figure``, ``csv`` or ``parquet``, each with its place."""
    found: list[Path] = []
    for kind, path in wanted:
        if path is None:
            continue
        if kind == "page":
            found.append(write_page(answer, path))
        elif kind == "figure":
            found += write_figure(plots_of(answer), path)
        else:
            found.append(write_rows(answer.rows(), path, kind))
    return tuple(found)


def write_page(answer: ExtractAnswer, path: Path) -> Path:
    """The page of an answer."""
    from filmwright.outputs import curves_html

    files = _files(answer)
    problems = list(answer.problems)
    if len(files) > MOST_FILES:
        problems.append(f"{len(files)} devices: the first {MOST_FILES} have figures, the tables hold all.")
    return write(path, curves_html(files, problems))


def write_rows(rows: Sequence[Any], path: Path, kind: str) -> Path:
    """Rows of parameters as a file of that kind."""
    from filmwright.outputs import table_bytes

    return write(path, table_bytes(rows, kind))


def write_figure(plots: Sequence[Plot], path: Path) -> tuple[Path, ...]:
    """Figures for print: the pages of one PDF, or one file each, numbered from the second on."""
    from filmwright.outputs import KINDS, printed_plots

    kind = path.suffix.lower().lstrip(".")
    if kind not in KINDS:
        raise BadInput(
            Problem(
                what="the figure to write",
                expected="a name that ends in .svg, .pdf or .png",
                got=f'"{path.name}"',
                why="the ending says how the figure is written",
                remedy=f"write {path.stem}.pdf",
            )
        )
    if not plots:
        raise BadInput(
            Problem(
                what="the figure to write",
                expected="a curve to draw",
                got="none",
                why="an empty figure says nothing",
                remedy="look at what was said of the files, without --figure",
            )
        )
    made = printed_plots(plots, kind)
    places = [
        path if number == 1 else path.with_stem(f"{path.stem}-{number}") for number in range(1, len(made) + 1)
    ]
    return tuple(write(place, content) for place, content in zip(places, made, strict=True))


def notebook_html(rows: Sequence[Any], plots: Sequence[Plot]) -> str:
    """Rows and figures as a notebook shows them: a plain table and vector pictures, without a script."""
    from filmwright.outputs import panel_svg, table_html

    pictures = [
        f'<div style="max-width:34rem">{panel_svg(panel, prefix=f"n{id(rows)}-{number}-{at}-", title=plot.title)}</div>'
        for number, plot in enumerate(plots[:1])
        for at, panel in enumerate(plot.panels)
    ]
    columns = [name for name in NOTEBOOK_COLUMNS if any(row.get(name) not in (None, "") for row in rows)]
    return table_html([{name: row.get(name) for name in columns} for row in rows], columns) + "".join(
        pictures
    )
