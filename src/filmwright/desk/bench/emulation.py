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
    head : function from a lot to the position of its last entry
    """

    def __init__(self, record: str | Path, head: Callable[[str], int]) -> None:
        self.record = record
        self._head = head
        self._changed = threading.Condition()
        self._queue: OrderedDict[_Key, int] = OrderedDict()
        self._answers: OrderedDict[_Key, PlannedLot | AsRunWafer] = OrderedDict()
        self._troubles: dict[_Key, tuple[int, str]] = {}
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
        key, position = (asked, lot, wafer), self._head(lot)
        with self._changed:
            answer = self._answers.get(key)
            if answer is not None:
                self._answers.move_to_end(key)
                if answer.position >= position:
                    return Known(answer=answer, fresh=True)
            trouble = self._troubles.get(key, (-1, ""))
            if trouble[0] >= position:
                return Known(answer=answer, trouble=trouble[1])
            # The page that is looked at goes first: the newest question is answered next.
            self._queue[key] = position
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
        key, position = (asked, lot, wafer), self._head(lot)

        def settled() -> bool:
            answer = self._answers.get(key)
            known = answer is not None and answer.position >= position
            return known or self._troubles.get(key, (-1, ""))[0] >= position or self._closed

        self.known(asked, lot, wafer)
        with self._changed:
            in_time = self._changed.wait_for(settled, timeout)
            answer, trouble = self._answers.get(key), self._troubles.get(key, (-1, ""))
            if answer is not None and answer.position >= position:
                return answer
        raise _cannot(key, trouble[1] if in_time and trouble[1] else "not ready in time")

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
                key, position = self._queue.popitem(last=True)
            self._keep(key, position, *self._worked_out(key))

    def _worked_out(self, key: _Key) -> tuple[str, Any]:
        for _ in range(_TRIES):
            try:
                pipe = self._started()
                pipe.send(key)
                kind, content = pipe.recv()
                return kind, content
            except (EOFError, OSError):
                self._stop()
                if self._closed:
                    break
                _LOG.warning("the emulation of %s %s of lot %s ended its process; it starts again", *key)
        return "failed", "the emulation ended without an answer"

    def _keep(self, key: _Key, position: int, kind: str, content: Any) -> None:
        with self._changed:
            if kind == "answer":
                self._answers[key] = content
                self._answers.move_to_end(key)
                self._troubles.pop(key, None)
                while len(self._answers) > _ANSWERS:
                    self._answers.popitem(last=False)
            else:
                self._troubles[key] = (position, content)
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
                asked, lot, wafer = pipe.recv()
            except (EOFError, OSError):
                return
            pipe.send(_answered(answers, asked, lot, wafer))


def _answered(answers: Any, asked: Asked, lot: str, wafer: str) -> tuple[str, Any]:
    try:
        return "answer", answers.planned(lot, wafer) if asked == "planned" else answers.as_run(lot, wafer)
    except BadInput as bad:
        return "refused", "; ".join(f"{each.what}: {each.got}. {each.remedy}" for each in bad.problems)
