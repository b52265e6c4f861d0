"""The list of lots, the newest first, a screenful at a time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from filmwright.desk.bench.ends import RULES, Ended, ended_of

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench

AT_ONCE = 50


@dataclass(frozen=True, kw_only=True)
class LotLine:
    """One lot in the list.

    Attributes
    ----------
    name, title, started : str
    present, wafers : int
        Here and not scrapped, and begun with.
    finished, invented : bool
    unread : str
        What keeps its plan from being read; then nothing else is known of how far it is.
    """

    name: str
    title: str
    started: str
    present: int
    wafers: int
    finished: bool
    invented: bool
    unread: str = ""


@dataclass(frozen=True, kw_only=True)
class LotsAnswer:
    """One page of the list.

    Attributes
    ----------
    lines : tuple of LotLine
    page, pages : int
        From 1.
    lots : int
        In all.
    """

    lines: tuple[LotLine, ...]
    page: int
    pages: int
    lots: int


def all_lots(bench: Bench, page: int = 1) -> LotsAnswer:
    """Lots of the record, the newest first; of finished ones no entry is read.

    Parameters
    ----------
    bench : Bench
    page : int
        From 1; one beyond the last is the last.
    """
    with bench.looking():
        going = bench.going_now()
        pages = max(1, -(-going.lots // AT_ONCE))
        page = min(max(page, 1), pages)
        names = bench.store.newest(AT_ONCE, skip=AT_ONCE * (page - 1))
        found: dict[str, Ended] = {}
        for ending in bench.store.endings(RULES, lots=[name for name in names if name not in going.heads]):
            if ending.lot not in found or found[ending.lot].head < ending.head:
                found[ending.lot] = ended_of(ending)
        lines = tuple(_line(bench, name, found.get(name)) for name in names)
    return LotsAnswer(lines=lines, page=page, pages=pages, lots=going.lots)


def _line(bench: Bench, name: str, end: Ended | None) -> LotLine:
    lot = bench.lot(name)
    unread = ""
    if end is None and (problems := bench.trouble(name)):
        title, present, finished = "", 0, False
        unread = f"{problems[0].what}: {problems[0].got}"
    elif end is None:
        progress = bench.progress(name)
        title, present, finished = bench.flow(name).title, len(progress.present), progress.finished
    else:
        title, present, finished = end.title, end.present, True
    return LotLine(
        name=name, title=title, started=lot.started, present=present, wafers=len(lot.wafers),
        finished=finished, invented=lot.invented, unread=unread,
    )  # fmt: skip
