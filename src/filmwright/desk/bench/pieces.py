"""Wafers that change lots and pieces that are cut: what of their past belongs to them."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from filmwright.desk.files import now
from filmwright.errors import BadInput, Problem, Problems, nearest
from filmwright.flow import Step, step_of
from filmwright.record import Event, piece_name

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench
    from filmwright.desk.bench.progress import Piece, Progress


@dataclass(frozen=True, kw_only=True)
class Part:
    """A stretch of the life of a wafer in one lot under one name.

    Attributes
    ----------
    lot, wafer : str
    first : str
        Number of the step of that lot's flow before which it began there; empty from the start.
    events : tuple of Event
        Settled entries about it, those of all wafers included.
    """

    lot: str
    wafer: str
    first: str
    events: tuple[Event, ...]


def parts(bench: Bench, lot: str, wafer: str) -> tuple[Part, ...]:
    """The life of a wafer or piece, lot by lot and name by name, oldest first.

    A piece has the past of what it was cut from up to the cut; a wafer that entered has its past in the lot that it left.

    Parameters
    ----------
    bench : Bench
    lot, wafer : str
    """
    return _before(bench, lot, wafer, None, frozenset())


def _before(
    bench: Bench, lot: str, wafer: str, until: str | None, seen: frozenset[tuple[str, str]]
) -> tuple[Part, ...]:
    """The life up to an entry, without it; None for all of it."""
    events = bench.events(lot)
    if until is not None:
        events = events[: next((k for k, each in enumerate(events) if each.id == until), len(events))]
    born = next((k for k, each in enumerate(events) if _begins(each, wafer)), None)
    began = born is not None or wafer in bench.lot(lot).wafers
    if not began or (lot, f"{wafer} {until}") in seen:
        return ()
    seen |= {(lot, f"{wafer} {until}")}
    found: tuple[Part, ...] = ()
    mine: list[Event] = []
    first, begin = "", 0
    if born is not None and wafer not in bench.lot(lot).wafers:
        event = events[born]
        found = (
            _before(bench, lot, event.wafer, event.id, seen)
            if event.kind == "cleave"
            else _elsewhere(bench, event, seen)
        )
        first, begin = (event.step if event.kind == "enter" else ""), born
    away = False
    for event in events[begin:]:
        own = event.wafer == wafer or (event.kind == "cleave" and event.name == wafer)
        if own and event.kind == "enter" and mine and away:
            found += (Part(lot=lot, wafer=wafer, first=first, events=tuple(mine)), *_last(bench, event, seen))
            mine, first, away = [], event.step, False
        if own or (not event.wafer and not away):
            mine.append(event)
        away = away or (own and event.kind == "leave")
    return (*found, Part(lot=lot, wafer=wafer, first=first, events=tuple(mine)))


def _begins(event: Event, wafer: str) -> bool:
    return (event.kind == "cleave" and event.name == wafer) or (
        event.kind == "enter" and event.wafer == wafer
    )


def _elsewhere(bench: Bench, enter: Event, seen: frozenset[tuple[str, str]]) -> tuple[Part, ...]:
    """The life in the lot that a wafer came from, up to its leaving."""
    if enter.name not in bench.heads():
        return ()
    leave = next((each for each in bench.events(enter.name) if each.id == enter.about), None)
    return () if leave is None else _before(bench, enter.name, leave.wafer, leave.id, seen)


def _last(bench: Bench, enter: Event, seen: frozenset[tuple[str, str]]) -> tuple[Part, ...]:
    """Of a wafer that comes back: what happened to it in between."""
    return tuple(part for part in _elsewhere(bench, enter, seen)[-1:] if part.lot != enter.lot)


def same_steps(one: Sequence[Step], other: Sequence[Step]) -> bool:
    """Whether two flows do the same in the same order, so that what was done in one counts in the other."""
    return [_thing(step) for step in one] == [_thing(step) for step in other]


def _thing(step: Step) -> tuple[str, ...]:
    return (step.number, step.kind, step.material, step.method, step.medium, step.mask, step.resist)


def past_of_entered(bench: Bench, lot: str) -> dict[str, tuple[Event, ...]]:
    """For each entry with which a wafer entered, by id, what was done to it elsewhere by the same steps.

    Parameters
    ----------
    bench : Bench
    lot : str
    """
    steps = bench.flow(lot).steps
    known = bench.lot(lot).wafers
    found: dict[str, tuple[Event, ...]] = {}
    for enter in bench.events(lot):
        if enter.kind != "enter":
            continue
        past = _elsewhere(bench, enter, frozenset())
        past = past[-1:] if enter.wafer in known else past
        if past and all(same_steps(steps, bench.flow(part.lot).steps) for part in past):
            found[enter.id] = tuple(event for part in past for event in part.events if event.step)
    return found


@dataclass(frozen=True, kw_only=True)
class Move:
    """A wafer that goes from one lot to another.

    Attributes
    ----------
    lot, wafer, to : str
    step : str
        Code or number of the step of the other lot before which it goes on; empty for the one that lot is at.
    why, who : str
    happened : str
        ISO time; empty for now.
    ids : (str, str)
        Of the two entries; drawn where empty.
    """

    lot: str
    wafer: str
    to: str
    step: str = ""
    why: str = ""
    who: str = ""
    happened: str = ""
    ids: tuple[str, str] = ("", "")


def move(bench: Bench, asked: Move) -> tuple[Event, Event]:
    """Send a wafer to another lot; both lots are told in one transaction.

    Parameters
    ----------
    bench : Bench
    asked : Move

    Returns
    -------
    tuple of Event
        ``leave`` of the one lot and ``enter`` of the other.

    Raises
    ------
    BadInput
    """
    progress, other = bench.progress(asked.lot), bench.progress(asked.to)
    piece = piece_of(progress, asked.wafer)
    problems = Problems()
    if asked.lot == asked.to:
        problems.add(
            _problem("the lot to move to", "another lot", asked.to, "it is there already", "name another")
        )
    if piece.standing != "present" or piece.running:
        got = f"step {piece.running} running" if piece.running else piece.standing
        problems.add(
            _problem(
                f"wafer {asked.wafer} of lot {asked.lot}", "in the lot, with no step running", got,
                "what is not there cannot leave, and a step belongs to one lot",
                "finish the step first" if piece.running else "look where it is on the page of the wafer",
            )
        )  # fmt: skip
    problems.raise_any()
    moment, written = asked.happened or now(), now()
    first, second = (each or str(uuid.uuid4()) for each in asked.ids)
    same = same_steps(progress.steps, other.steps)
    goes_on = step_of(bench.flow(asked.to), asked.step).number if asked.step else ""
    goes_on = goes_on or (piece.next if same else other.next)
    leave = Event(
        id=first, lot=asked.lot, wafer=asked.wafer, kind="leave", name=asked.to, text=asked.why,
        happened=moment, written=written, who=asked.who, invented=bench.lot(asked.lot).invented,
    )  # fmt: skip
    enter = Event(
        id=second, lot=asked.to, wafer=_free(other, asked.wafer, asked.lot), kind="enter", name=asked.lot,
        step=goes_on, text=asked.why, happened=moment, written=written, who=asked.who, about=leave.id,
        invented=bench.lot(asked.to).invented,
    )  # fmt: skip
    bench.store.append((leave, enter))
    return leave, enter


def _free(other: Progress, wafer: str, come_from: str) -> str:
    """The name in the other lot: its own where it is free or it was there before, else the next number."""
    names = {piece.name: piece for piece in other.pieces}
    if wafer not in names or (names[wafer].standing == "away" and names[wafer].went_to == come_from):
        return wafer
    return next(name for number in range(1, len(names) + 2) if (name := f"W{number}") not in names)


def piece_of(progress: Progress, name: str) -> Piece:
    """A wafer or piece of a lot by its name.

    Raises
    ------
    BadInput
    """
    try:
        return progress.piece(name)
    except KeyError:
        names = [each.name for each in progress.pieces]
        raise BadInput(
            _problem(
                f"the wafer of lot {progress.lot}", "one of " + ", ".join(names), name,
                "what happens is written per wafer", nearest(name, names),
            )
        ) from None  # fmt: skip


def next_piece(progress: Progress, wafer: str) -> str:
    """The name of the next piece of a wafer."""
    return piece_name(piece_of(progress, wafer).name, (each.name for each in progress.pieces))


def _problem(what: str, expected: str, got: str, why: str, remedy: str) -> Problem:
    return Problem(what=what, expected=expected, got=f'"{got}"', why=why, remedy=remedy)
