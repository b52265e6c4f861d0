"""The answer of the verb fit: for a person, for programs, and as a table."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from filmwright.units import plain

if TYPE_CHECKING:
    from filmwright.measure import FitResult, Interval
    from filmwright.outputs import Plot

_HEADS = (
    "file",
    "device",
    "direction",
    "type",
    "bulk_voltage_V",
    "parameter",
    "unit",
    "bound",
    "value",
    "standard_deviation",
    "low_95",
    "high_95",
    "valid",
    "why_not",
)


def interval_text(interval: Interval, unit: str) -> str:
    """An interval as people read it: ``1.02 to 1.10``, ``no limit to 3.4``."""
    low, high = (plain(each, unit.replace("/decade", "")) for each in (interval.low, interval.high))
    below = f"{low:.4g}" if math.isfinite(low) else "no limit"
    above = f"{high:.4g}" if math.isfinite(high) else "no limit"
    return f"{below} to {above}"


@dataclass(frozen=True, kw_only=True)
class FitAnswer:
    """Families of curves with what was fitted to them.

    Attributes
    ----------
    results : tuple of FitResult
    problems : tuple of str
        Files that could not be read, and what they lack.
    as_csv : bool
        Printed as a table for spreadsheets.
    open : Path or None
        The table of points that was written.
    """

    results: tuple[FitResult, ...]
    problems: tuple[str, ...] = ()
    as_csv: bool = False
    open: Path | None = None

    def fields(self) -> dict[str, Any]:
        """For programs."""
        from filmwright.measure import fit_fields

        return {
            "families": [fit_fields(each) for each in self.results],
            "problems": list(self.problems),
            "points": None if self.open is None else str(self.open),
        }

    def plots(self) -> tuple[Plot, ...]:
        """Measured points with the fitted curves, and what the fits leave."""
        from filmwright.outputs import fit_plots

        return tuple(plot for each in self.results for plot in fit_plots(each))

    def table(self) -> Any:
        """One row for each parameter of each family, as a pandas table."""
        from filmwright.outputs import frame

        return frame(self._rows())

    def _rows(self) -> list[dict[str, Any]]:
        head, *lines = self._lines()
        numbers = {"bulk_voltage_V", "value", "standard_deviation", "low_95", "high_95"}
        return [
            {
                name: (None if cell in ("", None) else float(cell)) if name in numbers else cell
                for name, cell in zip(head, line, strict=True)
            }
            for line in lines
        ]

    def _repr_html_(self) -> str:
        from filmwright.desk.curve_files import notebook_html

        return notebook_html(self._rows(), self.plots())

    def csv_text(self) -> str:
        """One line for each parameter of each family."""
        return _csv(self._lines())

    def _lines(self) -> list[list[Any]]:
        lines: list[list[Any]] = [list(_HEADS)]
        for each in self.results:
            own = [each.file, each.device, each.direction, each.type, each.bulk_voltage]
            if each.refused:
                lines.append([*own, "", "", "", "", "", "", "", False, each.refused])
            for name, parameter in each.parameters.items():
                fields = parameter.fields()
                interval = each.intervals.get(name)
                ends = (
                    interval.fields(parameter.unit) if interval is not None else {"low": None, "high": None}
                )
                lines.append(
                    [
                        *own,
                        name,
                        parameter.unit,
                        parameter.bound,
                        fields["value"],
                        fields["std"],
                        ends["low"],
                        ends["high"],
                        parameter.valid,
                        parameter.why_not,
                    ]
                )
        return lines


def points_text(results: tuple[FitResult, ...]) -> str:
    """Every point with its fit, as a table for spreadsheets."""
    lines: list[list[Any]] = [
        [
            "file",
            "direction",
            "curve",
            "gate_voltage_V",
            "drain_voltage_V",
            "measured_A",
            "fitted_A",
            "standard_deviation_A",
            "band_A",
            "residual_in_standard_deviations",
        ]
    ]
    for each in results:
        points = each.points
        if points is None:
            continue
        for at in range(len(points.measured)):
            lines.append(
                [
                    each.file,
                    each.direction,
                    points.labels[int(points.curve[at])],
                    *(
                        float(f"{column[at]:.9g}")
                        for column in (
                            points.gate_voltage,
                            points.drain_voltage,
                            points.measured,
                            points.fitted,
                            points.std,
                            points.band,
                            points.residual,
                        )
                    ),
                ]
            )
    return _csv(lines)


def _csv(lines: list[list[Any]]) -> str:
    from filmwright.outputs import csv_text

    return csv_text(lines, end="\n")
