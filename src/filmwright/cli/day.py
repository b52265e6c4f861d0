"""A day plan as a person reads it at the terminal."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from itertools import groupby
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from filmwright.desk.day_plan import DayAnswer
from filmwright.emulate import DayPlan, Parking, Slot
from filmwright.outputs import duration_text

_GAP = 60
"""Waits between steps [s] that are not worth a word."""


def print_day(answer: DayAnswer, console: Console) -> None:
    """One table a day, then whether it can be finished, and what was taken for granted."""
    plan = answer.plan
    for _, slots in groupby(plan.slots, key=lambda slot: slot.begin.date()):
        _print_date(list(slots), console)
    _print_end(plan, console)
    for said in plan.broken:
        console.print(Text(f"▲ {said}", style="yellow"))
    if plan.left:
        console.print(
            Text(
                f"▲ {plan.left[0]} fits into no opening hours; it and {len(plan.left) - 1} after it are left out",
                style="yellow",
            )
        )
    for note in plan.notes:
        console.print(Text(f"· {note}", style="dim"))
    if answer.written:
        console.print(Text.assemble("Calendar ", (str(answer.written), "bold")), soft_wrap=True)
    console.print(
        Text(
            "The site's procedures go first; no time here is a permission to begin or to leave.", style="bold"
        )
    )


def _print_date(slots: list[Slot], console: Console) -> None:
    console.print(Text(f"{slots[0].begin:%A %d %B %Y}, day {slots[0].day}", style="bold"))
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for name in ("begin", "end", "latest", "for the day", "step", "tool", "of it", "afterwards"):
        table.add_column(name, no_wrap=name in ("begin", "end", "latest", "for the day"))
    for slot in slots:
        step = slot.state.step
        parts = [(name, time) for name, time in slot.phases if len(slot.phases) > 1]
        table.add_row(
            Text(f"{slot.begin:%H:%M}"),
            Text(f"{slot.end:%H:%M}"),
            Text(_clock(slot.latest, slot)),
            Text(_clock(slot.for_day, slot), style="dim"),
            Text(f"{step.code} {step.title}"),
            Text(step.tool or "no tool named"),
            Text(_parts(slot, parts), style="dim"),
            Text(_parking(slot.parking), style="green" if slot.parking.overnight else ""),
        )
    console.print(table)
    last = slots[-1]
    if last.waits > _GAP:
        console.print(
            Text(
                f"   then it waits {duration_text(last.waits)}: {_parking(last.parking)}",
                style="green" if last.parking.overnight else "yellow",
            )
        )


def _parts(slot: Slot, parts: list[tuple[str, float]]) -> str:
    runs = f"{slot.runs} runs: " if slot.runs > 1 else ""
    return runs + ", ".join(f"{name} {duration_text(time)}" for name, time in parts)


def _clock(moment: datetime.datetime | None, slot: Slot) -> str:
    """A clock time, with its day where that is another one than the day of the step."""
    if moment is None:
        return ""
    return f"{moment:%H:%M}" if moment.date() == slot.begin.date() else f"{moment:%a %H:%M}"


def _parking(parking: Parking) -> str:
    if parking.longest is None:
        return parking.place or "no longest wait on file"
    if parking.longest <= _GAP:
        return "go on at once"
    return f"{parking.place + ', ' if parking.place else ''}may wait {duration_text(parking.longest)}"


def _print_end(plan: DayPlan, console: Console) -> None:
    if not plan.slots:
        return
    closing = f"{plan.closing:%H:%M}" if plan.closing else ""
    if plan.in_time:
        ends = f", closing is {closing}" if closing else ""
        console.print(Text(f"All of it can be done by {plan.finish:%H:%M}{ends}.", style="bold"))
        return
    today = [slot for slot in plan.slots if plan.closing and slot.end <= plan.closing]
    till = f"up to {today[-1].state.step.code}, which ends {today[-1].end:%H:%M}" if today else "nothing"
    console.print(
        Text(
            f"Not all of it before closing at {closing}: that day {till}; the whole by {plan.finish:%A %d %B, %H:%M}.",
            style="bold",
        )
    )


PRINTERS: dict[type, Callable[[Any, Console], None]] = {DayAnswer: print_day}
