"""Today: which lots are under way, where each wafer is, what is next and until when."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from filmwright.desk.bench.progress import OpenHold, Piece, Progress, Timer
from filmwright.desk.bench.waits import Waiting, waiting
from filmwright.desk.files import now as clock

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench, Unread


@dataclass(frozen=True, kw_only=True)
class LotNow:
    """One lot that is not finished.

    Attributes
    ----------
    name, title, holder : str
    code, step : str
        Of the step that comes next or runs: its code and what to do; empty when none is left.
    pieces : tuple of Piece
        That are here.
    codes : mapping from number to code
    waits : tuple of Waiting
        That run, the one that ends soonest first.
    holds : tuple of OpenHold
    timers : tuple of Timer
    touched, who : str
        When and by whom the last entry was made.
    invented : bool
    """

    name: str
    title: str
    holder: str
    code: str
    step: str
    pieces: tuple[Piece, ...]
    codes: dict[str, str]
    waits: tuple[Waiting, ...]
    holds: tuple[OpenHold, ...]
    timers: tuple[Timer, ...]
    touched: str
    who: str = ""
    invented: bool = False

    @property
    def latest(self) -> str:
        """Latest start of the next step that a wait sets, as an ISO time; empty when none runs."""
        return self.waits[0].latest if self.waits else ""

    @property
    def expired(self) -> tuple[Waiting, ...]:
        """Waits that have run out."""
        return tuple(each for each in self.waits if each.expired)

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "lot": self.name, "title": self.title, "handed_to": self.holder, "next": self.code,
            "what": self.step, "latest_start": self.latest or None, "touched": self.touched, "who": self.who,
            "invented": self.invented,
            "wafers": [
                {"wafer": each.name, "location": each.location, "carrier": each.carrier,
                 "next": self.codes.get(each.running or each.next, ""), "running": bool(each.running)}
                for each in self.pieces
            ],
            "waits": [each.fields() for each in self.waits],
            "holds": [{"wafer": each.wafer, "step": self.codes[each.step], "look_at": each.look} for each in self.holds],
            "timers": [
                {"step": self.codes.get(each.step, ""), "wafer": each.wafer, "name": each.name, "ends": each.ends}
                for each in self.timers
            ],
        }  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class TodayAnswer:
    """What is to be done.

    Attributes
    ----------
    now : str
        ISO time.
    lots : tuple of LotNow
        Not finished, the most urgent first.
    finished : int
        How many others the record holds.
    unread : tuple of Unread
        Lots of which nothing can be told, for their plan cannot be read.
    """

    now: str
    lots: tuple[LotNow, ...]
    finished: int = 0
    unread: tuple[Unread, ...] = ()

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "now": self.now,
            "lots": [each.fields() for each in self.lots],
            "finished": self.finished,
            "unread": [each.fields() for each in self.unread],
        }


def today(bench: Bench, now: str = "") -> TodayAnswer:
    """The lots that are under way: what ran out first, then by latest start, then the ones worked on last.

    Parameters
    ----------
    bench : Bench
    now : str
        ISO time; empty for the clock's.
    """
    moment = now or clock()
    with bench.looking():
        going = [lot_now(bench, progress, moment) for progress in bench.going()]
        unread, lots = bench.unread(), bench.going_now().lots
    going.sort(key=lambda each: _instant(each.touched), reverse=True)
    going.sort(key=lambda each: _instant(each.latest) if each.latest else float("inf"))
    return TodayAnswer(now=moment, lots=tuple(going), finished=lots - len(going) - len(unread), unread=unread)


def lot_now(bench: Bench, progress: Progress, now: str) -> LotNow:
    """One lot at a moment."""
    lot, flow = bench.lot(progress.lot), bench.flow(progress.lot)
    step = next((each for each in progress.steps if each.number == progress.next), None)
    return LotNow(
        name=lot.name,
        title=flow.title,
        holder=progress.holder,
        code=step.code if step else "",
        step=step.title if step else "",
        pieces=progress.present,
        codes={each.number: each.code for each in progress.steps},
        waits=waiting(progress, bench.waits_held(lot.name), now),
        holds=progress.holds,
        timers=progress.timers,
        touched=progress.last.happened if progress.last else lot.started,
        who=progress.last.who if progress.last else "",
        invented=lot.invented,
    )


def _instant(text: str) -> float:
    return datetime.datetime.fromisoformat(text).timestamp()
