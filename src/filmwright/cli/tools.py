"""Tools and baths on the screen."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from filmwright.desk.bench.tools import ToolsAnswer, ToolToday

_SIGNS = {"up": "·", "limited": "▲", "down": "■"}


def print_tools(answer: ToolsAnswer, console: Console) -> None:
    """A line for each tool; one alone with everything that is known of it today."""
    for said in answer.said:
        console.print(Text(said, style="bold"), soft_wrap=True)
    if len(answer.tools) == 1:
        _print_tool(answer.tools[0], console)
        return
    table = Table(box=None, pad_edge=False, header_style="bold")
    for name in ("", "tool", "state", "due", "stands out"):
        table.add_column(name)
    for each in answer.tools:
        table.add_row(
            _SIGNS[each.state], Text(each.name), Text(f"{each.state}{f': {each.why}' if each.why else ''}"),
            Text("; ".join(each.due)), Text(str(len(each.alarms) or "")),
        )  # fmt: skip
    console.print(table)
    if not answer.tools:
        console.print(
            "No tool yet: name a lab file with --lab, or start a lot from a plan that has one beside it."
        )


def _print_tool(tool: ToolToday, console: Console) -> None:
    why = f": {tool.why}" if tool.why else ""
    console.print(
        Text(f"{_SIGNS[tool.state]} {tool.name} is {tool.state}{why}", style="bold"), soft_wrap=True
    )
    for each in tool.due:
        console.print(Text(f"▲ due: {each}", style="yellow"), soft_wrap=True)
    for each in tool.alarms:
        console.print(Text(f"▲ stands out: {each}", style="yellow"), soft_wrap=True)
    table = Table(box=None, pad_edge=False, header_style="bold")
    for name in ("number", "today", "95 % band", "measured"):
        table.add_column(name)
    for number in tool.numbers:
        table.add_row(Text(number.name), Text(number.value), Text(number.band), Text(number.age))
    for check in tool.checks:
        table.add_row(
            Text(f"check {check.name}"),
            Text(check.last),
            Text(check.limits),
            Text(check.lines[-1].happened[:10]),
        )
    if table.row_count:
        console.print(table)
    for line in tool.recipes:
        console.print(
            Text(f"recipe {line.name}: {line.text} ({line.happened[:10]}, {line.who})"), soft_wrap=True
        )
    for bath in tool.baths:
        age = "" if bath.age_days is None else f", {bath.age_days} days old"
        console.print(
            Text(f"bath {bath.name}: {bath.state}{age}, {bath.wafers} wafers; {bath.life}"), soft_wrap=True
        )


PRINTERS: dict[type, Callable[[Any, Console], None]] = {ToolsAnswer: print_tools}
