"""How the answers of test structures are printed."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from filmwright.desk.structure_answers import StructureAnswer, StructurePart


def print_structures(answer: StructureAnswer, console: Console) -> None:
    """Each structure with its parameters; what was refused says why."""
    for part in answer.parts:
        console.print(Text(part.title, style="bold"), soft_wrap=True)
        console.print(_table(part))
        for line in part.said:
            console.print(Text(f"   · {line}", style="dim"), soft_wrap=True)
        for line in part.warnings:
            console.print(Text(f"   ▲ {line}", style="yellow"), soft_wrap=True)
    for problem in answer.problems:
        console.print(Text(f"▲ {problem}", style="yellow"), soft_wrap=True)
    if answer.keep:
        console.print(Text(f"Write it down with:  {answer.keep}", style="dim"), soft_wrap=True)


def _table(part: StructurePart) -> Any:
    table = Table(box=None, pad_edge=False, show_header=False, padding=(0, 2, 0, 3))
    for name, parameter in part.parameters.items():
        row = parameter.fields()
        value, unit = row["value"], row["unit"]
        if row["valid"]:
            spread = f" ± {row['std']:.2g}" if row["std"] else ""
            shown, style, why = f"{value:.4g}{spread} {unit}", "", row["method"]
        elif row["bound"] and value is not None:
            shown, style, why = (
                f"{row['bound']} {value:.3g} {unit}",
                "yellow",
                f"{row['why_not']}; {row['method']}",
            )
        elif value is not None:
            shown, style, why = f"{value:.3g} {unit}", "yellow", f"{row['why_not']}; {row['method']}"
        else:
            shown, style, why = "not given", "yellow", row["why_not"]
        table.add_row(
            Text(name.replace("_", " ")),
            Text(f"{shown}{_interval(row)}", style=style),
            Text(why, style="dim"),
        )
    return table


def _interval(row: dict[str, Any]) -> str:
    ends = row.get("interval_95")
    if not ends:
        return ""
    low, high = ("open" if end is None else f"{end:.4g}" for end in ends)
    return f"  [{low}, {high}]"


PRINTERS: dict[type, Callable[[Any, Console], None]] = {StructureAnswer: print_structures}
