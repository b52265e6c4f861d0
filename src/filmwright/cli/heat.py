"""The heat of a flow at the terminal: what each step heats to, what each film has seen, how far something went."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from filmwright.emulate import Diffused, FilmHeat, HeatLedger, HeatOfStep
from filmwright.units import show

_LEAST = 0.001
"""Share of a film's thickness from which on a way is told."""


def print_heat(ledger: HeatLedger, console: Console) -> None:
    """Three tables; the last one only where a pair is on file."""
    console.print()
    console.print(Text("Heat of the steps; ramps only where the lab file has the rates of the tool"))
    console.print(_table(("step", "°C", "time", "up", "down", "in"), [_step(each) for each in ledger.steps]))
    console.print()
    console.print(
        Text(
            "Heat of the films, from their own deposition on; as long at the film's limit by one activation energy"
        )
    )
    names = ("film", "peak °C", "hot in all", "limit °C", "as long at it")
    console.print(_table(names, [_film(each) for each in ledger.films]))
    ways = [_way(each) for each in ledger.diffused if each.share >= _LEAST]
    if ways:
        console.print()
        console.print(
            Text("Diffusion √(Σ D·t) into the film beside; grain boundaries and pinholes are faster")
        )
        console.print(_table(("what", "into", "length", "of", "share", ""), ways))


def _table(names: tuple[str, ...], rows: list[tuple[str, ...]]) -> Table:
    table = Table(box=None, pad_edge=False)
    for place, name in enumerate(names):
        table.add_column(name, justify="left" if place == 0 or name in {"in", "into", ""} else "right")
    for row in rows:
        table.add_row(*(Text(each) for each in row))
    return table


def _celsius(kelvin: float) -> str:
    return show(kelvin, "temperature").removesuffix(" °C")


def _step(each: HeatOfStep) -> tuple[str, ...]:
    ramps = (show(ramp, "time") if ramp else "–" for ramp in (each.up, each.down))
    long = show(each.time, "time") if each.time else "not known"
    return (f"{each.code} {each.kind}", _celsius(each.peak), long, *ramps, each.atmosphere)


def _film(each: FilmHeat) -> tuple[str, ...]:
    limit = "–" if each.limit is None else _celsius(each.limit.value)
    spent = "–" if each.limit is None else "under 1 s" if each.spent < 1 else show(each.spent, "time")
    return (each.film, _celsius(each.peak), show(each.hot, "time"), limit, spent)


def _way(each: Diffused) -> tuple[str, ...]:
    said = "outside the measured temperatures" if each.outside else ""
    return (
        each.what,
        each.film,
        show(each.length, "length"),
        show(each.thickness, "length"),
        f"{100 * each.share:.2g} %",
        said,
    )
