"""The day planned: when each step can begin, how late it may, and between which steps a wafer may wait how long."""

from __future__ import annotations

import datetime
import functools
import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Protocol

from filmwright.emulate.trace import State, Trace
from filmwright.flow import Step
from filmwright.knowledge import Hours, Lab, Tool, Wait, usual_waits
from filmwright.numerics import Lag, Task, Timetable, earliest, latest
from filmwright.units import to_si

DAY = to_si(1, "day")
HORIZON = 60
"""Days ahead that are looked at."""

NIGHT = to_si(12, "h")
"""A wait as long as this takes a wafer over a night."""

_PASSED_OVER = frozenset({"inspect", "measure", "park"})
"""Steps that do nothing to a wafer: a usual wait goes on behind them."""


@dataclass(frozen=True, kw_only=True)
class Parking:
    """The wait that may follow a step.

    Attributes
    ----------
    longest : float or None [s]
        None where no longest wait is on file, which is no proof that there is none.
    why, source : str
    place : str
        Where the plan itself parks the wafer; else empty.
    """

    longest: float | None = None
    why: str = ""
    source: str = ""
    place: str = ""

    @property
    def overnight(self) -> bool:
        """Whether it is known that the wafer may wait here over a night."""
        return self.longest is not None and self.longest >= NIGHT

    @property
    def ends_a_day(self) -> bool:
        """Whether nothing on file speaks against leaving the wafer here over a night."""
        return self.longest is None or self.overnight


@dataclass(frozen=True, kw_only=True)
class Slot:
    """One step in the day.

    Attributes
    ----------
    state : State
    begin, end : datetime
    phases : tuple of (name, float [s])
        What the time goes into, in order.
    latest : datetime or None
        The last moment to begin so that a place where the wafer may wait over night is reached before closing and no
        wait is broken; None where neither a closing nor a wait sets one.
    because : str
        What sets it.
    by_closing : datetime or None
        As ``latest``, from the closing alone, whenever the steps before were done.
    for_day : datetime or None
        The last moment to begin so that all that is planned for that day is done before closing.
    parking : Parking
        After the step.
    waits : float [s]
        Until the next step begins.
    day : int
        Day of the plan, from 1.
    runs : int
        How many times the tool is loaded for all wafers.
    """

    state: State
    begin: datetime.datetime
    end: datetime.datetime
    phases: tuple[tuple[str, float], ...]
    parking: Parking
    latest: datetime.datetime | None = None
    because: str = ""
    by_closing: datetime.datetime | None = None
    for_day: datetime.datetime | None = None
    waits: float = 0.0
    day: int = 1
    runs: int = 1


@dataclass(frozen=True, kw_only=True)
class DayPlan:
    """The steps of a flow in the hours of the lab.

    Attributes
    ----------
    start : datetime
    slots : tuple of Slot
        Up to the first step that never fits.
    closing : datetime or None
        Of the first day; None where no closing is known.
    broken : tuple of str
        Waits that no timetable keeps, in words.
    left : tuple of str
        Steps that fit into no opening hours, with those after them.
    notes : tuple of str
    """

    start: datetime.datetime
    slots: tuple[Slot, ...]
    closing: datetime.datetime | None = None
    broken: tuple[str, ...] = ()
    left: tuple[str, ...] = ()
    notes: tuple[str, ...] = field(default=())

    @property
    def finish(self) -> datetime.datetime:
        """The end of the last step."""
        return self.slots[-1].end if self.slots else self.start

    @property
    def in_time(self) -> bool:
        """Whether everything is done before the closing of the first day."""
        return not self.left and (self.closing is None or self.finish <= self.closing)


@dataclass(frozen=True)
class Held:
    """A wait of the lab, or a usual one, that holds between two steps of a flow."""

    first: int
    second: int
    wait: Wait

    @property
    def lag(self) -> Lag:
        """For the timetable, whose first task is the moment of the start."""
        return Lag(first=self.first + 1, second=self.second + 1, longest=self.wait.longest)


class Stepped(Protocol):
    """Whatever has a step: a state of a walk, or a step that nobody walked to."""

    @property
    def step(self) -> Step:
        """The step."""


def held_waits(states: Sequence[Stepped], lab: Lab) -> tuple[Held, ...]:
    """All longest waits between the steps of a flow: those of the lab, of its parking places, and the usual ones."""
    own = {(wait.after, wait.before) for wait in lab.waits}
    usual = [wait for wait in usual_waits() if (wait.after, wait.before) not in own]
    found = [held for wait in lab.waits for held in _of_lab(states, wait)]
    found += [held for wait in usual for held in _of_custom(states, wait)]
    return tuple(sorted([*found, *_parked(states)], key=lambda held: (held.second, held.first)))


def _names(state: Stepped) -> set[str]:
    return {state.step.kind, state.step.name, state.step.title}


def _of_lab(states: Sequence[Stepped], wait: Wait) -> list[Held]:
    """From each step that the wait begins at to the first that ends it, unless the wait begins anew before."""
    found, begun = [], -1
    for k, state in enumerate(states):
        if begun >= 0 and wait.before in _names(state):
            found.append(Held(begun, k, wait))
            begun = -1
        if wait.after in _names(state):
            begun = k
    return found


def _of_custom(states: Sequence[Stepped], wait: Wait) -> list[Held]:
    """Between a step and the very next one that does something to the wafer."""
    found = []
    for k, state in enumerate(states):
        if state.step.kind != wait.after:
            continue
        after = next((j for j in range(k + 1, len(states)) if states[j].step.kind not in _PASSED_OVER), None)
        if after is not None and states[after].step.kind == wait.before:
            found.append(Held(k, after, wait))
    return found


def _parked(states: Sequence[Stepped]) -> list[Held]:
    found = []
    for k, state in enumerate(states[:-1]):
        if state.step.kind == "park" and "longest" in state.step.asked:
            wait = Wait(
                after=state.step.title,
                before=states[k + 1].step.title,
                longest=state.step.asked["longest"].value,
                why=state.step.because,
                source=f"the plan, line {state.step.line}",
            )
            found.append(Held(k, k + 1, wait))
    return found


def parkings(states: Sequence[State], lab: Lab) -> tuple[Parking, ...]:
    """How long the wafer may wait after each step: the shortest of the waits that hold there, less the steps within them."""
    held, found = held_waits(states, lab), []
    for k, state in enumerate(states):
        place = state.step.title if state.step.kind == "park" else ""
        spans = [
            (each.wait.longest - math.fsum(s.duration for s in states[each.first + 1 : each.second]), each)
            for each in held
            if each.first <= k < each.second
        ]
        if not spans:
            found.append(Parking(place=place))
            continue
        longest, by = min(spans, key=lambda span: span[0])
        found.append(
            Parking(
                longest=max(longest, 0.0),
                why=by.wait.why,
                source=by.wait.source or f"waits of {lab.file or lab.name}",
                place=place,
            )
        )
    return tuple(found)


def plan_day(
    trace: Trace, start: datetime.datetime, closing: float | None = None, first: str = "", wafers: int = 1
) -> DayPlan:
    """The steps of a walked flow, each as early as the opening hours and the longest waits let it.

    All wafers go through a step, in as many runs as its tool needs, before the next one begins; where a wait is too short for
    that, the notes say that each wafer goes through both steps before the next wafer.

    Parameters
    ----------
    trace : Trace
    start : datetime
        Local time, without a zone.
    closing : float or None [s]
        After midnight, of the first day; of every day where the lab file has no hours. It goes before the lab's.
    first : str
        Number of the step to begin with; empty for the first. Waits that an earlier step began are counted from the start.
    wafers : int
    """
    if wafers < 1:
        raise ValueError(f"a day is planned for at least one wafer, got {wafers}")
    states = trace.states
    at = next((k for k, state in enumerate(states) if state.step.number == first), 0)
    midnight = datetime.datetime.combine(start.date(), datetime.time())
    now = (start - midnight).total_seconds()
    openings = _Openings(lab=trace.lab, weekday=start.weekday(), now=now, closing=closing, wafers=wafers)
    moment = Task(duration=0.0, open=((now, now),))
    tasks = [moment, *(openings.task(state) for state in states[at:])]
    held = held_waits(states, trace.lab)
    here = {
        Lag(first=max(each.first - at, -1) + 1, second=each.second - at + 1, longest=each.wait.longest): each
        for each in held
        if each.second >= at
    }
    table = earliest(tasks, list(here), now)
    count = next((k for k, begin in enumerate(table.begins) if math.isinf(begin)), len(tasks))
    table = Timetable(begins=table.begins[:count], broken=table.broken)
    kept = [lag for lag in here if lag.second < count]
    places = parkings(states, trace.lab)[at:]
    until = [openings.until(begin) for begin in table.begins]
    together = [False, *(not place.ends_a_day for place in places)][:count]
    same_day = [a == b for a, b in itertools.pairwise(until)] + [False]
    late = latest(tasks[:count], kept, table, until, together)
    by_closing = latest(tasks[:count], [], table, until, together)
    for_day = latest(tasks[:count], kept, table, until, same_day)

    def moment_of(seconds: float) -> datetime.datetime | None:
        return None if math.isinf(seconds) else midnight + datetime.timedelta(seconds=seconds)

    slots = []
    for k in range(1, count):
        state, begin = states[at + k - 1], table.begins[k]
        end = begin + tasks[k].duration
        by = here[lag] if (lag := late[k].lag) is not None else None
        slots.append(
            Slot(
                state=state,
                begin=midnight + datetime.timedelta(seconds=begin),
                end=midnight + datetime.timedelta(seconds=end),
                phases=phases(state, trace.lab.tools.get(state.step.tool), wafers),
                parking=places[k - 1],
                latest=moment_of(late[k].begin),
                because=_because(by, states),
                by_closing=moment_of(by_closing[k].begin),
                for_day=moment_of(for_day[k].begin),
                waits=table.begins[k + 1] - end if k + 1 < count else 0.0,
                day=int(begin // DAY) + 1,
                runs=runs_of(state, trace.lab, wafers),
            )
        )
    ends = openings.until(now)
    return DayPlan(
        start=start,
        slots=tuple(slots),
        closing=None if math.isinf(ends) else midnight + datetime.timedelta(seconds=ends),
        broken=tuple(_said(here[lag], states) for lag in table.broken),
        left=tuple(f"{s.step.code} {s.step.title}" for s in states[at + count - 1 :]),
        notes=(*openings.notes, *_of_one_kind(states, trace.lab, wafers, at)),
    )


def runs_of(state: State, lab: Lab, wafers: int) -> int:
    """How many runs a step takes for all wafers; a step without a time takes one."""
    tool = lab.tools.get(state.step.tool)
    if not state.duration:
        return 1
    return tool.runs(wafers) if tool is not None else wafers


def time_of(state: State, lab: Lab, wafers: int) -> float:
    """How long a step takes for all wafers [s]."""
    return state.duration * runs_of(state, lab, wafers)


def one_by_one(states: Sequence[State], lab: Lab, wafers: int) -> tuple[tuple[int, int, str], ...]:
    """Places of steps between which the first or the last wafer would wait too long for the others, and what happens then.

    Parameters
    ----------
    states : sequence of State
    lab : Lab
    wafers : int
    """
    found = []
    for each in held_waits(states, lab):
        first, second = states[each.first], states[each.second]
        others = sum((runs_of(s, lab, wafers) - 1) * s.duration for s in (first, second))
        if others > each.wait.longest:
            found.append((each.first, each.second, each.wait.why))
    return tuple(found)


def _of_one_kind(states: Sequence[State], lab: Lab, wafers: int, at: int) -> tuple[str, ...]:
    """One note for each reason."""
    pairs: dict[str, list[str]] = {}
    for first, second, why in one_by_one(states, lab, wafers):
        if second >= at:
            pairs.setdefault(why, []).append(f"{states[first].step.code} to {states[second].step.code}")
    return tuple(
        f"{', '.join(codes)}: take each wafer through both before the next one, else {why}"
        for why, codes in pairs.items()
    )


def phases(state: State, tool: Tool | None, wafers: int = 1) -> tuple[tuple[str, float], ...]:
    """What the time of a step goes into, in order, summed over the runs."""
    runs = 1 if not state.duration else tool.runs(wafers) if tool is not None else wafers
    around = tool.around if tool is not None else 0.0
    named = [] if tool is None else [("load and unload", tool.overhead), ("pump-down", tool.pump_down)]
    named += [] if tool is None else [("heat-up", tool.heat_up)]
    named += [("process", state.duration - around)]
    named += [] if tool is None else [("cool-down", tool.cool_down)]
    return tuple((name, runs * time) for name, time in named if time > 0)


def _said(held: Held, states: Sequence[State]) -> str:
    first, second = states[held.first].step, states[held.second].step
    return (
        f"{first.code} {first.title} to {second.code} {second.title}: at most {held.wait.longest:.0f} s cannot be kept"
        + (f"; {held.wait.why}" if held.wait.why else "")
    )


def _because(by: Held | None, states: Sequence[State]) -> str:
    if by is None:
        return "to reach a place where the wafer may wait over night before closing"
    return f"wait after {states[by.first].step.code}" + (f": {by.wait.why}" if by.wait.why else "")


@dataclass
class _Openings:
    """The opening hours around a start, in seconds after the midnight before it."""

    lab: Lab
    weekday: int
    now: float
    closing: float | None
    wafers: int = 1

    def task(self, state: State) -> Task:
        tool, time = self.lab.tools.get(state.step.tool), time_of(state, self.lab, self.wafers)
        if tool is not None and tool.hours is not None:
            closes = tool.hours.closes if self._ends is None else min(tool.hours.closes, self._ends)
            return Task(duration=time, open=self._open(tool.hours, closes))
        return Task(duration=time, open=self._open(self._usual, self._ends))

    @functools.cached_property
    def _usual(self) -> Hours | None:
        """Of the lab; without a word in its file a day lasts from the start's clock time to the closing that was given."""
        if self.lab.hours is not None or self.closing is None or self.closing <= self.now:
            return self.lab.hours
        return Hours(opens=self.now, closes=self.closing)

    def _open(self, hours: Hours | None, closing: float | None) -> tuple[tuple[float, float], ...]:
        """The hours of every day, the first one ending at ``closing``; those that began yesterday may still run."""
        found: list[tuple[float, float]] = []
        first = -1 if hours is not None and self._since_yesterday(hours) else 0
        for day in range(first, HORIZON):
            if hours is not None and (self.weekday + day) % 7 not in hours.days:
                continue
            begin = day * DAY + (hours.opens if hours is not None else 0.0)
            end = day * DAY + (hours.closes if hours is not None else DAY)
            if day == first and closing is not None:
                end = closing if first == 0 else min(end, closing)
            if end <= begin:
                continue
            if found and found[-1][1] >= begin:
                found[-1] = (found[-1][0], end)
            else:
                found.append((begin, end))
        return tuple(found)

    def _since_yesterday(self, hours: Hours) -> bool:
        """Whether it opened yesterday and is open still."""
        return self.now < hours.closes - DAY and (self.weekday - 1) % 7 in hours.days

    @functools.cached_property
    def _ends(self) -> float | None:
        """The closing that was given; one before the start is that of the next morning where hours run over midnight."""
        over = self._usual is not None and self._usual.closes > DAY and not self._since_yesterday(self._usual)
        if self.closing is not None and over and self.closing <= self.now:
            return self.closing + DAY
        return self.closing

    @functools.cached_property
    def _shifts(self) -> tuple[tuple[float, float], ...]:
        return self._open(self._usual, self._ends) if self._usual is not None else ()

    def until(self, moment: float) -> float:
        """The closing of the hours in which a moment lies, or that come next; infinite where none is known or it never closes."""
        if not self._shifts:
            return math.inf if self._ends is None or moment >= DAY else self._ends
        ends = next((end for _, end in self._shifts if moment <= end), math.inf)
        return math.inf if ends >= (HORIZON - 1) * DAY else ends

    @property
    def notes(self) -> tuple[str, ...]:
        """What was taken for granted."""
        found = []
        if self.lab.hours is None:
            until = (
                "every day until the closing that was given" if self.closing is not None else "at any time"
            )
            found.append(f"no opening hours in the lab file: steps are planned {until}")
        one = sorted(
            name for name, tool in self.lab.tools.items() if not tool.holds and "park" not in tool.does
        )
        if self.wafers > 1 and one:
            found.append(
                f"taken one wafer at a time, since the lab file does not say what they hold: {', '.join(one)}"
            )
        if not self.lab.waits:
            found.append("no waits in the lab file: only usual ones are kept")
        return tuple(found)
