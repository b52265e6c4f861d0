"""Thicknesses as a person reads them: every order of one place, one line for each of many, or a wafer map."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from filmwright.desk.optics import ThicknessAnswer
from filmwright.learn import GrownFilm
from filmwright.process import Order
from filmwright.units import convert

_LIKELY = 0.01
"""Odds from which on another order is no longer ruled out."""


def print_thickness(answer: ThicknessAnswer, console: Console) -> None:
    """The film, its thicknesses with intervals, and what they rest on."""
    console.print(Text.assemble((answer.film, "bold"), f"  in  {answer.model}"), soft_wrap=True)
    if answer.grown is not None:
        _print_map(answer.grown, console)
    elif len(answer.places) == 1:
        _print_orders(answer.places[0].orders, answer.index, console)
    else:
        _print_places(answer, console)
    for line in answer.said:
        console.print(Text(f"· {line}", style="dim"), soft_wrap=True)


def _table(*heads: str) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for head in heads:
        table.add_column(Text(head), no_wrap=head != "remarks")
    return table


def _cells(order: Order, index: float) -> tuple[str, str, str, str]:
    low, high = (convert(each, "nm") for each in order.thickness_interval)
    shifted = order.shift_interval[1] > order.shift_interval[0]
    half = (order.shift_interval[1] - order.shift_interval[0]) / 2
    return (
        f"{convert(order.thickness, 'nm'):.2f} ± {(high - low) / 2:.2g}",
        f"{index + order.shift:.4f}" + (f" ± {half:.1g}" if shifted else ""),
        f"{order.reduced_chi2:.3g}",
        "1" if order.odds == 1 else f"{order.odds:.1g}" if order.odds > 1e-6 else "none",
    )


def _print_orders(orders: Sequence[Order], index: float, console: Console) -> None:
    table = _table("   thickness [nm], 95 %", "index", "reduced χ²", "odds", "remarks")
    for order in orders:
        first, *rest = _cells(order, index)
        style = "" if order.odds > _LIKELY else "dim"
        table.add_row(*(Text(cell, style=style) for cell in (f"   {first}", *rest, "; ".join(order.notes))))
    console.print(table)
    rivals = sum(order.odds > _LIKELY for order in orders) - 1
    if rivals:
        console.print(Text(f"▲ {rivals} more cannot be ruled out by these data", style="yellow"))


def _print_places(answer: ThicknessAnswer, console: Console) -> None:
    table = _table("   x, y [mm]", "thickness [nm], 95 %", "index", "reduced χ²", "others not ruled out")
    for place in answer.places:
        thickness, index, chi2, _ = _cells(place.orders[0], answer.index)
        rivals = sum(order.odds > _LIKELY for order in place.orders[1:])
        x, y = convert(place.x, "mm"), convert(place.y, "mm")
        table.add_row(
            Text(f"   {x:.1f}, {y:.1f}"),
            Text(thickness),
            Text(index),
            Text(chi2),
            Text(str(rivals or ""), style="yellow"),
        )
    console.print(table)


def _print_map(grown: GrownFilm, console: Console) -> None:
    fit = grown.fit
    rows = (
        ("median", f"{convert(grown.median, 'nm'):.2f} nm of {len(grown.thickness)} places"),
        ("non-uniformity", f"{100 * grown.uniformity.value:.3g} %, {grown.uniformity.formula}"),
        ("index", f"{grown.index:.4f}, middle 95 % of the places' own ± {grown.index_spread:.1g}"),
        ("radial part", f"{convert(fit.bowl, 'nm'):+.2g} ± {2 * convert(fit.stds[3], 'nm'):.2g} nm from the centre to "
                        f"{convert(fit.radius, 'mm'):.3g} mm"),
        ("tilt", f"{convert(fit.tilt_x, 'nm'):+.2g} nm along x, {convert(fit.tilt_y, 'nm'):+.2g} nm along y, over the radius"),
        ("plane and bowl", f"take {100 * fit.explained:.0f} % of the variance; {convert(fit.residual, 'nm'):.2g} nm stay"),
        ("film beneath", f"{convert(float(sorted(grown.under)[len(grown.under) // 2]), 'nm'):.2f} nm, median"),
    )  # fmt: skip
    table = Table(box=None, pad_edge=False, show_header=False, padding=(0, 2, 0, 3))
    for name, text in rows:
        table.add_row(Text(name), Text(text))
    console.print(table)
    console.print(Text("   y ↓ x → [mm], thickness [nm]", style="dim"))
    xs, ys = (sorted({round(convert(float(v), "mm")) for v in axis}) for axis in (grown.x, grown.y))
    places = {
        (round(convert(float(x), "mm")), round(convert(float(y), "mm"))): convert(float(d), "nm")
        for x, y, d in zip(grown.x, grown.y, grown.thickness, strict=True)
    }
    if len(xs) <= 12:
        sheet = _table("", *(f"{x:>5d}" for x in xs))
        for y in reversed(ys):
            sheet.add_row(f"   {y:>4d}", *(f"{places[x, y]:5.1f}" if (x, y) in places else "" for x in xs))
        console.print(sheet)
    for note in grown.notes:
        console.print(Text(f"▲ {note}", style="yellow"))


PRINTERS: dict[type, Callable[[Any, Console], None]] = {ThicknessAnswer: print_thickness}
