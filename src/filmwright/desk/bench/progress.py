"""How far each wafer of a lot has come: a projection of what was written down, without any emulation."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from filmwright.flow import Step
from filmwright.record import Event

State = Literal[
    "waiting", "ready", "running", "held", "done", "skipped", "rework", "scrapped", "away"
]  # fmt: skip
"""Of a wafer at a step. ``rework``: it is to be gone through again; ``away``: the wafer is in another lot then."""


@dataclass(frozen=True, kw_only=True)
class Visit:
    """One time that a wafer went through a step.

    Attributes
    ----------
    started, finished : str
        ISO times; empty where nothing was written.
    who : str
        Who finished it, else who began it.
    why : str
        Reason of a repeat or a rework; empty for the first visit.
    settings, seen, measured : mapping from name to Event
        What was dialled in, seen and measured, each with value, unit and words.
    """

    started: str = ""
    finished: str = ""
    who: str = ""
    why: str = ""
    settings: Mapping[str, Event] = field(default_factory=dict)
    seen: Mapping[str, Event] = field(default_factory=dict)
    measured: Mapping[str, Event] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Cell:
    """One wafer at one step.

    Attributes
    ----------
    wafer, step : str
    state : State
    visits : tuple of Visit
        Empty where nothing was written; a step that is ``done`` without any was passed over in writing.
    why : str
        Reason of a skip, of a hold or of going back.
    decision : Event or None
        The last decision at its hold point.
    planned : mapping from setting to Event
        Planned values that only this wafer has here (a split).
    """

    wafer: str
    step: str
    state: State
    visits: tuple[Visit, ...] = ()
    why: str = ""
    decision: Event | None = None
    planned: Mapping[str, Event] = field(default_factory=dict)

    @property
    def started(self) -> str:
        """When it was last begun."""
        return self.visits[-1].started if self.visits else ""

    @property
    def finished(self) -> str:
        """When it was last finished."""
        return self.visits[-1].finished if self.visits else ""

    @property
    def who(self) -> str:
        """Who did it last."""
        return self.visits[-1].who if self.visits else ""


@dataclass(frozen=True, kw_only=True)
class Piece:
    """A wafer, or a piece that was cleaved off one.

    Attributes
    ----------
    name : str
        ``W1``; a piece of it ``W1.a``.
    parent : str
        Wafer or piece that it was cut from; empty for a wafer.
    ancestry : tuple of str
        From the wafer down to the parent.
    children : tuple of str
    cut : Event or None
        The cut that made it.
    came_from, went_to : str
        Lots; empty where it began here, or is here.
    entered : tuple of Event
        Entries with which it, or what it was cut from, came from another lot: ``name`` is that lot, ``step`` where it goes on here.
    standing : 'present', 'away' or 'scrapped'
    location, carrier, orientation : str
        As last written.
    variant : str
        Of the wafer as a whole.
    next : str
        Number of the step to do next; empty when none is left.
    running : str
        Number of the step that runs; empty when none does.
    last : Event or None
        The last entry about it.
    """

    name: str
    parent: str = ""
    ancestry: tuple[str, ...] = ()
    children: tuple[str, ...] = ()
    cut: Event | None = None
    came_from: str = ""
    went_to: str = ""
    entered: tuple[Event, ...] = ()
    standing: Literal["present", "away", "scrapped"] = "present"
    location: str = ""
    carrier: str = ""
    orientation: str = ""
    variant: str = ""
    next: str = ""
    running: str = ""
    last: Event | None = None


@dataclass(frozen=True, kw_only=True)
class OpenHold:
    """A hold point at which nobody has decided yet.

    Attributes
    ----------
    wafer, step : str
    look : str
        What to look at.
    since : str
        ISO time.
    before : str
        Number of the next step that cannot be taken back; empty when none follows.
    """

    wafer: str
    step: str
    look: str
    since: str = ""
    before: str = ""


@dataclass(frozen=True, kw_only=True)
class Timer:
    """A clock that was started and whose step has not been finished.

    Attributes
    ----------
    id : str
        Of its entry.
    wafer, step, name : str
    started, ends : str
        ISO times.
    seconds : float [s]
    who : str
    """

    id: str
    wafer: str
    step: str
    name: str
    started: str
    ends: str
    seconds: float
    who: str = ""


@dataclass(frozen=True, kw_only=True)
class Split:
    """What a variant means at a step.

    Attributes
    ----------
    step : str
        Empty for a variant of the wafers as a whole.
    variant : str
    wafers : tuple of str
    planned : mapping from setting to Event
    """

    step: str
    variant: str
    wafers: tuple[str, ...]
    planned: Mapping[str, Event] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class FlowVersion:
    """One version of the flow of a lot, the first being that with which it was started.

    Attributes
    ----------
    number : int
        From 1.
    digest : str
    why, who, happened : str
    """

    number: int
    digest: str
    why: str = ""
    who: str = ""
    happened: str = ""


@dataclass(frozen=True, kw_only=True)
class Acknowledged:
    """A finding, a wait or a hold point that a person accepted for a reason.

    Attributes
    ----------
    name : str
    step, wafer : str
    why, who, happened : str
    """

    name: str
    step: str = ""
    wafer: str = ""
    why: str = ""
    who: str = ""
    happened: str = ""


@dataclass(frozen=True, kw_only=True)
class Progress:
    """How far a lot has come.

    Attributes
    ----------
    lot : str
    steps : tuple of Step
        Of the newest flow.
    pieces : tuple of Piece
        Wafers in their order, each followed by its pieces.
    states : mapping from piece to tuple of State
        One state per step.
    visits : mapping from (piece, step number) to tuple of Visit
    whys : mapping from (piece, step number) to str
    decisions : mapping from (piece, step number) to Event
    planned : mapping from (piece, step number) to mapping from setting to Event
    holds : tuple of OpenHold
    timers : tuple of Timer
    splits : tuple of Split
    acknowledged : tuple of Acknowledged
    holder : str
        Whom the lot was handed to last; empty where it never was.
    last : Event or None
        The last entry that holds.
    """

    lot: str
    steps: tuple[Step, ...]
    pieces: tuple[Piece, ...]
    states: Mapping[str, tuple[State, ...]]
    visits: Mapping[tuple[str, str], tuple[Visit, ...]] = field(default_factory=dict)
    whys: Mapping[tuple[str, str], str] = field(default_factory=dict)
    decisions: Mapping[tuple[str, str], Event] = field(default_factory=dict)
    planned: Mapping[tuple[str, str], Mapping[str, Event]] = field(default_factory=dict)
    holds: tuple[OpenHold, ...] = ()
    timers: tuple[Timer, ...] = ()
    splits: tuple[Split, ...] = ()
    acknowledged: tuple[Acknowledged, ...] = ()
    holder: str = ""
    last: Event | None = None

    def piece(self, name: str) -> Piece:
        """One wafer or piece by its name; KeyError when there is none."""
        for each in self.pieces:
            if each.name == name:
                return each
        raise KeyError(name)

    def cell(self, wafer: str, step: str) -> Cell:
        """One wafer at one step; KeyError when there is no such step or wafer."""
        states = self.states[wafer]
        k = next((k for k, each in enumerate(self.steps) if each.number == step), None)
        if k is None:
            raise KeyError(step)
        key = (wafer, step)
        return Cell(
            wafer=wafer,
            step=step,
            state=states[k],
            visits=self.visits.get(key, ()),
            why=self.whys.get(key, ""),
            decision=self.decisions.get(key),
            planned=self.planned.get(key, {}),
        )

    @property
    def present(self) -> tuple[Piece, ...]:
        """Wafers and pieces that are in the lot and not scrapped."""
        return tuple(each for each in self.pieces if each.standing == "present")

    def elsewhere(self, wafer: str, k: int) -> str:
        """The lot in which a wafer is, or was, at a step at which it is ``away``; empty at the others."""
        if self.states[wafer][k] != "away":
            return ""
        piece = self.piece(wafer)
        places = {step.number: place for place, step in enumerate(self.steps)}
        came = [each.name for each in piece.entered if k < places.get(each.step, 0)]
        return came[0] if came else piece.went_to

    @property
    def next(self) -> str:
        """Number of the earliest step that any wafer has to do next; empty when none is left."""
        wanted = {each.running or each.next for each in self.present} - {""}
        return next((step.number for step in self.steps if step.number in wanted), "")

    @property
    def finished(self) -> bool:
        """Whether no wafer that is here has a step left."""
        return all(not each.next and not each.running for each in self.present)
