"""What was proved of a record, on the screen."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from rich.console import Console
from rich.text import Text

from filmwright.desk.bundle_taking import TakenAnswer
from filmwright.desk.keeping import KeepingAnswer

_ENDS = 12


def print_kept(given: KeepingAnswer, console: Console) -> None:
    """A line per chain, then the verdict."""
    for each in given.chains:
        mark = f"{each.entries} entries, ends in {each.head[:12]}" if each.sound else f"NOT SOUND: {each.why}"
        console.print(Text(f"{each.lot:<24}  {mark}"), soft_wrap=True)
    for problem in given.problems[:_ENDS]:
        console.print(Text(f"does not fit: {problem}"), soft_wrap=True)
    if len(given.problems) > _ENDS:
        console.print(Text(f"and {len(given.problems) - _ENDS} more"))
    verdict = (
        f"{len(given.problems)} of it not as it was written; set the record aside unchanged"
        if given.problems
        else f"sound: {len(given.chains)} chains, {given.files} kept files"
    )
    did = given.did[:1].upper() + given.did[1:]
    console.print(Text(f"{did}. {verdict[:1].upper() + verdict[1:]}."), soft_wrap=True)


def print_taken(given: TakenAnswer, console: Console) -> None:
    """What a bundle brought."""
    lots = ", ".join(given.lots)
    console.print(
        Text(
            f"Taken into {given.record}: lot {lots}, {given.entries} new entries, {given.files} kept files."
        ),
        soft_wrap=True,
    )
    for lot, head in given.heads.items():
        console.print(Text(f"{lot:<24}  ends in {head[:12]}"), soft_wrap=True)


PRINTERS: dict[type, Callable[[Any, Console], None]] = {KeepingAnswer: print_kept, TakenAnswer: print_taken}
