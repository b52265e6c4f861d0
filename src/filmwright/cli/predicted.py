"""Predicted curves at the terminal: parameters with their bands, what they rest on, and what to mind."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from filmwright.desk import PredictAnswer
from filmwright.units import show

if TYPE_CHECKING:
    from filmwright.desk.predict_answers import PredictedNumber
    from filmwright.emulate import SectionCurrents

_CAUSES, _ROWS = 2, 8


def print_predicted(answer: PredictAnswer, console: Console) -> None:
    """Parameters first, then what they rest on, notes and warnings; or the table for spreadsheets."""
    if answer.as_csv:
        sys.stdout.write(answer.csv_text())
        return
    made = answer.prediction
    design = made.design
    head = (
        f"W {show(design.width, 'length')}, L {show(design.length, 'length')}, "
        f"C {show(design.areal_capacitance, 'areal capacitance')}, {show(made.temperature, 'temperature')}"
    )
    console.print(
        Text.assemble((answer.device, "bold"), f"  {head}  predicted {answer.which}; nothing was measured")
    )
    table = Table(box=None, pad_edge=False)
    for name in ("parameter", "value", "95 % band", "", "most of the band comes from"):
        table.add_column(name, justify="right" if name in {"value", "95 % band"} else "left")
    for each in answer.numbers:
        table.add_row(*(Text(cell) for cell in _row(each)))
    console.print(table)
    curves = answer.curves
    console.print(
        Text(
            f"Curves: transfer {len(curves.gate)} points at V_D {curves.drains[0]:g} V and {curves.drains[1]:g} V, output "
            f"{len(curves.drain)} points at {len(curves.gates)} gate voltages"
            + (", capacitance" if curves.capacitance is not None else "")
            + "; --csv prints them, --json too"
        )
    )
    if answer.frequency is not None:
        console.print(
            Text(
                f"The channel, turned on, follows its gate up to some {show(answer.frequency, 'frequency')}."
            )
        )
    if curves.gate_current is not None:
        leak = float(curves.gate_current[-1, 0])
        console.print(
            Text(f"Gate current at the highest gate voltage {show(leak, 'current')}: {answer.leak}.")
        )
    else:
        console.print(Text(f"Gate current: {answer.leak}."))
    if answer.section is not None:
        _print_section(answer.section, console)
    for note in made.notes:
        console.print(Text(f"Note: {note}."))
    for warning in answer.warnings:
        console.print(Text(f"Mind: {warning}.", style="yellow"))


def _print_section(section: SectionCurrents, console: Console) -> None:
    """Currents in two dimensions over those of an even film, at a few gate voltages."""
    console.print(
        Text(f"On its own section, in two dimensions ({section.nodes} nodes), over an even film as long:")
    )
    table = Table(box=None, pad_edge=False)
    table.add_column("V_G", justify="right")
    for drain in section.drain:
        table.add_column(f"I_D at V_D {drain:g} V", justify="right")
        table.add_column("over even", justify="right")
    for row in range(0, len(section.gate), max(len(section.gate) // _ROWS, 1)):
        cells = [f"{section.gate[row]:.3g} V"]
        for column in range(len(section.drain)):
            current, even = section.current[row, column], section.even[row, column]
            cells += [show(float(current), "current"), f"{current / even:.3f}"]
        table.add_row(*(Text(cell) for cell in cells))
    console.print(table)
    for note in section.notes:
        console.print(Text(f"Section: {note}."))


def _row(each: PredictedNumber) -> tuple[str, ...]:
    name = each.name.replace("_", " ")
    if each.value is None:
        return name, "–", "", "", each.why_not
    band = each.band
    between, causes = "not known", ""
    if band is not None:
        between = f"{each.printed(band.low):.3g} to {each.printed(band.high):.3g}"
        causes = ", ".join(
            f"{what} {100 * share:.0f} %" for what, share in band.shares[:_CAUSES] if share >= 0.05
        )
    return name, f"{each.printed(each.value):.3g}", between, each.unit, causes


PRINTERS: dict[type, Callable[[Any, Console], None]] = {PredictAnswer: print_predicted}
