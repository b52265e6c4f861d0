"""Accounts on the screen."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from filmwright.desk.bench import PeopleAnswer


def print_people(given: PeopleAnswer, console: Console) -> None:
    """Who there is; a link on a line of its own."""
    table = Table(box=None, header_style="bold", pad_edge=False)
    for head in ("name", "role", "state"):
        table.add_column(head)
    for each in given.people:
        state = ("open" if each.active else "closed") + ("" if each.has_password else ", no password yet")
        table.add_row(Text(each.name), Text(each.role), Text(state + (", PIN" if each.has_pin else "")))
    console.print(table)
    if given.added is not None and given.link:
        console.print(
            Text(f"Give this to {given.added.name}; it sets the password, once, until {given.added.ends}:")
        )
        console.print(Text(given.link), soft_wrap=True)


PRINTERS: dict[type, Callable[[Any, Console], None]] = {PeopleAnswer: print_people}
