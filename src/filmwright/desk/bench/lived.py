"""What the record tells of one wafer → its flow as it was run: ancestors, other lots, variants and rework minded."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol, get_args

from filmwright.desk.bench.holds import back_to
from filmwright.desk.bench.settled import in_time
from filmwright.desk.files import Work
from filmwright.errors import BadInput, Problem, nearest
from filmwright.flow import Done, DoneKind, Flow, Lived, lived
from filmwright.knowledge import Lab
from filmwright.record import Event, Lot

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench

_DONE: dict[str, DoneKind] = {kind: kind for kind in get_args(DoneKind)}
"""Entries that tell what was done at a step; the others tell of devices, places, files and people."""

_LOTS = 8
"""Lots that a wafer is followed back through at most."""


class House(Protocol):
    """Where lots, what holds of their entries, and their flows are asked for."""

    def lot(self, name: str) -> Lot:
        """A lot."""

    def events(self, lot: str) -> tuple[Event, ...]:
        """Its entries that hold, in the order of writing."""

    def work(self, lot: str) -> Work:
        """Its newest flow with everything around it."""


def _moment(text: str) -> datetime.datetime:
    return datetime.datetime.fromisoformat(text)


@dataclass(frozen=True)
class _Line:
    """A wafer and those it was cut from, each with the entry that cut the next one off."""

    names: tuple[str, ...]
    cuts: Mapping[str, Event]

    def minds(self, event: Event) -> bool:
        """Whether an entry of a wafer tells of this one: its own, and its ancestors' up to the cut."""
        if event.wafer == self.names[-1]:
            return True
        cut = self.cuts.get(event.wafer)
        return cut is not None and _moment(event.happened) <= _moment(cut.happened)


def wafer_named(bench: Bench, lot: str, wafer: str) -> str:
    """A wafer or piece of a lot; its first one when none is named.

    Raises
    ------
    BadInput
        When there is none of this name.
    """
    names = [piece.name for piece in bench.progress(lot).pieces]
    if wafer and wafer not in names:
        raise BadInput(
            Problem(
                what="--wafer",
                expected=f"a wafer of lot {lot}: {', '.join(names)}",
                got=f'"{wafer}"',
                why="what was done to it is looked up in the record",
                remedy=nearest(wafer, names),
            )
        )
    return wafer or names[0]


def line_of(events: Iterable[Event], wafer: str) -> _Line:
    """The ancestors of a piece, the wafer first."""
    cut_from = {each.name: each for each in events if each.kind == "cleave" and each.wafer}
    names, cuts = [wafer], {}
    while (cut := cut_from.get(names[0])) is not None and cut.wafer not in names:
        cuts[cut.wafer] = cut
        names.insert(0, cut.wafer)
    return _Line(tuple(names), cuts)


def entries_of(events: Sequence[Event], wafer: str) -> tuple[Event, ...]:
    """The entries that tell of a wafer or a piece, in the order in which they happened.

    An entry of no wafer is for all that were in the lot when it was written.

    Parameters
    ----------
    events : sequence of Event
        Those that hold, in the order of writing.
    wafer : str
    """
    line = line_of(events, wafer)
    moves = [each for each in events if each.kind in {"enter", "leave"} and each.wafer in line.names]
    here = not (moves and moves[0].kind == "enter")
    found = []
    for event in events:
        if event in moves and line.minds(event):
            here = event.kind == "enter"
        if (not event.wafer and here) or (event.wafer in line.names and line.minds(event)):
            found.append(event)
    return in_time(found)


def told(events: Iterable[Event], flow: Flow) -> tuple[Done, ...]:
    """Entries as what was done; rework that was decided at a hold point goes back to where it begins."""
    found = []
    places = {step.number: place for place, step in enumerate(flow.steps)}
    for event in events:
        if event.kind not in _DONE or not (event.step or event.kind == "extra"):
            continue
        one = Done(
            step=event.step,
            what=_DONE[event.kind],
            name=event.name,
            value=event.value,
            happened=event.happened,
            unit=event.unit,
            text=event.text,
        )
        found.append(one)
        if event.kind == "hold" and event.name == "rework" and event.step in places:
            first = flow.steps[back_to(flow.steps, places[event.step])]
            found.append(replace(one, step=first.number, what="rework"))
    return tuple(found)


def run_on(flow: Flow, events: Sequence[Event], wafer: str, lab: Lab | None = None) -> Lived:
    """The flow of a lot as it was run on one of its wafers, other lots left aside.

    Parameters
    ----------
    flow : Flow
    events : sequence of Event
        Those that hold, in the order of writing.
    wafer : str
    lab : Lab or None
        Whose tools extra steps may name.
    """
    return lived(flow, told(entries_of(events, wafer), flow), lab)


def life_of(house: House, lot: str, wafer: str, before: str = "", depth: int = _LOTS) -> Lived:
    """A wafer's way through its flow, with what was done to it in other lots where it was then.

    Parameters
    ----------
    house : House
    lot, wafer : str
    before : str
        ISO time; only what happened up to then. Empty: everything.
    depth : int
        Lots that it is followed back through.
    """
    events, work = house.events(lot), house.work(lot)
    if before:
        events = tuple(each for each in events if _moment(each.happened) <= _moment(before))
    own = entries_of(events, wafer)
    came = [each for each in own if each.kind == "enter"]
    elsewhere = _skipped(work.flow, came[0]) if came and not _began_here(own) else ()
    life = lived(work.flow, (*elsewhere, *told(own, work.flow)), work.lab)
    for entry in reversed(came if depth else ()):
        life = _joined(house, life, entry, lot, own, elsewhere, depth)
    return life


def _began_here(own: Sequence[Event]) -> bool:
    moves = [each for each in own if each.kind in {"enter", "leave"}]
    return not moves or moves[0].kind == "leave"


def _skipped(flow: Flow, entry: Event) -> tuple[Done, ...]:
    """Steps before the one with which a wafer came in: they were done elsewhere, not here."""
    numbers = [step.number for step in flow.steps]
    first = numbers.index(entry.step) if entry.step in numbers else 0
    return tuple(Done(step=number, what="skip") for number in numbers[:first])


def _left_for(leave: Event, enter: Event) -> bool:
    """Whether a wafer left one lot for this entry into the other; the entry names it, for its name may be another there."""
    if enter.about:
        return leave.id == enter.about
    return leave.wafer == enter.wafer and _moment(leave.happened) <= _moment(enter.happened)


def _joined(
    house: House,
    life: Lived,
    entry: Event,
    lot: str,
    own: Sequence[Event],
    elsewhere: Sequence[Done],
    depth: int,
) -> Lived:
    """A life with what was done in the lot from which an entry says that the wafer came."""
    work = house.work(lot)
    until = [each for each in own if _moment(each.happened) < _moment(entry.happened)]
    at = lived(work.flow, (*elsewhere, *told(until, work.flow)), work.lab).done if until else 0
    theirs = house.events(entry.name)
    left = [each for each in theirs if each.kind == "leave" and _left_for(each, entry)]
    name, until_then = (left[-1].wafer, left[-1].happened) if left else (entry.wafer, entry.happened)
    earlier = life_of(house, entry.name, name, until_then, depth - 1)
    # What was done in this lot before the wafer left is told by its own entries already.
    kept = [k for k in range(earlier.done) if earlier.flow.steps[k].lot != lot]
    done = [earlier.flow.steps[k] for k in kept]
    drawings = [house.lot(name).drawing_digest for name in (lot, entry.name)]
    if drawings[0] != drawings[1] and any(step.kind == "develop" for step in done):
        said = f"what was done in lot {entry.name} is left out: that lot has another mask drawing"
        return replace(life, problems=(*life.problems, said))
    steps = tuple(replace(step, lot=step.lot or entry.name) for step in done)
    flow = replace(
        life.flow,
        body=life.flow.body if at else earlier.flow.body,
        masks={**earlier.flow.masks, **life.flow.masks},
        steps=(*life.flow.steps[:at], *steps, *life.flow.steps[at:]),
    )
    moved = {k if k < at else k + len(steps) for k in life.untold}
    return Lived(
        flow=flow,
        done=life.done + len(steps),
        untold=frozenset(moved | {at + n for n, k in enumerate(kept) if k in earlier.untold}),
        problems=(*earlier.problems, *life.problems),
    )
