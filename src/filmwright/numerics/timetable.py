"""Things done one after another within opening hours, with longest waits between them: as early, and as late, as can be."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Task:
    """One thing done without a break.

    Attributes
    ----------
    duration : float [s], 0 or more
    open : tuple of (from, to) [s]
        When it may be done, in order and apart; the whole of it lies within one of them.
    """

    duration: float
    open: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        if not (math.isfinite(self.duration) and self.duration >= 0):
            raise ValueError(f"a duration must be finite and not negative, got {self.duration:g}")

    def fit(self, after: float) -> float:
        """The earliest begin not before a time; infinite when no opening is long enough."""
        for begin, end in self.open:
            found = max(begin, after)
            if found + self.duration <= end:
                return found
        return math.inf


@dataclass(frozen=True, kw_only=True)
class Lag:
    """A longest wait: ``second`` begins at most ``longest`` [s] after the end of ``first``, counted from 0."""

    first: int
    second: int
    longest: float


@dataclass(frozen=True, kw_only=True)
class Timetable:
    """When each task begins.

    Attributes
    ----------
    begins : tuple of float [s]
        Infinite from the first task on that never fits.
    broken : tuple of Lag
        Waits that no timetable keeps; they were left out.
    """

    begins: tuple[float, ...]
    broken: tuple[Lag, ...] = ()


def earliest(tasks: Sequence[Task], lags: Sequence[Lag], start: float) -> Timetable:
    """The timetable in which every task begins as early as any timetable lets it.

    The least s with s₀ ≥ start, sₖ₊₁ ≥ sₖ + dₖ, every task within its hours, and s_j − (s_i + d_i) ≤ w for every wait.

    Parameters
    ----------
    tasks : sequence of Task
    lags : sequence of Lag
    start : float [s]

    Returns
    -------
    Timetable

    Notes
    -----
    Every condition only moves a begin to later when another one moves, so rising from the earliest begins ends at the least
    timetable there is (B. Knaster, A. Tarski, Pacific J. Math. 5, 285 (1955), doi 10.2140/pjm.1955.5.285).
    """
    broken = [lag for lag in lags if _least_wait(tasks, lag) > lag.longest]
    while True:
        kept = [lag for lag in lags if lag not in broken]
        begins, never = _risen(tasks, kept, start)
        if never is None:
            return Timetable(begins=begins, broken=tuple(broken))
        broken.append(never)


def _least_wait(tasks: Sequence[Task], lag: Lag) -> float:
    """What lies between two tasks takes that long at least."""
    return math.fsum(task.duration for task in tasks[lag.first + 1 : lag.second])


def _risen(tasks: Sequence[Task], lags: Sequence[Lag], start: float) -> tuple[tuple[float, ...], Lag | None]:
    """Begins that keep every wait, or the wait that drove a task out of all opening hours."""
    bounds = [start] * len(tasks)
    pushed: Lag | None = None
    while True:
        begins = _in_order(tasks, bounds, start)
        if pushed is not None and math.isinf(begins[-1]):
            return begins, pushed
        wrong = next((lag for lag in lags if _late(tasks, lag, begins)), None)
        if wrong is None:
            return begins, None
        bounds[wrong.first] = begins[wrong.second] - wrong.longest - tasks[wrong.first].duration
        pushed = wrong


def _late(tasks: Sequence[Task], lag: Lag, begins: Sequence[float]) -> bool:
    """Whether a wait is longer than it may be, by more than the rounding of the numbers."""
    if math.isinf(begins[lag.second]):
        return False
    over = begins[lag.second] - begins[lag.first] - tasks[lag.first].duration - lag.longest
    return over > _ROUNDING


_ROUNDING = 1e-3
"""Differences of times [s] below it come from rounding."""


def _in_order(tasks: Sequence[Task], bounds: Sequence[float], start: float) -> tuple[float, ...]:
    begins, free = [], start
    for task, bound in zip(tasks, bounds, strict=True):
        begins.append(task.fit(max(free, bound)))
        free = begins[-1] + task.duration
    return tuple(begins)


@dataclass(frozen=True, kw_only=True)
class Latest:
    """The last moment to begin a task. ``lag`` : the wait that sets it, None where what follows or the closing does."""

    begin: float
    lag: Lag | None = None


def latest(
    tasks: Sequence[Task],
    lags: Sequence[Lag],
    table: Timetable,
    until: Sequence[float],
    tied: Sequence[bool],
) -> tuple[Latest, ...]:
    """How late each task may begin so that it and those tied to it still end in time, with the tasks before it as in the timetable.

    Parameters
    ----------
    tasks : sequence of Task
    lags : sequence of Lag
    table : Timetable
        Of the same tasks, all with a finite begin.
    until : sequence of float [s]
        For each task the time before which it must end.
    tied : sequence of bool
        For each task whether the next one must still be done in time too.

    Returns
    -------
    latest : tuple of Latest, one for each task
    """
    found: list[Latest] = []
    for k in range(len(tasks) - 1, -1, -1):
        task, planned = tasks[k], table.begins[k]
        closes = next((end for begin, end in task.open if begin <= planned <= end), until[k])
        ends = min(closes, until[k])
        if found and tied[k]:
            ends = min(ends, found[-1].begin)
        begin, by = ends - task.duration, None
        for lag in lags:
            if lag.second != k or lag in table.broken:
                continue
            kept = table.begins[lag.first] + tasks[lag.first].duration + lag.longest
            if kept < begin:
                begin, by = kept, lag
        found.append(Latest(begin=max(begin, planned), lag=by))
    return tuple(reversed(found))
