"""Wafers that change lots and pieces that are cut: what of their past belongs to them."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from filmwright.desk.files import now
from filmwright.errors import BadInput, Problem, Problems, nearest
from filmwright.flow import Flow, Step, step_of
from filmwright.record import Event, Lot, piece_name, read_label

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
    here = began_here(events, wafer, bench.lot(lot).wafers)
    began = born is not None or here
    if not began or (lot, f"{wafer} {until}") in seen:
        return ()
    seen |= {(lot, f"{wafer} {until}")}
    found: tuple[Part, ...] = ()
    mine: list[Event] = []
    first, begin = "", 0
    if born is not None and not here:
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


def began_here(events: Iterable[Event], wafer: str, started: Sequence[str]) -> bool:
    """Whether a wafer is one with which a lot was started, and it came from no other lot then.

    Parameters
    ----------
    events : iterable of Event
        Of the lot, in order.
    wafer : str
    started : sequence of str
        Wafers with which it was started.
    """
    moved = (each.kind for each in events if each.wafer == wafer and each.kind in {"enter", "leave"})
    return wafer in started and next(moved, "leave") == "leave"


def _begins(event: Event, wafer: str) -> bool:
    return (event.kind == "cleave" and event.name == wafer) or (
        event.kind == "enter" and event.wafer == wafer
    )


def _elsewhere(bench: Bench, enter: Event, seen: frozenset[tuple[str, str]]) -> tuple[Part, ...]:
    """The life in the lot that a wafer came from, up to its leaving."""
    if not bench.has(enter.name):
        return ()
    leave = next((each for each in bench.events(enter.name) if each.id == enter.about), None)
    return () if leave is None else _before(bench, enter.name, leave.wafer, leave.id, seen)


def _last(bench: Bench, enter: Event, seen: frozenset[tuple[str, str]]) -> tuple[Part, ...]:
    """Of a wafer that comes back: what happened to it in between."""
    return tuple(part for part in _elsewhere(bench, enter, seen)[-1:] if part.lot != enter.lot)


def same_beginning(one: Sequence[Step], other: Sequence[Step]) -> int:
    """How many steps, from the first on, two flows do alike, so that what was done in one counts in the other."""
    pairs = zip(one, other, strict=False)
    return next((k for k, (a, b) in enumerate(pairs) if _thing(a) != _thing(b)), min(len(one), len(other)))


def _thing(step: Step) -> tuple[str, ...]:
    return (step.number, step.kind, step.material, step.method, step.medium, step.mask, step.resist)


def past_of_entered(bench: Bench, lot: str) -> dict[str, tuple[Event, ...]]:
    """For each entry with which a wafer entered, by id, what was done to it elsewhere by steps that both flows begin with.

    Where one of the lots it came through begins otherwise, only what all of them begin with counts.

    Parameters
    ----------
    bench : Bench
    lot : str
    """
    steps, events = bench.flow(lot).steps, bench.events(lot)
    known = bench.lot(lot).wafers
    found: dict[str, tuple[Event, ...]] = {}
    for enter in events:
        if enter.kind != "enter":
            continue
        past = _elsewhere(bench, enter, frozenset())
        past = past[-1:] if began_here(events, enter.wafer, known) else past
        alike = min((_alike(bench, steps, part.lot) for part in past), default=0)
        numbers = {step.number for step in steps[:alike]}
        counted = tuple(event for part in past for event in part.events if event.step in numbers)
        if counted:
            found[enter.id] = counted
    return found


def _alike(bench: Bench, steps: Sequence[Step], lot: str) -> int:
    """How many steps a lot begins with as here; none that one knows of where its plan cannot be read."""
    return 0 if bench.trouble(lot) else same_beginning(steps, bench.flow(lot).steps)


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
    problems = Problems()
    if asked.lot == asked.to:
        problems.add(
            _problem("the lot to move to", "another lot", asked.to, "it is there already", "name another")
        )
    _check_leaving(progress, asked.wafer, problems)
    problems.raise_any()
    moment = asked.happened or now()
    name = _free(other, asked.wafer, asked.lot)
    goes_on = step_of(bench.flow(asked.to), asked.step).number if asked.step else ""
    if not goes_on:
        own = _goes_on(progress, asked.wafer, other.steps)
        goes_on = other.next if own is None else own
    pair = _pair(bench, asked, bench.lot(asked.to), name, goes_on, moment)
    bench.store.append(pair)
    return pair


def take_along(
    bench: Bench, lot: Lot, flow: Flow, labels: Sequence[str], *, at: str = "", who: str = "", seed: str = ""
) -> tuple[Lot, tuple[Event, ...]]:
    """A new lot whose wafers are wafers or pieces of other lots, and the entries with which they come.

    They keep their names where those are not the same, and follow the new lot's flow from then on.

    Parameters
    ----------
    bench : Bench
    lot : Lot
        Not in the record yet.
    flow : Flow
        Of it.
    labels : sequence of str
        Lot and wafer, with or without the check character: ``K7M-4H7 W1.a``.
    at : str
        Code or number of the step before which they go on; empty: where their own flow stood, if both flows
        are alike up to there, else the first step.
    who : str
    seed : str
        UUID from which ids are drawn, so that the same sent twice is kept once; empty draws them.

    Raises
    ------
    BadInput
        With every wafer that cannot leave.
    """
    root = uuid.UUID(seed) if seed else uuid.uuid4()
    problems = Problems()
    found = [read_wafer(bench, label, problems) for label in labels]
    problems.raise_any()
    if len(set(found)) < len(found):
        raise BadInput(
            _problem(
                "the wafers to take along",
                "each once",
                ", ".join(labels),
                "each is one thing",
                "name each once",
            )
        )
    for old, wafer in found:
        _check_leaving(bench.progress(old), wafer, problems)
    problems.raise_any()
    own = [wafer for _, wafer in found]
    names = own if len(set(own)) == len(own) else [f"W{k}" for k in range(1, len(own) + 1)]
    begun = replace(lot, wafers=tuple(names))
    before = step_of(flow, at).number if at else ""
    events: list[Event] = []
    for k, ((old, wafer), name) in enumerate(zip(found, names, strict=True)):
        ids = (str(uuid.uuid5(root, f"leave {k}")), str(uuid.uuid5(root, f"enter {k}")))
        asked = Move(
            lot=old, wafer=wafer, to=lot.name, why=f"lot {lot.name} is started with it", who=who, ids=ids
        )
        goes_on = before or _goes_on(bench.progress(old), wafer, flow.steps) or flow.steps[0].number
        events += _pair(bench, asked, begun, name, goes_on, lot.started)
    return begun, tuple(events)


def check_beginning(names: Sequence[str], labels: Sequence[str], at: str) -> None:
    """Wafers of a new lot are new ones with names, or come from other lots and keep theirs."""
    if names and labels:
        raise BadInput(
            _problem(
                "the wafers of the new lot", "new ones, or some of other lots", ", ".join((*names, *labels)),
                "a wafer keeps the name that stands on its carrier",
                "leave the names out, or send the wafer there later",
            )
        )  # fmt: skip
    if at and not labels:
        raise BadInput(
            _problem(
                "the step at which the lot goes on", "named with wafers of other lots", at,
                "new wafers begin at the first step", "say which wafers come from other lots, or leave the step out",
            )
        )  # fmt: skip


def read_wafer(bench: Bench, label: str, problems: Problems) -> tuple[str, str]:
    """Lot and wafer as on a label; the check character may be left out, but not be wrong."""
    parts = label.replace("/", " ").split()
    lot, piece = (parts[0], parts[-1]) if len(parts) == 2 else ("", "")
    if bench.has(lot) and any(each.name == piece for each in bench.progress(lot).pieces):
        return lot, piece
    try:
        lot, piece = read_label(label)
        return bench.lot(lot).name, piece_of(bench.progress(lot), piece).name
    except BadInput as bad:
        problems.found.extend(bad.problems)
        return "", ""


def _check_leaving(progress: Progress, wafer: str, problems: Problems) -> None:
    """What is not there cannot leave, and a step belongs to one lot."""
    piece = piece_of(progress, wafer)
    if piece.standing != "present" or piece.running:
        got = f"step {piece.running} running" if piece.running else piece.standing
        problems.add(
            _problem(
                f"wafer {wafer} of lot {progress.lot}", "in the lot, with no step running", got,
                "what is not there cannot leave, and a step belongs to one lot",
                "finish the step first" if piece.running else "look where it is on the page of the wafer",
            )
        )  # fmt: skip


def _goes_on(progress: Progress, wafer: str, steps: Sequence[Step]) -> str | None:
    """Number of the step at which a wafer goes on in another flow that is alike up to where it stands; else None.

    Empty where the other flow has nothing left to do either.
    """
    wanted = piece_of(progress, wafer).next
    alike = same_beginning(progress.steps, steps)
    place = next((k for k, step in enumerate(progress.steps) if step.number == wanted), len(progress.steps))
    if place > alike:
        return None
    return steps[place].number if place < len(steps) else ""


def _pair(bench: Bench, asked: Move, to: Lot, name: str, goes_on: str, moment: str) -> tuple[Event, Event]:
    """``leave`` of the one lot and ``enter`` of the other."""
    written = now()
    first, second = (each or str(uuid.uuid4()) for each in asked.ids)
    leave = Event(
        id=first, lot=asked.lot, wafer=asked.wafer, kind="leave", name=to.name, text=asked.why,
        happened=moment, written=written, who=asked.who, invented=bench.lot(asked.lot).invented,
    )  # fmt: skip
    enter = Event(
        id=second, lot=to.name, wafer=name, kind="enter", name=asked.lot, step=goes_on, text=asked.why,
        happened=moment, written=written, who=asked.who, about=leave.id, invented=to.invented,
    )  # fmt: skip
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
