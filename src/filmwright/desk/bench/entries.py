"""One tap at the bench → entries in the record, all or none, once, and never over somebody else's."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any, Literal, get_args

from filmwright.desk.bench.checks import Check, Plan, check_value, read_value
from filmwright.desk.bench.holds import check_entries
from filmwright.desk.bench.permissions import Action, action_of_entry
from filmwright.desk.bench.settled import CLOCK_SLACK
from filmwright.desk.files import now
from filmwright.errors import BadInput, OutOfReach, Problem, Problems, nearest
from filmwright.flow import step_of
from filmwright.record import Conflict, Event, Lot
from filmwright.units import write

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench

TapKind = Literal[
    "start", "set", "seen", "measured", "finish", "note", "skip", "repeat", "rework", "hold", "timer", "photo",
    "withdraw", "place", "handover", "acknowledge", "split",
]  # fmt: skip
State = Literal["kept", "already there", "question", "conflict", "refused", "later", "another's"]
Choice = Literal["", "theirs", "mine"]

_VALUED = frozenset({"set", "seen", "measured"})
_BESIDE = frozenset({"note", "photo", "timer", "acknowledge", "place", "handover", "measured"})
"""Kinds that stand beside what somebody else wrote without hiding it."""
_HOLDS = ("go", "rework", "scrap")
_EXPLAINED = frozenset({"rework", "scrap"})
_TRIES = 4
_TAKEN_BACK = "taken back at the bench"
_DID = {
    "start": "started this step", "finish": "finished this step", "skip": "skipped this step",
    "hold": "decided the hold point", "repeat": "repeated this step", "rework": "sent this step to rework",
    "withdraw": "took an entry back", "set": "entered what was set", "seen": "entered what was seen",
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """One thing that a tap says.

    Attributes
    ----------
    kind : TapKind
    name : str
        Of the value, or of the decision, the timer, the place.
    value : str
        As it was typed; for a timer its length.
    unit : str
        As it was chosen.
    text, about, sha256 : str
        As in an entry of the record.
    """

    kind: TapKind
    name: str = ""
    value: str = ""
    unit: str = ""
    text: str = ""
    about: str = ""
    sha256: str = ""


@dataclass(frozen=True, kw_only=True)
class Tap:
    """What one tap sends.

    Attributes
    ----------
    id : str
        UUID drawn by the page; the same tap sent twice is kept once.
    lot : str
    step : str
        Number or code; empty: the lot as a whole.
    wafers : tuple of str
        Empty: all wafers of the lot.
    entries : tuple of Wanted
    seen : int or None
        Position of the newest entry of the step that the page showed; None does not ask.
    happened : str
        ISO time of the device; empty: now.
    clock : str
        ISO time of the device when it sent the tap, by which a wrong clock is noticed; empty: not told.
    who : str
    sure : bool
        A second tap after a question: the number is kept as it is, with an acknowledgement.
    choice : Choice
        After a conflict: whose entries hold.
    """

    id: str
    lot: str
    entries: tuple[Wanted, ...]
    step: str = ""
    wafers: tuple[str, ...] = ()
    seen: int | None = None
    happened: str = ""
    clock: str = ""
    who: str = ""
    sure: bool = False
    choice: Choice = ""

    def __post_init__(self) -> None:
        problems = Problems()
        try:
            object.__setattr__(self, "id", str(uuid.UUID(self.id)))
        except (ValueError, AttributeError, TypeError):
            _refuse(problems, "the id of a tap", "a UUID", str(self.id)[:60], "a tap sent twice is kept once by its id",
                    "open the page again")  # fmt: skip
        if not self.entries:
            _refuse(problems, "a tap", "something to write down", "nothing", "an empty entry says nothing later",
                    "choose what was done")  # fmt: skip
        for each in self.entries:
            if each.kind not in get_args(TapKind):
                _refuse(problems, "what was tapped", "something done at a step", f'"{each.kind}"',
                        "planned, as run and measured are kept apart by it",
                        nearest(str(each.kind), get_args(TapKind)))  # fmt: skip
            if each.kind == "hold" and each.name not in _HOLDS:
                _refuse(problems, "the decision at the hold point", "go, rework or scrap", f'"{each.name}"',
                        "somebody else goes on from it", nearest(each.name, _HOLDS))  # fmt: skip
            if each.kind == "hold" and each.name in _EXPLAINED and not each.text.strip():
                _refuse(problems, f"the reason for {each.name}", "a few words", "nothing",
                        "it decides over work of days", "write what was seen")  # fmt: skip
        problems.raise_any()


@dataclass(frozen=True, kw_only=True)
class Newer:
    """What somebody else wrote about the step in the meantime."""

    who: str
    what: str
    happened: str
    wafer: str

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {"who": self.who, "what": self.what, "happened": self.happened, "wafer": self.wafer}


@dataclass(frozen=True, kw_only=True)
class Entered:
    """What became of a tap.

    Attributes
    ----------
    state : State
        ``another's``: somebody else entered it on this device, and who is signed in has not said yet whose it is.
    id : str
        Of the tap.
    said : str
        One sentence for the person.
    position : int
        Of the newest entry of the step now, to be shown as ``seen`` next time.
    kept : str
        Clock at which the server had it on its disk, as ISO time; empty when it has not.
    events : tuple of Event
        What is in the record because of the tap.
    checks : tuple of Check
        Numbers that were asked about.
    newer : tuple of Newer
        Of a conflict: theirs.
    mine : tuple of str
        Of a conflict: what the tap wanted to write, in words.
    problems : tuple of Problem
        Of a refusal.
    """

    state: State
    id: str
    said: str
    position: int = 0
    kept: str = ""
    events: tuple[Event, ...] = ()
    checks: tuple[Check, ...] = ()
    newer: tuple[Newer, ...] = ()
    mine: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = field(default=())

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "state": self.state,
            "id": self.id,
            "said": self.said,
            "position": self.position,
            "kept": self.kept,
            "events": [each.id for each in self.events],
            "checks": [each.fields() for each in self.checks],
            "newer": [each.fields() for each in self.newer],
            "mine": list(self.mine),
            "choices": ["theirs", "mine"] if self.state == "conflict" else [],
            "problems": [each.fields() for each in self.problems],
        }


def enter(bench: Bench, tap: Tap, plans: Mapping[str, Plan] | None = None) -> Entered:
    """Write down what a tap says: all of it in one transaction, once however often it is sent.

    Parameters
    ----------
    bench : Bench
    tap : Tap
    plans : mapping from name to Plan, or None
        What numbers are held against; None looks it up.

    Raises
    ------
    BadInput
        When it can never be kept as it is; a conflict and a question are answers.
    """
    with bench.looking():
        lot, number, events, checks = _looked_at(bench, tap, plans)
        asked = tuple(each for each in checks if each.asks)
        if asked and not tap.sure:
            return Entered(state="question", id=tap.id, said=asked[0].said, checks=asked)
        _check_holds(bench, lot.name, events)
        there = bench.written(lot.name)
    if tap.choice == "theirs":
        events = (_not_kept(tap, lot, number, events),)
    return _append(bench, tap, number, events, there)


def _looked_at(
    bench: Bench, tap: Tap, plans: Mapping[str, Plan] | None
) -> tuple[Lot, str, tuple[Event, ...], tuple[Check, ...]]:
    """The lot and the number of the step, what would be written, and how its numbers compare with the plan."""
    lot = bench.lot(tap.lot)
    number = step_of(bench.flow(lot.name), tap.step).number if tap.step else ""
    if plans is None and any(each.kind in _VALUED for each in tap.entries):
        from filmwright.desk.bench.step_card import plans_of

        plans = plans_of(bench, lot.name, number, tap.wafers[0] if tap.wafers else "")
    return lot, number, *_events(tap, lot, number, plans or {})


def _check_holds(bench: Bench, lot: str, events: tuple[Event, ...]) -> None:
    """Nothing that cannot be taken back begins before its hold point is decided; what is kept already is not asked again."""
    if any(each.kind in {"start", "repeat", "finish"} for each in events):
        kept = {each.id for each in bench.written(lot)}
        check_entries(bench.progress(lot), [each for each in events if each.id not in kept])


def action_of(bench: Bench, lot: str, wanted: Wanted) -> Action:
    """What one must be allowed to do for an entry; to take a decision back is to decide.

    Parameters
    ----------
    bench : Bench
    lot : str
    wanted : Wanted
    """
    if wanted.kind == "withdraw":
        return action_of_entry(
            next((each.kind for each in bench.written(lot) if each.id == wanted.about), "note")
        )
    return action_of_entry(wanted.kind)


@dataclass(frozen=True, kw_only=True)
class NotTaken:
    """A tap that was answered before it came to the record; what follows at the same step waits for it."""

    lot: str
    step: str
    answer: Entered


def enter_all(bench: Bench, taps: tuple[Tap | NotTaken | BadInput, ...]) -> tuple[Entered, ...]:
    """Taps that waited on a device, in their order; what stops one does not lose the next.

    A tap of a step that follows a conflict or refusal about the same step is left for later, so that the order stays.
    """
    found: list[Entered] = []
    stuck: set[tuple[str, str]] = set()
    ahead: dict[tuple[str, str], int] = {}
    for tap in taps:
        if isinstance(tap, BadInput):
            found.append(refused("", tap))
            continue
        place = (tap.lot, tap.step)
        if place in stuck:
            waits = tap.answer.id if isinstance(tap, NotTaken) else tap.id
            found.append(Entered(state="later", id=waits, said="waits for the entry before it"))
            continue
        if isinstance(tap, NotTaken):
            found.append(tap.answer)
            stuck.add(place)
            continue
        own = ahead.get(place)
        try:
            answer = enter(
                bench, tap if own is None or tap.seen is None else replace(tap, seen=max(own, tap.seen))
            )
        except OutOfReach:
            raise  # nothing is wrong with the tap: the device keeps it and sends it again
        except BadInput as bad:
            answer = refused(tap.id, bad)
        if answer.state in {"kept", "already there"}:
            ahead[place] = answer.position
        else:
            stuck.add(place)
        found.append(answer)
    return tuple(found)


def position_of(events: tuple[Event, ...], step: str) -> int:
    """Position, counted from 1, of the newest entry of a step; 0 when there is none."""
    return max((k for k, each in enumerate(events, start=1) if each.step == step), default=0)


def _refuse(problems: Problems, what: str, expected: str, got: str, why: str, remedy: str) -> None:
    problems.add(Problem(what=what, expected=expected, got=got, why=why, remedy=remedy))


def refused(tap: str, bad: BadInput) -> Entered:
    """The answer to a tap that can never be kept as it is."""
    said = "; ".join(f"{each.what} must be {each.expected}, got {each.got}" for each in bad.problems)
    return Entered(state="refused", id=tap, said=said, problems=bad.problems)


def _happened(tap: Tap) -> str:
    """When it happened, by the server's clock where the device's is wrong."""
    if not tap.happened:
        return now()
    try:
        happened = datetime.fromisoformat(tap.happened)
        ahead = (
            datetime.fromisoformat(tap.clock) - datetime.fromisoformat(now()) if tap.clock else timedelta()
        )
    except (ValueError, TypeError):
        return tap.happened  # the record says what is wrong with it
    if abs(ahead) <= CLOCK_SLACK:
        return tap.happened
    return (happened - ahead).isoformat(timespec="seconds")


def _events(
    tap: Tap, lot: Lot, number: str, plans: Mapping[str, Plan]
) -> tuple[tuple[Event, ...], tuple[Check, ...]]:
    problems = Problems()
    checks: list[Check] = []
    events: list[Event] = []
    happened, written = _happened(tap), now()
    for place, each in enumerate(tap.entries):
        value, unit = None, ""
        try:
            if each.kind in _VALUED and each.value:
                value, unit = read_value(each.name, each.value, each.unit)
                checks.append(check_value(each.name, value, unit, plans.get(each.name)))
            elif each.kind == "timer":
                value, unit = read_value("time", each.value, each.unit)
            elif each.kind == "split":
                value, unit = _split_value(tap, each)
        except BadInput as bad:
            problems.found.extend(bad.problems)
            continue
        for wafer in tap.wafers or ("",):
            drawn = str(uuid.uuid5(uuid.UUID(tap.id), f"{place} {wafer}")) if events else tap.id
            try:
                event = Event(
                    id=drawn, lot=lot.name, kind=each.kind, wafer=wafer, step=number, name=each.name, value=value,
                    unit=unit, text=each.text.strip() or (_TAKEN_BACK if each.kind == "withdraw" else ""),
                    happened=happened, written=written, who=tap.who, invented=lot.invented, about=each.about,
                    sha256=each.sha256,
                )  # fmt: skip
            except BadInput as bad:
                problems.found.extend(bad.problems)
                continue
            events.append(event)
            if checks and checks[-1].asks and each.kind in _VALUED and value is not None:
                events.append(_acknowledged(event, checks[-1]))
    problems.raise_any()
    return tuple(events), tuple(checks)


def _split_value(tap: Tap, each: Wanted) -> tuple[float, str]:
    """What a split plans: another value on purpose, so that it is not held against the plan."""
    if not tap.wafers:
        raise BadInput(
            Problem(what="a split", expected="the wafer that is treated otherwise", got="all wafers",
                    why="a split compares wafers", remedy="choose one wafer first")
        )  # fmt: skip
    return read_value(each.name, each.value, each.unit)


def _acknowledged(event: Event, check: Check) -> Event:
    """The second tap, as a remark about the number that was kept as it is."""
    return replace(
        event, id=str(uuid.uuid5(uuid.UUID(event.id), "sure")), kind="acknowledge", name=check.verdict, value=None,
        unit="", text=f"{check.said}; kept as entered after a second look", about=event.id,
    )  # fmt: skip


def _not_kept(tap: Tap, lot: Lot, number: str, events: tuple[Event, ...]) -> Event:
    """A note of what was given up in favour of somebody else's entries, so that nothing is lost."""
    first = events[0]
    return Event(
        id=str(uuid.uuid5(uuid.UUID(tap.id), "theirs")), lot=lot.name, kind="note", wafer=first.wafer, step=number,
        text="left aside, the other entries of this step hold: " + "; ".join(map(words_of, events)),
        happened=first.happened, written=first.written, who=tap.who, invented=lot.invented,
    )  # fmt: skip


_PUT = {"location": "put at", "carrier": "put in", "orientation": "lies"}


def words_of(event: Event) -> str:
    """An entry in a few words, e.g. ``time 43 s``."""
    value = "" if event.value is None else write(event.value, event.unit)
    if event.kind == "place" and event.name in _PUT:
        return f"{_PUT[event.name]} {event.text}"
    if event.kind == "hold":
        return f"decided {event.name}{': ' if event.text else ''}{event.text}"
    said = {"set": "", "seen": "seen: ", "measured": "measured: ", "split": "planned otherwise: "}.get(
        event.kind
    )
    head = f"{event.kind} " if said is None else said
    parts = ("" if event.name == event.kind else event.name, value, event.text)
    return (head + " ".join(part for part in parts if part)).strip()


def _append(
    bench: Bench, tap: Tap, number: str, events: tuple[Event, ...], there: tuple[Event, ...]
) -> Entered:
    """Write it down; ``there`` is what was read a moment ago, and read anew only where somebody wrote since."""
    seen = None if all(each.kind in _BESIDE for each in events) else tap.seen
    for _ in range(_TRIES):
        if {each.id for each in events} <= {each.id for each in there}:
            return _kept("already there", tap, number, events, there)
        if seen is not None:
            newer = tuple(each for each in there[seen:] if each.step == number)
            hidden = tuple(each for each in newer if _touches(each, events))
            if hidden and not (tap.choice == "mine" and position_of(there, number) == tap.seen):
                return _conflict(tap, number, events, hidden, there)
            seen = position_of(there, number)
        wanted = _corrections(events, there, number) if tap.choice == "mine" else events
        try:
            bench.store.append(wanted, seen=None if seen is None else {(tap.lot, number): seen})
        except Conflict:
            there = bench.written(tap.lot)
            continue  # somebody wrote between the look and the entry: look again
        return _kept("kept", tap, number, wanted, bench.written(tap.lot))
    raise BadInput(
        Problem(what="the entry", expected="written", got="many other entries of the same step at this moment",
                why="nothing is written over somebody else's", remedy="tap again")
    )  # fmt: skip


def _touches(newer: Event, events: tuple[Event, ...]) -> bool:
    """Whether somebody else's entry is about what this tap decides."""
    if newer.kind in _BESIDE:
        return False
    return any(not newer.wafer or not each.wafer or newer.wafer == each.wafer for each in events)


def _corrections(events: tuple[Event, ...], there: tuple[Event, ...], number: str) -> tuple[Event, ...]:
    """The entries as corrections of those that say the same of the same wafer."""
    last = {
        (each.kind, each.name, each.wafer): each.id
        for each in there
        if each.step == number and not each.about
    }
    return tuple(
        each if each.about else replace(each, about=last.get((each.kind, each.name, each.wafer), ""))
        for each in events
    )


def _kept(
    state: State, tap: Tap, number: str, events: tuple[Event, ...], there: tuple[Event, ...]
) -> Entered:
    mine = {each.id for each in events}
    kept = tuple(each for each in there if each.id in mine)
    own = max((k for k, each in enumerate(there, start=1) if each.id in mine), default=0)
    # Never the newest of all: whoever wrote since the page was made, beside this tap or after it, has not been seen yet.
    before = there[tap.seen : own - 1] if tap.seen is not None else ()
    strange = any(each.step == number and each.kind not in _BESIDE and each.id not in mine for each in before)
    position = (
        tap.seen if strange and tap.seen is not None and all(e.kind in _BESIDE for e in events) else own
    )
    written = max((each.written for each in kept), default="")
    return Entered(
        state=state, id=tap.id, said="saved on the server", position=position, kept=written, events=kept
    )


def _conflict(
    tap: Tap, number: str, events: tuple[Event, ...], hidden: tuple[Event, ...], there: tuple[Event, ...]
) -> Entered:
    newer = tuple(
        Newer(who=each.who or "someone else", what=_DID.get(each.kind, words_of(each)) if each.value is None
              else words_of(each), happened=each.happened, wafer=each.wafer)
        for each in hidden
    )  # fmt: skip
    telling = next((each for each in reversed(hidden) if each.kind in {"finish", "skip", "hold"}), hidden[-1])
    who = telling.who if telling.who and telling.who != tap.who else "someone else"
    clock = datetime.fromisoformat(telling.happened)
    said = f"{who} {_DID.get(telling.kind, 'wrote about this step')} at {clock:%H:%M}"
    return Entered(
        state="conflict", id=tap.id, said=said, position=position_of(there, number), newer=newer,
        mine=tuple(map(words_of, events)),
    )  # fmt: skip
