"""One open record for many questions: its lots, their flows parsed once, their entries read once."""

from __future__ import annotations

import datetime
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any

from filmwright.desk.bench.ends import RULES, Ended, ended
from filmwright.desk.bench.following import progress_of
from filmwright.desk.bench.pieces import past_of_entered
from filmwright.desk.bench.progress import FlowVersion, Progress
from filmwright.desk.bench.settled import settled
from filmwright.desk.bench.shelf import Shelf
from filmwright.desk.bench.waits import HeldWait, waits_held
from filmwright.desk.files import Work, record_place, today
from filmwright.desk.logbooks import Books, with_books
from filmwright.desk.lots import work_of
from filmwright.desk.uses import uses_of
from filmwright.errors import BadInput, OutOfReach, Problem
from filmwright.flow import Flow, flow_from_text, lab_from_text
from filmwright.knowledge import Lab
from filmwright.record import Event, Going, Lot, Store

if TYPE_CHECKING:
    from filmwright.desk.bench.answering import Answers
    from filmwright.desk.bench.emulation import Emulation
    from filmwright.desk.bench.live_review import LiveReview
    from filmwright.desk.bench.measured_lots import MeasuredLots


_ENDS_AT_ONCE = 100


@dataclass
class _Kept:
    """What is known of one lot."""

    written: tuple[Event, ...] = ()
    settled: tuple[Event, ...] = ()
    flow_digest: str = ""
    progress: Progress | None = None
    sources: tuple[tuple[str, int], ...] = ()


@dataclass
class Moment:
    """What one answer has asked the record already.

    Attributes
    ----------
    heads : dict of str to int, or None
        Where every lot stands; None while nobody asked.
    going : Going or None
        Which lots may have steps left; None while nobody asked.
    lots : set of str
        That were read to their ends.
    shelf : bool
        Whether the logbooks were.
    lines : int or None
        How many lines the logbooks have; None while nobody asked.
    """

    heads: dict[str, int] | None = None
    going: Going | None = None
    lots: set[str] = field(default_factory=set)
    shelf: bool = False
    lines: int | None = None


@dataclass(frozen=True, kw_only=True)
class Unread:
    """A lot whose plan cannot be read; what was written about it is there all the same.

    Attributes
    ----------
    lot : Lot
    problems : tuple of Problem
    """

    lot: Lot
    problems: tuple[Problem, ...]

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {"lot": self.lot.name, "problems": [each.fields() for each in self.problems]}


class Bench:
    """The door to a record for pages and verbs of the bench; safe for several threads.

    Attributes
    ----------
    store : Store
    lab, plans : Path or None
        Lab file and folder of plans that new lots are started from.
    account_free : bool
        Whether it is used alone, without signing in.
    live : LiveReview or None
        Reviews plans while they are written; made at the first one.
    measured : MeasuredLots or None
        Works out what measured files tell; made at the first question.
    place : str, Path or None
        Of the record; None for a store that was given.
    emulation : Emulation, Answers or None
        Works wafers out, beside the pages after :meth:`emulate`, or here where that may be waited for.
    shelf : Shelf
        The logbooks of tools and baths.
    """

    def __init__(
        self,
        store: Store,
        *,
        lab: Path | None = None,
        plans: Path | None = None,
        account_free: bool = True,
    ) -> None:
        self.store = store
        self.lab = lab
        self.plans = plans
        self.account_free = account_free
        self.live: LiveReview | None = None
        self.measured: MeasuredLots | None = None
        self.place: str | Path | None = None
        self.emulation: Emulation | Answers | None = None
        self._lock = threading.RLock()
        self._lots: dict[str, Lot] = {}
        self._kept: dict[str, _Kept] = {}
        self._flows: dict[tuple[str, str], Flow] = {}
        self._unreadable: dict[tuple[str, str], tuple[Problem, ...]] = {}
        self._works: dict[tuple[str, str], tuple[Books, Work]] = {}
        self._bases: dict[str, Work] = {}
        self.shelf = Shelf(self)
        self._look = threading.local()
        self._labs: dict[str, Lab] = {}
        self._waits: dict[tuple[str, str], tuple[HeldWait, ...]] = {}
        self._ends: dict[str, int] = {}

    @classmethod
    def open(
        cls,
        record: str | Path | None = None,
        *,
        create: bool = False,
        lab: Path | None = None,
        plans: Path | None = None,
        account_free: bool = True,
    ) -> Bench:
        """Open a record.

        Parameters
        ----------
        record : str, Path or None
            None for the one that ``FILMWRIGHT_RECORD`` names, else ``record.sqlite`` in the current folder.
        create : bool
            Make a new record where there is none.
        lab, plans : Path or None
        account_free : bool
        """
        place = record_place(record)
        store = Store.open(place, create=create)
        bench = cls(store, lab=lab, plans=plans, account_free=account_free)
        bench.place = place
        return bench

    def emulate(self) -> Emulation | Answers:
        """Have wafers worked out by a process of their own, which starts with the first question."""
        from filmwright.desk.bench.emulation import Emulation

        with self._lock:
            if self.emulation is None:
                if self.place is None:
                    raise ValueError("a bench over a store that was given has no place for a worker to open")
                self.emulation = Emulation(self.place, self.stamp)
            return self.emulation

    def close(self) -> None:
        """Let go of the record, and of the processes that review plans and work wafers out."""
        if self.emulation is not None:
            self.emulation.close()
        if self.live is not None:
            self.live.close()
        if self.measured is not None:
            self.measured.close()
        self.store.close()

    def __enter__(self) -> Bench:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, trouble: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def heads(self) -> dict[str, int]:
        """For each lot, in the order of their starts, the position of its last entry."""
        moment = self.moment
        if moment is None:
            return dict(self.store.heads())
        if moment.heads is None:
            moment.heads = dict(self.store.heads())
        return dict(moment.heads)

    def going_now(self) -> Going:
        """The lots that may have steps left with their ends, and how many lots there are."""
        moment = self.moment
        if moment is None:
            return self.store.going(RULES)
        if moment.going is None:
            moment.going = self.store.going(RULES)
        return moment.going

    def has(self, lot: str) -> bool:
        """Whether there is a lot of this name."""
        with suppress(BadInput):
            return bool(self.lot(lot))
        return False

    def lots(self) -> tuple[Lot, ...]:
        """All lots in the order in which they were started."""
        return tuple(self.lot(name) for name in self.heads())

    def lot(self, name: str) -> Lot:
        """One lot; BadInput when there is none of this name. A lot never changes, so it is read once."""
        with self._lock:
            found = self._lots.get(name)
            if found is None:
                found = self._lots[name] = self.store.lot(name)
            return found

    def written(self, lot: str) -> tuple[Event, ...]:
        """Every entry of a lot in the order of writing; its place counted from 1 is its position."""
        return self._read(lot).written

    def events(self, lot: str) -> tuple[Event, ...]:
        """The entries that hold: corrected ones in place, withdrawn ones left out."""
        return self._read(lot).settled

    def head(self, lot: str) -> int:
        """Position of the last entry; 0 when there is none."""
        return len(self._read(lot).written)

    def stamp(self, lot: str) -> tuple[int, ...]:
        """Everything that an emulation follows from: entries, lines of logbooks, the day, entries of lots that wafers came from."""
        day = datetime.date.fromisoformat(today()).toordinal()
        self.progress(lot)
        return (self.head(lot), self.shelf.heads(), day, *(head for _, head in self._kept[lot].sources))

    def seen(self, lot: str, step: str) -> int:
        """Position of the last entry of a step; 0 when there is none. Sent back with an entry, it shows what was seen."""
        written = self._read(lot).written
        return next((k + 1 for k in range(len(written) - 1, -1, -1) if written[k].step == step), 0)

    def progress(self, lot: str) -> Progress:
        """How far a lot has come."""
        with self._lock:
            kept = self._read(lot)
            if kept.progress is None or any(self.head(name) != head for name, head in kept.sources):
                held = self.lot(lot)
                entered = {each.name for each in kept.settled if each.kind == "enter" and self.has(each.name)}
                past = past_of_entered(self, lot) if entered else None
                kept.progress = progress_of(lot, self.flow(lot).steps, kept.settled, held.wafers, past)
                kept.sources = tuple((name, self.head(name)) for name in sorted(entered))
            return kept.progress

    def versions(self, lot: str) -> tuple[FlowVersion, ...]:
        """All versions of the flow, the first being that of the start."""
        held = self.lot(lot)
        first = FlowVersion(number=1, digest=held.flow_digest, happened=held.started)
        later = [each for each in self.events(lot) if each.kind == "flow"]
        return (
            first,
            *(
                FlowVersion(number=k, digest=each.sha256, why=each.text, who=each.who, happened=each.happened)
                for k, each in enumerate(later, start=2)
            ),
        )

    def flow_text(self, lot: str, digest: str = "") -> str:
        """The text of a version of the flow; of the newest when none is named."""
        held = self.lot(lot)
        wanted = digest or self._read(lot).flow_digest
        return held.flow_text if wanted == held.flow_digest else self.store.raw(wanted).decode("utf-8")

    def plain_text(self, lot: str) -> str:
        """The newest text of the flow, or that of the start where the newest is not kept or is no text."""
        try:
            return self.flow_text(lot)
        except (BadInput, UnicodeDecodeError):
            return self.lot(lot).flow_text

    def flow(self, lot: str, digest: str = "") -> Flow:
        """A version of the flow, the newest when none is named; parsed once."""
        with self._lock:
            wanted = digest or self._read(lot).flow_digest
            held = self.lot(lot)
            key = (wanted, held.lab_digest)
            found = self._flows.get(key)
            if found is None:
                if key in self._unreadable:
                    raise BadInput(*self._unreadable[key])
                # Lots of one plan share what was read of it: a thousand of them are not read a thousand times.
                text = self.flow_text(lot, wanted)
                try:
                    found = flow_from_text(text, f"plan of lot {lot}", self.lab_of(lot))
                except OutOfReach:
                    raise
                except BadInput as bad:
                    self._unreadable[key] = bad.problems
                    raise
                self._flows[key] = found
            return found

    def trouble(self, lot: str) -> tuple[Problem, ...]:
        """What keeps the newest plan of a lot from being read, such as a word of an older grammar; nothing where it reads."""
        try:
            self.flow(lot)
        except OutOfReach:
            raise
        except BadInput as bad:
            return bad.problems
        return ()

    def unread(self) -> tuple[Unread, ...]:
        """Lots under way whose plan cannot be read, in the order of their starts; all others are told without them."""
        with self.looking():
            found = ((self.lot(name), self.trouble(name)) for name in self.going_now().heads)
            return tuple(Unread(lot=lot, problems=problems) for lot, problems in found if problems)

    def lab_of(self, lot: str) -> Lab:
        """The lab file as frozen with a lot."""
        with self._lock:
            held = self.lot(lot)
            found = self._labs.get(held.lab_digest)
            if found is None:
                found = lab_from_text(held.lab_text, "lab.yaml") if held.lab_text else Lab(name="no lab file")
                self._labs[held.lab_digest] = found
            return found

    def waits_held(self, lot: str) -> tuple[HeldWait, ...]:
        """The longest waits between the steps of a lot's newest flow."""
        with self._lock:
            key = (self._read(lot).flow_digest, self.lot(lot).lab_digest)
            found = self._waits.get(key)
            if found is None:
                found = self._waits[key] = waits_held(self.flow(lot).steps, self.lab_of(lot))
            return found

    def going(self) -> tuple[Progress, ...]:
        """How far the lots have come that are not finished and whose plan can be read, in the order of their starts.

        A lot that is found finished is written down as ended; after that it is not read again until somebody writes to it.
        """
        with self.looking():
            found, ends = [], []
            for name, head in self.going_now().heads.items():
                if self.trouble(name):
                    continue
                progress = self.progress(name)
                if not progress.finished:
                    found.append(progress)
                elif self._ends.get(name) != head and not self._kept[name].sources:
                    ends.append(self._ended(progress))
        self._keep(ends)
        return tuple(found)

    def _ended(self, progress: Progress) -> Ended:
        """What a finished lot came to. One with wafers of another lot has none: a correction there may change it."""
        with self._lock:
            kept, flow, held = self._kept[progress.lot], self.flow(progress.lot), self.lot(progress.lot)
            uses = uses_of(held.name, flow.steps, kept.settled, held.wafers, self.lab_of(held.name))
            return ended(progress, len(kept.written), flow.title, uses)

    def _keep(self, ends: list[Ended]) -> None:
        """A record that is busy or read-only is none the worse for it: the lots are read again in the next process."""
        for start in range(0, len(ends), _ENDS_AT_ONCE):
            some = ends[start : start + _ENDS_AT_ONCE]
            with suppress(BadInput):
                self.store.keep_endings([each.ending() for each in some])
            self._ends.update({each.lot: each.head for each in some})

    @contextmanager
    def looking(self) -> Iterator[None]:
        """Ask the record once for each thing that is looked at; what this thread writes meanwhile is not seen by it."""
        before = self.moment
        self._look.moment = before or Moment()
        try:
            yield
        finally:
            self._look.moment = before

    @property
    def moment(self) -> Moment | None:
        """What this thread has asked already; None where it asks every time anew."""
        found: Moment | None = getattr(self._look, "moment", None)
        return found

    def work(self, lot: str) -> Work:
        """The newest flow with lab file and drawing as frozen, what had been accepted when the lot began, and the logbooks as of now."""
        with self._lock:
            wanted = self._read(lot).flow_digest
            books = self.books()
            kept = self._works.get((lot, wanted))
            if kept is None or kept[0] is not books:
                base = self._bases.get(lot)
                if base is None:
                    # Drawing and lab file are read once, however often a tool's logbook grows.
                    base = self._bases[lot] = work_of(self.store, self.lot(lot), Books())
                found = replace(base, flow=self.flow(lot), lab=with_books(base.lab, books))
                self._works[lot, wanted] = kept = (books, found)
            return kept[1]

    def books(self) -> Books:
        """Logbooks of tools and baths, and what lots used; the same object while nothing is new."""
        return self.shelf.books()

    def lab_now(self) -> Lab:
        """The lab file as the logbooks make it today."""
        return self.shelf.lab()

    def _read(self, lot: str) -> _Kept:
        """Read what was written since the last look."""
        with self._lock:
            held = self.lot(lot)
            kept = self._kept.setdefault(lot, _Kept(flow_digest=held.flow_digest))
            moment = self.moment
            if moment is not None:
                known = moment.going.heads.get(lot) if moment.going is not None else None
                if known is None and moment.heads is not None:
                    known = moment.heads.get(lot)
                if lot in moment.lots or (known is not None and len(kept.written) >= known):
                    return kept
            new = self.store.events(lot, after=len(kept.written))
            if moment is not None:
                moment.lots.add(lot)
            if new:
                kept.written = (*kept.written, *new)
                kept.settled = settled(kept.written)
                kept.progress = None
                kept.flow_digest = next(
                    (each.sha256 for each in reversed(kept.settled) if each.kind == "flow"),
                    held.flow_digest,
                )
            return kept
