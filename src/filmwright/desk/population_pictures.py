"""Figures of many devices, and the page that holds them."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from filmwright.desk.curve_files import write_figure
from filmwright.desk.files import write
from filmwright.desk.population_answers import DECADES, StatisticsAnswer
from filmwright.learn import SplitValue

if TYPE_CHECKING:
    from filmwright.outputs import Plot

MOST_MAPS = 12
"""Maps that are drawn."""


def plots_of(answer: StatisticsAnswer) -> tuple[Plot, ...]:
    """Maps, devices of every split and wafer, and what goes with what."""
    from filmwright.outputs import correlations_plot, splits_plot, wafer_map_plot

    plots: list[Plot] = []
    for parameter in answer.told.summary.medians:
        values = _values(answer, parameter)
        if sum(map(len, values.values())) > 1:
            name, unit = _axis(answer, parameter)
            plots.append(splits_plot(values, name=name, unit=unit))
    if answer.told.correlation is not None and len(answer.told.correlation.names) > 1:
        plots.append(correlations_plot(answer.told.correlation))
    for found in answer.told.maps[:MOST_MAPS]:
        if found.count:
            name, unit = _axis(answer, found.parameter)
            drawn = wafer_map_plot(found, name=name, unit=unit, mark="die" if answer.over == "die" else "")
            place = f"wafer {found.wafer}" if found.wafer else f"the {answer.over}"
            plots.append(replace(drawn, title=f"{name} over {place}"))
    return tuple(plots)


def _axis(answer: StatisticsAnswer, parameter: str) -> tuple[str, str]:
    """Name and unit on an axis; a logarithm is a pure number."""
    words = parameter.replace("_", " ")
    if answer.level_unit(parameter) == DECADES:
        return f"log₁₀ of {words} in SI", ""
    return words, answer.unit(parameter).replace("/decade", "")


def _values(answer: StatisticsAnswer, parameter: str) -> dict[str, list[SplitValue]]:
    """Working devices by split; all wafers are one split where none is named."""
    log = answer.level_unit(parameter) == DECADES
    found: dict[str, list[SplitValue]] = {}
    for each in answer.outcomes:
        value = each.parameters.get(parameter)
        if value is None or each.cause or each.left_out or (log and value <= 0):
            continue
        own = found.setdefault(each.split or "all", [])
        own.append(
            SplitValue(wafer=each.wafer or "wafer not named", value=math.log10(value) if log else value)
        )
    return found


def write_pictures(answer: StatisticsAnswer, page: Path | None, figure: Path | None) -> tuple[Path, ...]:
    """Write the page and the figures for print that were asked for."""
    from filmwright.outputs import figures_html

    written: list[Path] = []
    if page is not None:
        written.append(
            write(page, figures_html(answer.title, plots_of(answer), _tables(answer), _said(answer)))
        )
    if figure is not None:
        written += write_figure(plots_of(answer), figure)
    return tuple(written)


def _said(answer: StatisticsAnswer) -> tuple[str, ...]:
    return (*answer.told.summary.warnings, *answer.told.notes, *answer.notes)


def _tables(answer: StatisticsAnswer) -> tuple[tuple[str, tuple[str, ...], tuple[tuple[str, ...], ...]], ...]:
    """Yield by cause first, then medians: title, heads and cells."""
    summary = answer.told.summary
    fates = tuple(
        (
            each.cause,
            str(each.count),
            f"{100 * each.share:.0f} %",
            f"{100 * each.low:.0f} to {100 * each.high:.0f} %",
        )
        for each in summary.causes
    )
    medians = []
    for name, each in summary.medians.items():
        median, low, high, spread = (
            f"{answer.shown(name, value):.3g}".replace("-", "−") if math.isfinite(value) else "not known"
            for value in (each.median, each.low, each.high, each.spread)
        )
        medians.append(
            (
                name.replace("_", " "),
                f"{median} {answer.unit(name)}",
                f"{low} to {high}",
                spread,
                str(each.count),
            )
        )
    return (
        ("Yield, by cause", ("fate", "devices", "share", "95 %"), fates),
        (
            "Medians of those that work",
            ("parameter", "median", "95 % of the median", "spread (1.48 × MAD)", "devices"),
            tuple(medians),
        ),
    )
