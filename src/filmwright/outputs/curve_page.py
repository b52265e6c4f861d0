"""The page of measured curves: every parameter with its definition, beside live figures that show how it was read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from filmwright.measure import CurveResult
from filmwright.outputs.pages import render
from filmwright.outputs.plot import Plot
from filmwright.outputs.plots_of_curves import value_text

_SHORT = 28
"""Letters of a reason that stands in its cell."""


@dataclass(frozen=True, kw_only=True)
class CurveFile:
    """What one file gave.

    Attributes
    ----------
    name, sha256 : str
    said : str
        What is known of the device: W, L, areal capacitance, and how it is known.
    results : tuple of CurveResult
    plots : tuple of Plot
    """

    name: str
    results: tuple[CurveResult, ...]
    plots: tuple[Plot, ...] = ()
    sha256: str = ""
    said: str = ""


@dataclass(frozen=True, kw_only=True)
class Column:
    """A curve as a column of the table of its file; a cell is value, window, short reason and number of a long one."""

    head: str
    cells: Mapping[str, tuple[str, str, str, int]]


def curves_html(
    files: Sequence[CurveFile], problems: Sequence[str] = (), title: str = "Measured curves"
) -> str:
    """Files with their parameters and figures as one self-contained page.

    Parameters
    ----------
    files : sequence of CurveFile
    problems : sequence of str
        Of files that could not be read.
    title : str
    """
    shown = []
    for each in files:
        reasons: dict[str, int] = {}
        columns = _columns(each.results, reasons)
        shown.append((each, columns, _names(each.results), _noticed(each.results), tuple(reasons)))
    return render("curves.html", {"title": title, "files": shown, "problems": problems})


def _names(results: Sequence[CurveResult]) -> tuple[tuple[str, str], ...]:
    """Parameters in order, each with its definition."""
    found: dict[str, str] = {}
    for result in results:
        for name, each in result.parameters.items():
            found.setdefault(name, each.method)
    return tuple(found.items())


def _columns(results: Sequence[CurveResult], reasons: dict[str, int]) -> tuple[Column, ...]:
    """A column for each curve; long reasons are numbered, because many cells share one."""
    columns = []
    for result in results:
        drain = (
            "" if result.drain_voltage is None else f"V_D {result.drain_voltage:.4g} V, ".replace("-", "−")
        )
        cells = {}
        for name, each in result.parameters.items():
            known = each.value is not None and (each.valid or bool(each.bound))
            value = f"{each.bound} {value_text(each)}".strip() if known else "not given"
            window = "" if each.window is None else f"{each.window[0]:.4g} to {each.window[1]:.4g} V"
            why = each.why_not
            number = reasons.setdefault(why, len(reasons) + 1) if len(why) > _SHORT else 0
            cells[name] = (value, window.replace("-", "−"), "" if number else why, number)
        columns.append(Column(head=f"{drain}{result.direction}", cells=cells))
    return tuple(columns)


def _noticed(results: Sequence[CurveResult]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(warning for result in results for warning in result.warnings))


def figures_html(
    title: str,
    plots: Sequence[Plot],
    tables: Sequence[tuple[str, Sequence[str], Sequence[Sequence[str]]]] = (),
    said: Sequence[str] = (),
) -> str:
    """Figures below what is said and a few tables, as one self-contained page.

    Parameters
    ----------
    title : str
    plots : sequence of Plot
    tables : sequence of (title, heads, rows of cells)
    said : sequence of str
    """
    return render("figures.html", {"title": title, "plots": plots, "tables": tables, "said": said})
