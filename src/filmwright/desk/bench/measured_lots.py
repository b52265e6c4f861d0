"""Measured files of lots worked out in a process of its own that gives way to the pages, tells how far it is and can be stopped."""

from __future__ import annotations

import contextlib
import os
import signal
import threading
from collections.abc import Callable, Mapping
from concurrent.futures import CancelledError, Future, ProcessPoolExecutor
from concurrent.futures import TimeoutError as Late
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from filmwright.desk.bench.measured_told import STAGES, Told, comparison, parameters, printed, told_from
from filmwright.errors import BadInput

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

    from filmwright.desk.bench.house import Bench
    from filmwright.desk.explain import Story
    from filmwright.measure import Geometry

_BEHIND = 5
"""How far the process gives way to the pages, in steps of the system's niceness: as far as the one that emulates wafers."""
_Key = tuple[int, int]

_held: dict[tuple[str, str], tuple[Story, Told]] = {}
"""In the process that works it out: the last lot, so that a later stage, or one file more, walks no wafer again."""
_told: list[Connection] = []
"""In that process: where it says what it is at."""


def _begin_beside(connection: Connection | None = None) -> None:
    """Pages and entries come first where there are few cores; an interrupt at the terminal ends it without a word."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    if hasattr(os, "nice"):
        os.nice(_BEHIND)
    if connection is not None:
        _told.append(connection)
        connection.send(os.getpid())


def _say(what: str) -> None:
    with contextlib.suppress(OSError):
        for each in _told:
            each.send(what)


def stage(record: str | Path, lot: str, number: int) -> Told:
    """One stage of a lot; the ones before it were worked out by the same process."""
    from filmwright.desk.explain import gather, with_predicted
    from filmwright.record import Store

    key = (str(record), lot)
    before = _held.get(key)
    if number == 1 or before is None:
        with Store.open(record) as store:
            story = gather(store, lot, predicted=False, before=before[0] if before else None, tell=_say)
        said = parameters(story)
    else:
        story, said = before
    if number >= 2 and said.done < 2:
        _say("the same curves as they were expected")
        story = with_predicted(story)
        _say("where the difference comes from")
        said = comparison(story, said)
    _held.clear()
    _held[key] = (story, said)
    return said


def _figures(record: str | Path, lot: str) -> tuple[tuple[str, str], ...]:
    before = _held.get((str(record), lot))
    if before is None:
        stage(record, lot, 1)
        before = _held[str(record), lot]
    _say("figures for print")
    return printed(before[0])


def _sizes(record: str | Path, lot: str) -> dict[str, Geometry]:
    from filmwright.desk.identity import known_of

    _say("sizes of the drawn devices")
    return dict(known_of(lot, record).sizes)


def _invented(record: str | Path, lot: str, most: int) -> int:
    from filmwright.desk.bench.example import probe_invented

    return probe_invented(record, lot, most, _say)


@dataclass(frozen=True, kw_only=True)
class Doing:
    """What is known now of a lot's measured files.

    Attributes
    ----------
    told : Told or None
        As far as it is worked out.
    what : str
        What is worked out just now; empty when nothing is.
    stopped : bool
        Whether a person stopped it.
    inventing : bool
        Whether curves of an invented lot are still being drawn.
    """

    told: Told | None = None
    what: str = ""
    stopped: bool = False
    inventing: bool = False

    @property
    def working(self) -> bool:
        """Whether more will come by itself."""
        return self.inventing or (not self.stopped and (self.told is None or bool(self.told.waited_for)))


class MeasuredLots:
    """What the measured files of lots tell, each stage worked out once for what is kept of the lot, beside the server.

    Parameters
    ----------
    submit : callable, or None
        Where it is worked out; None starts a process of its own at the first question.
    """

    def __init__(self, submit: Callable[..., Future[Any]] | None = None) -> None:
        self._lock = threading.Lock()
        self._submit = submit
        self._pool: ProcessPoolExecutor | None = None
        self._process_id, self._what = 0, ""
        self._made: dict[str, tuple[_Key, tuple[Future[Told], ...]]] = {}
        self._stopped: dict[str, _Key] = {}
        self._drawn: dict[tuple[str, str], Future[dict[str, Geometry]]] = {}
        self._printed: dict[str, tuple[_Key, Future[tuple[tuple[str, str], ...]]]] = {}
        self._invented: dict[str, Future[int]] = {}

    def known(self, bench: Bench, lot: str, patience: float = 0.0, done: int = 1) -> Told | None:
        """What is told of a lot as far as it is worked out; None where that is nothing yet.

        Parameters
        ----------
        bench : Bench
        lot : str
        patience : float [s]
            How long to wait for it.
        done : int
            How many stages to wait for.
        """
        if bench.place is None:
            return told_from(bench.store, lot)
        key = _key(bench, lot)
        with self._lock:
            held = self._made.get(lot)
            if self._stopped.get(lot) == key:
                return _ready(held[1]) if held is not None and held[0] == key else None
            if held is None or held[0] != key or _lost(held[1]):
                self._stopped.pop(lot, None)
                for each in held[1] if held is not None else ():
                    each.cancel()
                stages = tuple(
                    self._begin(stage, bench.place, lot, number + 1) for number in range(len(STAGES))
                )
                self._made[lot] = held = (key, stages)
        try:
            held[1][done - 1].result(timeout=patience)
        except (Late, CancelledError, BrokenProcessPool):
            pass
        except Exception:
            with self._lock:
                self._made.pop(lot, None)
            raise
        return _ready(held[1])

    def doing(self, bench: Bench, lot: str, patience: float = 0.0, done: int = 1) -> Doing:
        """As :meth:`known`, with what is worked out just now."""
        inventing = self.inventing(lot)
        found = None if inventing else self.known(bench, lot, patience, done)
        with self._lock:
            stopped = lot in self._stopped
        doing = Doing(told=found, stopped=stopped, inventing=inventing)
        return Doing(
            told=found, stopped=stopped, inventing=inventing, what=self._what if doing.working else ""
        )

    def stop(self, bench: Bench, lot: str) -> None:
        """Work out no more of a lot until somebody asks for it; what is worked out stays."""
        with self._lock:
            self._stopped[lot] = _key(bench, lot)
            busy = self._made.get(lot)
            if busy is not None and not all(each.done() for each in busy[1]):
                self._end()

    def go_on(self, lot: str) -> None:
        """Take a stop back."""
        with self._lock:
            self._stopped.pop(lot, None)

    def sizes(self, bench: Bench, lot: str, patience: float = 0.0) -> Mapping[str, Geometry] | None:
        """W, L and capacitance of the transistors as drawn, by name; None while the plan is walked for them."""
        if bench.place is None:
            return None
        key = (lot, bench.versions(lot)[-1].digest)
        with self._lock:
            future = self._drawn.get(key)
            if future is None or _lost([future]):
                future = self._drawn[key] = self._begin(_sizes, bench.place, lot)
        try:
            return future.result(timeout=patience)
        except (Late, CancelledError, BrokenProcessPool):
            return None
        except BadInput:
            return {}

    def figures(self, bench: Bench, lot: str, patience: float) -> tuple[tuple[str, str], ...] | None:
        """Figures for print, drawn when they are asked for; None while they are drawn.

        Raises
        ------
        BadInput
            Where nothing can be drawn.
        """
        if bench.place is None:
            return None
        key = _key(bench, lot)
        with self._lock:
            held = self._printed.get(lot)
            if held is None or held[0] != key or _lost([held[1]]):
                held = self._printed[lot] = (key, self._begin(_figures, bench.place, lot))
        try:
            return held[1].result(timeout=patience)
        except (Late, CancelledError, BrokenProcessPool):
            return None

    def invent(self, bench: Bench, lot: str, most: int) -> None:
        """Have curves of an invented lot drawn and kept."""
        if bench.place is not None:
            with self._lock:
                self._invented[lot] = self._begin(_invented, bench.place, lot, most)

    def inventing(self, lot: str) -> bool:
        """Whether curves of an invented lot are still being drawn."""
        held = self._invented.get(lot)
        return held is not None and not held.done()

    def close(self) -> None:
        """End the process; what waits is given up."""
        with self._lock:
            self._end()

    def _end(self) -> None:
        """End the process at once; the next question starts a new one. Called with the lock held."""
        pool, self._pool = self._pool, None
        process, self._process_id = self._process_id, 0
        self._what = ""
        if pool is not None:
            pool.shutdown(wait=False, cancel_futures=True)
            if process:
                with contextlib.suppress(OSError):
                    os.kill(process, signal.SIGTERM)

    def _begin(self, work: Callable[..., Any], *asked: Any) -> Future[Any]:
        """Have something worked out; a process that ended is started anew. Called with the lock held."""
        if self._submit is not None:
            return self._submit(work, *asked)
        try:
            return self._process().submit(work, *asked)
        except BrokenProcessPool:
            self._pool = None
            return self._process().submit(work, *asked)

    def _process(self) -> ProcessPoolExecutor:
        if self._pool is None:
            import multiprocessing

            beside = multiprocessing.get_context("spawn")
            here, there = beside.Pipe(duplex=False)
            self._pool = ProcessPoolExecutor(
                max_workers=1, mp_context=beside, initializer=_begin_beside, initargs=(there,)
            )
            threading.Thread(
                target=self._listen, args=(here, there, self._pool), name="measured", daemon=True
            ).start()
        return self._pool

    def _listen(self, here: Connection, there: Connection, pool: ProcessPoolExecutor) -> None:
        """Hear what the process is at. Its end of the pipe stays open here until it said its first word: it is handed over then."""
        with contextlib.suppress(EOFError, OSError):
            first = here.recv()
            there.close()
            with self._lock:
                if self._pool is not pool:
                    os.kill(first, signal.SIGTERM)
                    return
                self._process_id = first
            while True:
                said = here.recv()
                if self._pool is pool:
                    self._what = said


def _key(bench: Bench, lot: str) -> _Key:
    """What an answer follows from."""
    return bench.head(lot), len(bench.store.files(lot, every=True))


def _ready(stages: tuple[Future[Told], ...]) -> Told | None:
    found = [each for each in stages if each.done() and not each.cancelled() and not each.exception()]
    return found[-1].result() if found else None


def _lost(futures: Any) -> bool:
    """Whether the process ended before it answered."""
    return any(
        each.cancelled() or (each.done() and isinstance(each.exception(), BrokenProcessPool))
        for each in futures
    )


def measured_lots(bench: Bench) -> MeasuredLots:
    """What measured files tell, for a bench, one for its life."""
    with _MAKING:
        if bench.measured is None:
            bench.measured = MeasuredLots()
        return bench.measured


_MAKING = threading.Lock()
