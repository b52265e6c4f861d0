"""The life of a lot as a person reads it in a terminal."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from filmwright.desk.bench import GridAnswer, LotNow, TodayAnswer

_SIGNS = {
    "waiting": "·", "ready": "next", "running": "running", "held": "HOLD", "done": "done",
    "skipped": "skipped", "rework": "again", "scrapped": "scrap", "away": "away",
}  # fmt: skip


def print_grid(answer: GridAnswer, console: Console) -> None:
    """Steps down, wafers across."""
    newest = answer.versions[-1]
    version = f", flow version {newest.number} ({newest.digest[:8]})" if newest.number > 1 else ""
    console.print(Text.assemble("Lot ", (answer.lot, "bold"), f" of {answer.title}{version}"), soft_wrap=True)
    table = Table(box=None, pad_edge=False)
    for head in ("step", "what", *(piece.name for piece in answer.pieces)):
        table.add_column(head)
    for row in answer.rows:
        cells = []
        for cell in row.cells:
            again = f" ×{cell.visits}" if cell.visits > 1 else ""
            split = f" ({', '.join(cell.variants)})" if cell.variants else ""
            cells.append(
                Text(
                    (f"in {cell.elsewhere}" if cell.elsewhere else _SIGNS[cell.state]) + again + split,
                    style="bold" if cell.state in {"ready", "held"} else "",
                )
            )
        table.add_row(Text(row.code), Text(row.title), *cells)
    console.print(table)
    for piece, label in zip(answer.pieces, answer.labels, strict=True):
        where = ", ".join(
            each for each in (piece.location, piece.carrier, piece.orientation, piece.variant) if each
        )
        gone = (
            f"in lot {piece.went_to}"
            if piece.went_to
            else piece.standing
            if piece.standing != "present"
            else ""
        )
        console.print(
            Text(f"{label}  {'; '.join(each for each in (where, gone) if each)}".rstrip()), soft_wrap=True
        )
    for each in answer.joined:
        console.print(Text(each.said), soft_wrap=True)
    if answer.invented:
        console.print(Text("An invented example.", style="dim"))


def print_today(answer: TodayAnswer, console: Console) -> None:
    """One block per lot that is under way."""
    for lot in answer.lots:
        _print_lot(lot, answer.now, console)
    for each in answer.unread:
        first = each.problems[0]
        console.print(Text(f"{each.lot.name}  its plan cannot be read: {first}", style="red"), soft_wrap=True)
    if not answer.lots:
        console.print(Text("No lot is under way."))
    if answer.finished:
        console.print(Text(f"{answer.finished} finished", style="dim"))


def _print_lot(lot: LotNow, now: str, console: Console) -> None:
    until = f"  begin by {_clock(lot.latest, now)}" if lot.latest and not lot.expired else ""
    head = Text.assemble(
        (lot.name, "bold"), f"  {lot.title}  next ", (f"{lot.code} {lot.step}", "bold"), until
    )
    console.print(head, soft_wrap=True)
    for piece in lot.pieces:
        at = lot.codes.get(piece.running or piece.next, "nothing left")
        doing = f"{at} running" if piece.running else at
        console.print(Text(f"   {piece.name}  {doing}  {piece.location}".rstrip()), soft_wrap=True)
    for wait in lot.expired:
        back = f"; go back to {lot.codes[wait.back]}" if wait.back else ""
        said = f"   {wait.wafer}: waited too long after {lot.codes[wait.after]} (until {_clock(wait.latest, now)}){back}"
        console.print(Text(said + (f": {wait.why}" if wait.why else ""), style="red"), soft_wrap=True)
    for hold in lot.holds:
        console.print(
            Text(f"   {hold.wafer}: HOLD at {lot.codes[hold.step]}, look at {hold.look}"), soft_wrap=True
        )
    for timer in lot.timers:
        console.print(Text(f"   timer {timer.name} ends {_clock(timer.ends, now)}"), soft_wrap=True)
    if lot.holder or lot.who:
        console.print(
            Text(f"   {'handed to ' + lot.holder if lot.holder else 'last ' + lot.who}", style="dim")
        )


def _clock(text: str, now: str) -> str:
    """Hours and minutes, with the day where it is not today."""
    zone = datetime.datetime.fromisoformat(now).tzinfo
    when = datetime.datetime.fromisoformat(text).astimezone(zone)
    return f"{when:%H:%M}" if when.date().isoformat() == now[:10] else f"{when:%d %b %H:%M}"


PRINTERS: dict[type, Callable[[Any, Console], None]] = {GridAnswer: print_grid, TodayAnswer: print_today}
