"""Extracted parameters as a person reads them: transfer curves, output curves, and what has to be reported beside."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from filmwright import desk
from filmwright.cli.extracted_curves import print_curves, print_parameters, value_of

_SHOWN_OF_OUTPUT = (
    "output_conductance",
    "channel_length_modulation",
    "early_voltage",
    "saturation_drain_voltage",
    "conductance_rise",
)


def print_extracted(answer: desk.ExtractAnswer, console: Console) -> None:
    """Every curve with its parameters or why they are not given, then families, checklists, problems, files written."""
    for told in answer.explanations:
        _print_explained(told, console)
    print_curves(answer.curves, everything=answer.everything, console=console)
    for family in answer.families:
        _print_family(family, console)
    for checklist in answer.checklists:
        _print_checklist(checklist, console)
    for problem in (*answer.noticed, *answer.problems):
        console.print(Text(f"▲ {problem}", style="yellow"))
    for path in answer.written:
        console.print(Text(f"Written: {path}"), soft_wrap=True)
    if answer.refused:
        count = f"{answer.refused} problem{'s' if answer.refused != 1 else ''}"
        console.print(Text(f"{count} with files that could not be read; the others are given."))


def _print_explained(told: Mapping[str, Any], console: Console) -> None:
    console.print(Text(told["file"], style="bold"))
    table = Table(box=None, pad_edge=False, show_header=False, padding=(0, 2, 0, 3))
    table.add_column(max_width=28, overflow="fold")
    table.add_column(overflow="fold")
    for line in told["lines"]:
        style = "yellow" if line["topic"] in ("refused", "noticed", "left out") else ""
        table.add_row(Text(line["topic"], style="dim"), Text(line["text"], style=style))
    console.print(table)


def _print_family(family: Mapping[str, Any], console: Console) -> None:
    head = f"  output curves, {family['label']}, {family['type']}-type"
    console.print(Text.assemble((family["file"], "bold"), head), soft_wrap=True)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 3))
    for column in ("V_G [V]", *(name.replace("_", " ") for name in _SHOWN_OF_OUTPUT)):
        table.add_column(Text(column))
    for curve in family["curves"]:
        rows = (curve["parameters"][name] for name in _SHOWN_OF_OUTPUT)
        cells = [value_of(row) if row["valid"] or row["bound"] else "–" for row in rows]
        table.add_row(*(Text(cell) for cell in (f"{curve['gate_voltage']:g}", *cells)))
    console.print(table)
    print_parameters(family["parameters"], console)
    for name, evidence in family["classes"].items():
        console.print(Text(f"   ▲ {name}: {evidence}", style="yellow"))
    for curve in family["curves"]:
        for name, evidence in curve["classes"].items():
            console.print(Text(f"   ▲ VG {curve['gate_voltage']:g} V, {name}: {evidence}", style="yellow"))


def _print_checklist(checklist: Mapping[str, Any], console: Console) -> None:
    missing = sum(row["missing"] for row in checklist["rows"])
    head = f"  to be reported beside the parameters; {missing} of {len(checklist['rows'])} missing"
    console.print(Text.assemble((checklist["device"], "bold"), head), soft_wrap=True)
    table = Table(box=None, pad_edge=False, show_header=False, padding=(0, 2, 0, 3))
    for row in checklist["rows"]:
        value = Text("missing", style="yellow") if row["missing"] else Text(row["value"])
        note = f"without it: {row['lost']}" if row["missing"] else row["known_from"]
        table.add_row(Text(row["what"]), value, Text(note, style="dim"))
    console.print(table)
