"""Fits of families as a person reads them in a terminal."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from filmwright.desk import FitAnswer, interval_text

if TYPE_CHECKING:
    from filmwright.measure import FitResult, Goodness


def print_fits(answer: FitAnswer, console: Console) -> None:
    """Every family with its parameters, how good the fit is, and what it does not tell."""
    if answer.as_csv:
        sys.stdout.write(answer.csv_text())
        return
    for result in answer.results:
        _family(result, console)
    for problem in answer.problems:
        console.print(Text(f"▲ {problem}", style="yellow"))
    if answer.open:
        console.print(Text.assemble("Open ", (str(answer.open), "bold")), soft_wrap=True)


def _family(result: FitResult, console: Console) -> None:
    bulk = "" if result.bulk_voltage is None else f", V_B = {result.bulk_voltage:g} V"
    count = len(result.curves)
    words = f"{count} curve{'s' if count != 1 else ''}, {result.direction}, {result.type}-type{bulk}"
    console.print(
        Text.assemble((result.file, "bold"), f"  {result.device + ', ' if result.device else ''}{words}"),
        soft_wrap=True,
    )
    if result.refused:
        console.print(Text(f"   not fitted: {result.refused}", style="yellow"))
        return
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 3))
    for head in ("", "value", "95 %", "unit"):
        table.add_column(head, no_wrap=True)
    unlike = []
    for name, parameter in result.parameters.items():
        fields = parameter.fields()
        interval = result.intervals.get(name)
        ends = "" if interval is None else interval_text(interval, parameter.unit)
        if parameter.valid:
            spread = "" if fields["std"] is None else f" ± {fields['std']:.2g}"
            value = Text(f"{fields['value']:.4g}{spread}")
        elif parameter.bound:
            value = Text(f"{parameter.bound} {fields['value']:.3g}", style="yellow")
        else:
            value = Text("not told", style="yellow")
        shown = name.replace("_", " ")
        table.add_row(Text(shown), value, Text(ends, style="dim"), Text(parameter.unit))
        if parameter.why_not:
            unlike.append(f"{shown}: {parameter.why_not}")
    console.print(table)
    for line in unlike:
        console.print(Text(f"   · {line}", style="dim"))
    if result.goodness is not None:
        _goodness(result.goodness, console)
    for caution in result.cautions:
        console.print(Text(f"   ▲ {caution}", style="yellow"))


def _goodness(found: Goodness, console: Console) -> None:
    if found.follows:
        said = f"the noise explains what is left: χ² per degree of freedom {found.reduced:.3g}"
    else:
        said = (
            f"the model misses the upper part of the curves by {100 * found.misfit_upper:.2g} %, the part below by "
            f"{100 * found.misfit_lower:.2g} % of the current beyond the noise; the errors contain that"
        )
    console.print(Text(f"   {found.points} points, {found.parameters} parameters: {said}", style="dim"))
    for line in found.suggests:
        console.print(Text(f"   ? {line}", style="dim"))


def print_explained(found: Sequence[Mapping[str, Any]], console: Console) -> None:
    """Plan, run and measurement of each number, the shares of the difference, and the rest."""
    devices = [each["of"] for each in found]
    for each in found:
        if each["of"] not in (devices[0], "lot"):
            # The wafers one by one are left to the answer for programs.
            continue
        console.print(
            Text.assemble(
                (f"{each['number']}, {each['of']}", "bold"),
                f": planned {each['planned']:.4g}, as run {each['as_run']:.4g}, measured {each['measured']:.4g} "
                f"± {1.96 * each['measured_std']:.2g} {each['unit']}",
            ),
            soft_wrap=True,
        )
        table = Table(box=None, pad_edge=False, show_header=False, padding=(0, 2, 0, 3))
        for _ in range(4):
            table.add_column(no_wrap=True)
        for share in each["shares"]:
            noise = "cannot tell" if share["inside_noise"] else ""
            table.add_row(
                Text(share["cause"], style="bold" if share["cause"] == "rest" else ""),
                Text(f"{share['amount']:+.3g}"),
                Text(f"{share['low']:+.3g} to {share['high']:+.3g}", style="dim"),
                Text(noise, style="dim"),
            )
        console.print(table)


PRINTERS: dict[type, Callable[[Any, Console], None]] = {FitAnswer: print_fits}
