"""A lab file in a terminal: every number as it is believed today, and what is missing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from filmwright.cli.findings import NO_PERMISSION, counted, print_findings
from filmwright.desk.lab_file import LabAnswer
from filmwright.units import plain, write


def print_lab(answer: LabAnswer, console: Console) -> None:
    """The numbers, then the findings."""
    made = "  an invented example" if answer.invented else ""
    console.print(Text.assemble((answer.name, "bold"), (f"  believed on {answer.on}{made}", "dim")))
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for name in ("number", "today, 95 %", "days old", "readings"):
        table.add_column(name, justify="right" if name in {"days old", "readings"} else "left")
    for number in answer.numbers:
        known, count = number.belief, str(len(number.readings))
        if known is None:
            table.add_row(Text(number.name), Text("nothing that counts", style="yellow"), "", count)
            continue
        band = plain(2 * known.std, known.unit)
        age = "" if known.age_days is None else f"{known.age_days:.0f}"
        table.add_row(
            Text(number.name), Text(f"{write(known.value, known.unit)} ± {band:.2g}"), Text(age), Text(count)
        )
    if answer.numbers:
        console.print(table)
        console.print(
            Text(
                "Bands grow with the days since a reading and with each maintenance; the newest good evidence goes first.",
                style="dim",
            )
        )
    print_findings(answer.findings, answer.file, console, folded=False)
    console.print(Text(f"{counted(answer.counts)} — {NO_PERMISSION}."))
    if answer.written is not None:
        console.print(Text(f"   {answer.written}", style="dim"), soft_wrap=True)


PRINTERS: dict[type, Callable[[Any, Console], None]] = {LabAnswer: print_lab}
