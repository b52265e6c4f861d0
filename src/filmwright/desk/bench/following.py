"""From entries to states: what each entry means for each wafer."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from filmwright.desk.bench.holds import HOLD_POINT, back_to, irreversible, next_irreversible
from filmwright.desk.bench.progress import (
    Acknowledged,
    OpenHold,
    Piece,
    Progress,
    Split,
    State,
    Timer,
    Visit,
)
from filmwright.desk.bench.settled import in_time
from filmwright.flow import Step, Ways
from filmwright.record import Event

_REWORK, _SCRAP = "rework", "scrap"
_AT_STEP = frozenset({"start", "finish", "set", "seen", "measured", "repeat", "rework", "skip", "hold"})


def progress_of(
    lot: str,
    steps: Iterable[Step],
    events: Iterable[Event],
    wafers: Iterable[str],
    past: Mapping[str, Iterable[Event]] | None = None,
) -> Progress:
    """How far each wafer has come.

    Parameters
    ----------
    lot : str
    steps : iterable of Step
        Of the newest flow.
    events : iterable of Event
        Settled, in the order of writing.
    wafers : iterable of str
        With which the lot was started.
    past : mapping from id to events, or None
        For entries with which wafers entered, what was done to them in another lot by the same steps.
    """
    told = _Lot(tuple(steps), past=past or {})
    for wafer in wafers:
        told.lives[wafer] = _Life(name=wafer, steps=told.steps)
    written = tuple(events)
    for event in in_time(written):
        told.take(event)
    told.last = written[-1] if written else None
    return told.progress(lot)


@dataclass
class _Going:
    """A visit that is still being told."""

    new: bool = True
    started: str = ""
    finished: str = ""
    who: str = ""
    why: str = ""
    settings: dict[str, Event] = field(default_factory=dict)
    seen: dict[str, Event] = field(default_factory=dict)
    measured: dict[str, Event] = field(default_factory=dict)

    def hear(self, event: Event) -> None:
        """One entry that belongs to it."""
        self.who = event.who or self.who
        if event.kind == "start":
            self.started = self.started or event.happened
        elif event.kind == "finish":
            self.finished = event.happened
        elif event.kind == "hold":
            self.finished = self.finished or event.happened
        elif event.kind == "repeat":
            self.why = event.text
        else:
            told = {"set": self.settings, "seen": self.seen, "measured": self.measured}[event.kind]
            told[event.name] = event

    def copied(self) -> _Going:
        """The same visit of a piece that was cut off; what is told later of one is not told of the other."""
        return replace(self, settings=dict(self.settings), seen=dict(self.seen), measured=dict(self.measured))

    def told(self) -> Visit:
        """As it stands."""
        return Visit(
            started=self.started,
            finished=self.finished,
            who=self.who,
            why=self.why,
            settings=self.settings,
            seen=self.seen,
            measured=self.measured,
        )


@dataclass
class _Life:
    """One wafer or piece while its entries are read."""

    name: str
    steps: Sequence[Step]
    parent: str = ""
    cut: Event | None = None
    came_from: str = ""
    went_to: str = ""
    entered: list[Event] = field(default_factory=list)
    scrapped: bool = False
    children: list[str] = field(default_factory=list)
    ways: Ways[_Going] = field(default_factory=lambda: Ways(_Going))
    elsewhere: set[int] = field(default_factory=set)
    decided: dict[int, Event] = field(default_factory=dict)
    whys: dict[int, str] = field(default_factory=dict)
    backs: dict[int, str] = field(default_factory=dict)
    planned: dict[int, dict[str, Event]] = field(default_factory=dict)
    places: dict[str, str] = field(default_factory=dict)
    variant: str = ""
    last: Event | None = None

    @property
    def here(self) -> bool:
        """Whether it is in the lot and not scrapped."""
        return not (self.scrapped or self.went_to)

    def cleaved(self, event: Event) -> _Life:
        """A piece of it: same stack, class and history up to the cut."""
        self.children.append(event.name)
        return replace(
            self,
            name=event.name,
            parent=self.name,
            cut=event,
            children=[],
            entered=list(self.entered),
            ways=self.ways.copy(_Going.copied),
            elsewhere=set(self.elsewhere),
            decided=dict(self.decided),
            whys=dict(self.whys),
            backs=dict(self.backs),
            planned={k: dict(each) for k, each in self.planned.items()},
            places=dict(self.places),
        )

    def at_step(self, k: int, event: Event) -> None:
        """One entry about a step; which visit it belongs to is the rule of the ways."""
        going = self.ways.hear(event.kind, k, event.name)
        if going is not None:
            if going.new:
                going.new = False
                self.decided.pop(k, None)
                self.whys.pop(k, None)
                going.why = self.backs.pop(k, "")
            going.hear(event)
        if event.kind == "skip":
            self.whys[k] = event.text
        elif event.kind == "rework":
            self._back(k, event)
        elif event.kind == "hold":
            self._decide(k, event)

    def enter(self, first: int) -> None:
        """It goes on with a step here; what comes before and is not told of was done in another lot."""
        for k in range(first):
            if not self.ways.told(k):
                self.elsewhere.add(k)
                self.ways.hear("skip", k)

    def _decide(self, k: int, event: Event) -> None:
        """At a hold point: go on, go back, or no further."""
        self.decided[k] = event
        self.whys[k] = event.text
        if event.name == _REWORK:
            first = back_to(self.steps, k)
            self.ways.hear("rework", first)
            self._back(first, event)
        elif event.name == _SCRAP:
            self.scrapped = True

    def _back(self, k: int, event: Event) -> None:
        """The reason of going back is shown until the step is begun again, and with that visit."""
        self.whys[k] = self.backs[k] = event.text

    @property
    def passed(self) -> int:
        """Place of the last step that was begun on the way that is gone now; what was begun before it runs no longer."""
        return self.ways.newest.last


@dataclass
class _Lot:
    """All wafers of a lot while its entries are read."""

    steps: tuple[Step, ...]
    past: Mapping[str, Iterable[Event]] = field(default_factory=dict)
    lives: dict[str, _Life] = field(default_factory=dict)
    timers: dict[str, Event] = field(default_factory=dict)
    acknowledged: list[Acknowledged] = field(default_factory=list)
    holder: str = ""
    last: Event | None = None

    def __post_init__(self) -> None:
        self.places = {step.number: k for k, step in enumerate(self.steps)}
        self.of_lot: Mapping[str, Callable[[Event], None]] = {
            "acknowledge": self._acknowledge,
            "timer": self._timer,
            "handover": self._hand,
            "enter": self._enter,
        }
        self.of_wafer: Mapping[str, Callable[[_Life, Event], None]] = {
            "place": self._place,
            "split": self._split,
            "cleave": self._cleave,
            "leave": self._leave,
        }

    def take(self, event: Event) -> None:
        """One entry."""
        if event.kind in self.of_lot:
            self.of_lot[event.kind](event)
        lives = self._meant(event)
        for life in lives:
            life.last = event
        if event.kind in self.of_wafer:
            for life in lives:
                self.of_wafer[event.kind](life, event)
        elif event.kind in _AT_STEP:
            self._at_step(event, lives)

    def _at_step(self, event: Event, lives: Sequence[_Life]) -> None:
        k = self.places.get(event.step)
        if k is None:
            if event.kind == "hold" and event.name == _SCRAP:
                for life in lives:
                    life.scrapped = True
            return
        for life in lives:
            life.at_step(k, event)
        if event.kind in {"finish", "skip"}:
            self._stop_timers(event)

    def _meant(self, event: Event) -> tuple[_Life, ...]:
        """An entry of no wafer is for all that are then in the lot."""
        if event.wafer:
            life = self.lives.get(event.wafer)
            return (life,) if life is not None else ()
        return tuple(life for life in self.lives.values() if life.here)

    def _stop_timers(self, event: Event) -> None:
        over = [
            key
            for key, timer in self.timers.items()
            if timer.step == event.step and (not event.wafer or event.wafer == timer.wafer)
        ]
        for key in over:
            del self.timers[key]

    def _acknowledge(self, event: Event) -> None:
        self.acknowledged.append(
            Acknowledged(
                name=event.name,
                step=event.step,
                wafer=event.wafer,
                why=event.text,
                who=event.who,
                happened=event.happened,
            )
        )

        k = self.places.get(event.step)
        if event.name == HOLD_POINT and k is not None:
            for life in self._meant(event):
                life.decided[k] = event

    def _timer(self, event: Event) -> None:
        if event.value is not None:
            self.timers[event.id] = event

    def _hand(self, event: Event) -> None:
        self.holder = event.name

    def _enter(self, event: Event) -> None:
        life = self.lives.get(event.wafer)
        if life is None and event.wafer:
            life = self.lives[event.wafer] = _Life(name=event.wafer, steps=self.steps)
            life.came_from = event.name
        elif life is not None and not life.went_to:
            life.came_from = event.name
        if life is not None:
            life.entered.append(event)
            life.went_to = ""
            for each in self.past.get(event.id, ()):
                k = self.places.get(each.step)
                if k is not None and each.kind in _AT_STEP:
                    life.at_step(k, each)
            life.enter(self.places.get(event.step, 0))

    def _place(self, life: _Life, event: Event) -> None:
        life.places[event.name] = event.text

    def _split(self, life: _Life, event: Event) -> None:
        k = self.places.get(event.step)
        if k is None:
            life.variant = event.text
        else:
            life.planned.setdefault(k, {})[event.name] = event

    def _cleave(self, life: _Life, event: Event) -> None:
        if event.name not in self.lives:
            self.lives[event.name] = life.cleaved(event)

    def _leave(self, life: _Life, event: Event) -> None:
        life.went_to = event.name

    def progress(self, lot: str) -> Progress:
        """What it comes to."""
        looked = [(life, *_states(life)) for life in self._in_order()]
        pieces = tuple(self._piece(life, states) for life, states, _ in looked)
        numbers = [step.number for step in self.steps]
        lives = [life for life, _, _ in looked]
        return Progress(
            lot=lot,
            steps=self.steps,
            pieces=pieces,
            states={life.name: states for life, states, _ in looked},
            visits={
                (life.name, number): tuple(each.told() for each in visits)
                for life in lives
                for k, number in enumerate(numbers)
                if (visits := life.ways.told(k))
            },
            whys={(life.name, numbers[k]): why for life in lives for k, why in life.whys.items() if why},
            decisions={(life.name, numbers[k]): each for life in lives for k, each in life.decided.items()},
            planned={(life.name, numbers[k]): each for life in lives for k, each in life.planned.items()},
            holds=tuple(hold for _, _, holds in looked for hold in holds),
            timers=tuple(_timer(each) for each in self.timers.values()),
            splits=_splits(self.steps, lives),
            acknowledged=tuple(self.acknowledged),
            holder=self.holder,
            last=self.last,
        )

    def _in_order(self) -> list[_Life]:
        """Wafers in their order, each followed by its pieces."""
        found: list[_Life] = []

        def add(life: _Life) -> None:
            found.append(life)
            for name in life.children:
                if self.lives[name].parent == life.name:
                    add(self.lives[name])

        for life in self.lives.values():
            if not life.parent:
                add(life)
        return found

    def _piece(self, life: _Life, states: tuple[State, ...]) -> Piece:
        ancestry: list[str] = []
        parent = life.parent
        while parent:
            ancestry.insert(0, parent)
            parent = self.lives[parent].parent
        running = max((k for k, state in enumerate(states) if state == "running"), default=None)
        ahead = next((k for k, state in enumerate(states) if state in {"ready", "rework", "waiting"}), None)
        open_steps = life.here
        return Piece(
            name=life.name,
            parent=life.parent,
            ancestry=tuple(ancestry),
            children=tuple(life.children),
            cut=life.cut,
            came_from=life.came_from,
            went_to=life.went_to,
            entered=tuple(life.entered),
            standing="scrapped" if life.scrapped else "away" if life.went_to else "present",
            location=life.places.get("location", ""),
            carrier=life.places.get("carrier", ""),
            orientation=life.places.get("orientation", ""),
            variant=life.variant,
            next=self.steps[ahead].number if ahead is not None and open_steps else "",
            running=self.steps[running].number if running is not None and open_steps else "",
            last=life.last,
        )


def _states(life: _Life) -> tuple[tuple[State, ...], tuple[OpenHold, ...]]:
    """One state per step, and the hold points at which nobody has decided."""
    states: list[State] = [_state(life, k) for k in range(len(life.steps))]
    holds = _open_holds(life, states)
    for hold in holds:
        states[hold] = "held"
    if life.here:
        first = next((k for k, state in enumerate(states) if state == "waiting"), None)
        blocked = first is None or (holds and irreversible(life.steps[first])) or "rework" in states
        if first is not None and not blocked and "running" not in states:
            states[first] = "ready"
    else:
        gone: State = "scrapped" if life.scrapped else "away"
        states = [state if state in {"done", "skipped"} else gone for state in states]
    look = tuple(
        OpenHold(
            wafer=life.name,
            step=life.steps[k].number,
            look=life.steps[k].hold,
            since=_since(life, k),
            before=life.steps[after].number
            if (after := next_irreversible(life.steps, k)) is not None
            else "",
        )
        for k in holds
        if life.here
    )
    return tuple(states), look


def _since(life: _Life, k: int) -> str:
    visits = life.ways.told(k)
    return visits[-1].finished or visits[-1].started if visits else ""


def _state(life: _Life, k: int) -> State:
    ways = life.ways
    if ways.ahead(k):
        return "rework" if ways.done(k) else "waiting"
    if ways.current(k) is not None:
        return "done" if ways.over(k) or k < life.passed else "running"
    if k in life.elsewhere and not ways.told(k):
        return "away"
    return "skipped" if ways.skipped(k) else "done"


def _begun(life: _Life, k: int) -> bool:
    """Whether a start or an end of a step is written; a value that was entered ahead of it begins nothing."""
    going = life.ways.current(k)
    return going is not None and bool(going.started or going.finished)


def _open_holds(life: _Life, states: Sequence[State]) -> list[int]:
    """Hold points that are finished or skipped, not decided, and behind which nothing that cannot be taken back was begun.

    Who leaves out the look has not decided what comes after it.
    """
    found = []
    for k, step in enumerate(life.steps):
        decision = life.decided.get(k)
        stopped = decision is not None and not decision.name
        if not stopped and not (step.hold and states[k] in {"done", "skipped"} and decision is None):
            continue
        after = next_irreversible(life.steps, k)
        if after is None or not _begun(life, after):
            found.append(k)
    return found


def _timer(event: Event) -> Timer:
    seconds = event.value or 0.0
    ends = datetime.datetime.fromisoformat(event.happened) + datetime.timedelta(seconds=seconds)
    return Timer(
        id=event.id,
        wafer=event.wafer,
        step=event.step,
        name=event.name,
        started=event.happened,
        ends=ends.isoformat(timespec="seconds"),
        seconds=seconds,
        who=event.who,
    )


def _splits(steps: Sequence[Step], lives: Sequence[_Life]) -> tuple[Split, ...]:
    """Variants with their wafers, in the order of the steps; those of wafers as a whole first."""
    whole: dict[str, list[str]] = {}
    for life in lives:
        if life.variant:
            whole.setdefault(life.variant, []).append(life.name)
    found = [Split(step="", variant=name, wafers=tuple(wafers)) for name, wafers in whole.items()]
    for k, step in enumerate(steps):
        parted: dict[str, list[_Life]] = {}
        for life in lives:
            for variant in {each.text for each in life.planned.get(k, {}).values()}:
                parted.setdefault(variant, []).append(life)
        found += [
            Split(
                step=step.number,
                variant=variant,
                wafers=tuple(life.name for life in some),
                planned={name: e for name, e in some[0].planned[k].items() if e.text == variant},
            )
            for variant, some in parted.items()
        ]
    return tuple(found)
