"""The emulation beside the pages: one process works wafers out, so that no tap ever waits for it."""

from __future__ import annotations

import contextlib
import logging
import multiprocessing
import os
import signal
import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from filmwright.desk.bench.as_run import AsRunWafer
from filmwright.desk.bench.planned import PlannedLot
from filmwright.errors import BadInput, Problem

if TYPE_CHECKING:
    from multiprocessing.context import SpawnProcess

Asked = Literal["planned", "as_run"]
_Key = tuple[Asked, str, str]
Stamp = tuple[int, ...]
"""Of a lot: what an emulation follows from, as numbers that only grow; :meth:`Bench.stamp`."""

_ANSWERS = 32
"""Answers that are kept."""

_TRIES = 2
"""Times that a question is put to a worker that dies of it."""

_BEHIND = 5
"""How far the worker gives way to the pages, in steps of the system's niceness."""

_LOG = logging.getLogger(__name__)


@dataclass(frozen=True, kw_only=True)
class Known:
    """What is known of a wafer at once.

    Attributes
    ----------
    answer : PlannedLot, AsRunWafer or None
        The newest there is, perhaps from before the last entries.
    fresh : bool
        Whether it minds all entries; else it is being worked out.
    trouble : str
        Why it cannot be worked out; empty otherwise.
    """

    answer: PlannedLot | AsRunWafer | None = None
    fresh: bool = False
    trouble: str = ""

    @property
    def working(self) -> bool:
        """Whether something newer is being worked out."""
        return not self.fresh and not self.trouble


class Emulation:
    """Answers of a worker process of its own, which starts with the first question and again whenever it dies.

    Parameters
    ----------
    record : str or Path
        File or address of the record.
    stamp : function from a lot to its Stamp
    """

    def __init__(self, record: str | Path, stamp: Callable[[str], Stamp]) -> None:
        self.record = record
        self._stamp = stamp
        self._changed = threading.Condition()
        self._queue: OrderedDict[_Key, Stamp] = OrderedDict()
        self._answers: OrderedDict[_Key, PlannedLot | AsRunWafer] = OrderedDict()
        self._troubles: dict[_Key, tuple[Stamp, str]] = {}
        self._thread: threading.Thread | None = None
        self._worker: tuple[SpawnProcess, Connection] | None = None
        self._closed = False

    def planned(self, lot: str, wafer: str) -> PlannedLot | None:
        """What is known now of the steps of a wafer; what is newer is being worked out meanwhile."""
        answer = self.known("planned", lot, wafer).answer
        return answer if isinstance(answer, PlannedLot) else None

    def as_run(self, lot: str, wafer: str) -> AsRunWafer | None:
        """What is known now of a wafer as it is; what is newer is being worked out meanwhile."""
        answer = self.known("as_run", lot, wafer).answer
        return answer if isinstance(answer, AsRunWafer) else None

    def known(self, asked: Asked, lot: str, wafer: str) -> Known:
        """What is known now, and whether it minds all entries; never waits.

        Parameters
        ----------
        asked : 'planned' or 'as_run'
        lot, wafer : str
        """
        key, stamp = (asked, lot, wafer), self._stamp(lot)
        with self._changed:
            answer = self._answers.get(key)
            if answer is not None:
                self._answers.move_to_end(key)
                if answer.drawn and _minds(answer.stamp, stamp):
                    return Known(answer=answer, fresh=True)
            trouble = self._trouble(key, stamp)
            if trouble:
                return Known(answer=answer, trouble=trouble)
            # The page that is looked at goes first: the newest question is answered next.
            self._queue[key] = stamp
            self._queue.move_to_end(key)
            self._begin()
            self._changed.notify_all()
            return Known(answer=answer)

    def wait(
        self, asked: Asked, lot: str, wafer: str, timeout: float | None = None
    ) -> PlannedLot | AsRunWafer:
        """The answer that minds all entries, waited for.

        Raises
        ------
        BadInput
            When it cannot be worked out, or not within ``timeout`` [s].
        """
        key, stamp = (asked, lot, wafer), self._stamp(lot)

        def found() -> PlannedLot | AsRunWafer | None:
            answer = self._answers.get(key)
            whole = answer is not None and answer.drawn and _minds(answer.stamp, stamp)
            return answer if whole else None

        self.known(asked, lot, wafer)
        with self._changed:
            self._changed.wait_for(
                lambda: found() is not None or self._trouble(key, stamp) or self._closed, timeout
            )
            answer, trouble = found(), self._trouble(key, stamp)
        if answer is not None:
            return answer
        raise _cannot(key, trouble or "not ready in time")

    def _trouble(self, key: _Key, stamp: Stamp) -> str:
        """Why it cannot be worked out as things stand; empty where nobody tried."""
        tried, said = self._troubles.get(key, ((), ""))
        return said if _minds(tried, stamp) else ""

    @property
    def process(self) -> int:
        """Number of the worker's process; 0 while there is none."""
        return (self._worker[0].pid or 0) if self._worker is not None else 0

    def close(self) -> None:
        """Let the worker go."""
        with self._changed:
            self._closed = True
            self._queue.clear()
            self._changed.notify_all()
            thread = self._thread
        self._stop()
        if thread is not None:
            thread.join(timeout=2)

    def _begin(self) -> None:
        if self._thread is None and not self._closed:
            self._thread = threading.Thread(target=self._run, name="emulation", daemon=True)
            self._thread.start()

    def _run(self) -> None:
        """Hand the newest question to the worker, for ever."""
        while True:
            with self._changed:
                self._changed.wait_for(lambda: self._queue or self._closed)
                if self._closed:
                    return
                key, stamp = self._queue.popitem(last=True)
                answer = self._answers.get(key)
                # First what is looked at; the rest when the same is asked again.
                whole = answer is not None and _minds(answer.stamp, stamp)
            self._keep(key, stamp, *self._worked_out(key, whole))

    def _worked_out(self, key: _Key, whole: bool) -> tuple[str, Any]:
        for _ in range(_TRIES):
            try:
                pipe = self._started()
                pipe.send((*key, whole))
                kind, content = pipe.recv()
                return kind, content
            except (EOFError, OSError):
                self._stop()
                if self._closed:
                    break
                _LOG.warning("the emulation of %s %s of lot %s ended its process; it starts again", *key)
        return "failed", "the emulation ended without an answer"

    def _keep(self, key: _Key, stamp: Stamp, kind: str, content: Any) -> None:
        with self._changed:
            if kind == "answer":
                if not content.drawn and key not in self._queue:
                    self._queue[key] = content.stamp
                    self._queue.move_to_end(key, last=False)
                before = self._answers.get(key)
                if not content.drawn and isinstance(content, PlannedLot) and isinstance(before, PlannedLot):
                    content = content.with_rest(before)
                self._answers[key] = content
                self._answers.move_to_end(key)
                self._troubles.pop(key, None)
                while len(self._answers) > _ANSWERS:
                    self._answers.popitem(last=False)
            else:
                self._troubles[key] = (stamp, content)
            self._changed.notify_all()

    def _started(self) -> Connection:
        """The pipe to a living worker."""
        if self._worker is not None and not self._worker[0].is_alive():
            self._stop()
        if self._worker is None:
            context = multiprocessing.get_context("spawn")
            here, there = context.Pipe()
            process = context.Process(
                target=_serve, args=(str(self.record), there), name="filmwright emulation", daemon=True
            )
            process.start()
            there.close()
            self._worker = (process, here)
        return self._worker[1]

    def _stop(self) -> None:
        worker, self._worker = self._worker, None
        if worker is not None:
            process, pipe = worker
            with contextlib.suppress(OSError):
                pipe.close()
            process.terminate()
            process.join(timeout=2)


def _minds(known: Stamp, stamp: Stamp) -> bool:
    """Whether what follows from one stamp minds everything of another."""
    return len(known) == len(stamp) and all(one >= other for one, other in zip(known, stamp, strict=True))


def _cannot(key: _Key, why: str) -> BadInput:
    _, lot, wafer = key
    return BadInput(
        Problem(
            what=f"wafer {wafer or '1'} of lot {lot}",
            expected="worked out from its record",
            got=why,
            why="what is shown follows from what was done",
            remedy="look at its entries; a correction of the last one may help",
        )
    )


def _serve(record: str, pipe: Connection) -> None:
    """The worker: one question after the other, until nobody asks any more."""
    from filmwright.desk.bench.answering import Answers
    from filmwright.desk.bench.house import Bench

    # An interrupt at the terminal is meant for the server, which then lets go of the pipe.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with contextlib.suppress(OSError, AttributeError):
        os.nice(_BEHIND)
    with Bench.open(record) as bench:
        answers = Answers(bench)
        while True:
            try:
                asked, lot, wafer, whole = pipe.recv()
            except (EOFError, OSError):
                return
            answer = _answered(answers, asked, lot, wafer, whole)
            try:
                pipe.send(answer)
            except OSError:
                return  # the server ended meanwhile; nobody waits for it


def _answered(answers: Any, asked: Asked, lot: str, wafer: str, whole: bool) -> tuple[str, Any]:
    try:
        ask = answers.planned if asked == "planned" else answers.as_run
        return "answer", ask(lot, wafer, whole)
    except BadInput as bad:
        return "refused", "; ".join(f"{each.what}: {each.got}. {each.remedy}" for each in bad.problems)
    except (ValueError, ArithmeticError) as trouble:
        # A number that no law takes must not end the process: the next lot is asked for as well.
        _LOG.exception("lot %s, wafer %s cannot be worked out", lot, wafer or "of all")
        return "failed", f"a number among its entries or in a logbook fits no law ({trouble})"
