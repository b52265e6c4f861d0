"""How long wafers have waited, counted from what was really done, and until when the next step must begin."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from filmwright.desk.bench.holds import back_to
from filmwright.desk.bench.progress import Progress
from filmwright.flow import Step
from filmwright.knowledge import Lab

_AGAIN = frozenset({"clean", "dehydrate", "prime", "rinse"})
"""Steps that may simply be done once more when the wait behind them has run out."""


@dataclass(frozen=True, kw_only=True)
class HeldWait:
    """A longest wait that holds between two steps of a flow.

    Attributes
    ----------
    first, second : int
        Places of the two steps.
    longest : float [s]
    why, source : str
    """

    first: int
    second: int
    longest: float
    why: str = ""
    source: str = ""


@dataclass(frozen=True, kw_only=True)
class Waiting:
    """One wafer between two steps.

    Attributes
    ----------
    wafer : str
    after, before : str
        Numbers of the two steps.
    since, latest : str
        ISO times: when the first was finished, and the latest start of the second.
    longest : float [s]
    why, source : str
    expired : bool
        Whether the latest start is over.
    back : str
        Number of the step to go back to once it has expired; empty where no step on file makes up for it.
    """

    wafer: str
    after: str
    before: str
    since: str
    latest: str
    longest: float
    why: str = ""
    source: str = ""
    expired: bool = False
    back: str = ""

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "wafer": self.wafer, "after": self.after, "before": self.before, "since": self.since,
            "latest_start": self.latest, "longest": {"value": self.longest, "unit": "s"}, "why": self.why,
            "source": self.source, "expired": self.expired, "back_to": self.back,
        }  # fmt: skip


@dataclass(frozen=True)
class _Bare:
    """A step that nobody walked to."""

    step: Step


def waits_held(steps: Sequence[Step], lab: Lab) -> tuple[HeldWait, ...]:
    """All longest waits between the steps of a flow: those of the lab, of its parking places, and the usual ones."""
    from filmwright.emulate import held_waits

    return tuple(
        HeldWait(
            first=held.first,
            second=held.second,
            longest=held.wait.longest,
            why=held.wait.why,
            source=held.wait.source or f"waits of {lab.file or lab.name}",
        )
        for held in held_waits([_Bare(step) for step in steps], lab)
    )


def waiting(progress: Progress, held: Sequence[HeldWait], now: str) -> tuple[Waiting, ...]:
    """The waits that run now, the one that ends soonest first.

    A wait runs where the first step was finished and the second was not begun since.

    Parameters
    ----------
    progress : Progress
    held : sequence of HeldWait
    now : str
        ISO time.
    """
    moment = datetime.datetime.fromisoformat(now)
    steps = progress.steps
    found = []
    for piece in progress.present:
        states = progress.states[piece.name]
        for wait in held:
            before = progress.visits.get((piece.name, steps[wait.first].number), ())
            done = states[wait.first] in {"done", "held"} and before and before[-1].finished
            if not done or states[wait.second] not in {"waiting", "ready", "rework"}:
                continue
            latest = datetime.datetime.fromisoformat(before[-1].finished) + datetime.timedelta(
                seconds=wait.longest
            )
            expired = moment > latest
            found.append(
                Waiting(
                    wafer=piece.name,
                    after=steps[wait.first].number,
                    before=steps[wait.second].number,
                    since=before[-1].finished,
                    latest=latest.isoformat(timespec="seconds"),
                    longest=wait.longest,
                    why=wait.why,
                    source=wait.source,
                    expired=expired,
                    back=steps[back].number if expired and (back := _back(steps, wait)) is not None else "",
                )
            )
    return tuple(sorted(found, key=lambda each: datetime.datetime.fromisoformat(each.latest)))


def _back(steps: Sequence[Step], wait: HeldWait) -> int | None:
    """The step that makes up for a wait that was too long: the one before it, or the whole print anew."""
    if steps[wait.first].kind in _AGAIN:
        return wait.first
    back = back_to(steps, wait.first)
    return back if back != wait.first else None


def safe_places(held: Sequence[HeldWait], count: int, longest: float) -> tuple[int, ...]:
    """Places of steps behind which no wait on file is as short as ``longest`` [s]: where a wafer may be left.

    Parameters
    ----------
    held : sequence of HeldWait
    count : int
        Of the steps.
    longest : float [s]
    """
    short = [wait for wait in held if wait.longest < longest]
    return tuple(k for k in range(count) if not any(wait.first <= k < wait.second for wait in short))
