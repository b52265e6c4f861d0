"""A plan reviewed while it is written: what can be read at once, rules and pictures by a process of their own.

The text is read where it is asked for, which takes as long as a key press. Walking a flow takes longer: it is done by one process
beside the server, so that nobody's tap waits for it. A newer text of the same writer takes the place of an older one that waits.
"""

from __future__ import annotations

import datetime
import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import CancelledError, Future, ProcessPoolExecutor
from concurrent.futures import TimeoutError as Late
from concurrent.futures.process import BrokenProcessPool
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from filmwright.desk.bench.live_answers import LiveAnswer
from filmwright.desk.bench.live_work import Job, Made, read_answer, reviewed
from filmwright.desk.bench.surroundings import Surroundings
from filmwright.errors import BadInput, Problem

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench

_ANSWERS, _PICTURE_BYTES = 24, 48 * 1024 * 1024
MOST_WAITING = 12
"""Texts that may wait for the process at once."""
PATIENCE = 60.0
"""How long an asker waits for the process [s]."""

Submit = Callable[[Callable[[Job], Made], Job], "Future[Made]"]


class LiveReview:
    """Reviews of texts that are being written, with the pictures of the last ones.

    Parameters
    ----------
    submit : callable (function, Job) → Future, or None
        Where slow work is done; None starts a process of its own at the first job.
    """

    def __init__(self, submit: Submit | None = None) -> None:
        self._submit = submit
        self._pool: ProcessPoolExecutor | None = None
        self._lock = threading.Lock()
        self._waiting: dict[str, Future[Made]] = {}
        self._answers: OrderedDict[str, LiveAnswer] = OrderedDict()
        self._pictures: OrderedDict[str, str] = OrderedDict()
        self._bytes = 0

    def close(self) -> None:
        """End the process; what waits is given up."""
        with self._lock:
            pool, self._pool = self._pool, None
        if pool is not None:
            pool.shutdown(wait=False, cancel_futures=True)

    def read(self, text: str, around: Surroundings) -> LiveAnswer:
        """What is wrong with the text as it stands, without walking it."""
        job = Job(text=text, around=around, pictures=False, start=_now())
        return read_answer(job, around.work(text)[1])

    def review(
        self, text: str, around: Surroundings, *, writer: str, pictures: bool = False, cut: str = ""
    ) -> LiveAnswer:
        """The text reviewed by all rules; with ``pictures`` sections, plan view and look of each step, too.

        Parameters
        ----------
        text : str
        around : Surroundings
        writer : str
            Whose older text may be given up.
        pictures : bool
        cut : str
            Of the sections; empty for the first of the plan.
        """
        read = self.read(text, around)
        if not read.readable:
            return read
        job = Job(text=text, around=around, pictures=pictures, start=_now(), cut=cut)
        key = job.key
        with self._lock:
            if key in self._answers:
                self._answers.move_to_end(key)
                return self._answers[key]
        try:
            made = self._later(job, writer).result(timeout=PATIENCE)
        except (CancelledError, Late):
            return replace(read, overtaken=True)
        except BrokenProcessPool:
            self._restart()
            raise _ended() from None
        self._keep(key, made)
        return made.answer

    def apart(self, function: Callable[..., Any], *asked: Any) -> Future[Any]:
        """Have anything else worked out by the same process."""
        with self._lock:
            if self._submit is None:
                self._start()
            assert self._pool is not None, "a reviewer with a place of its own for its work does no other"
            return self._pool.submit(function, *asked)

    def waited(self, function: Callable[..., Any], *asked: Any) -> Any:
        """What :meth:`apart` works out, waited for.

        Raises
        ------
        BadInput
            When it takes longer than anybody waits, or the process ends.
        """
        try:
            return self.apart(function, *asked).result(timeout=PATIENCE)
        except (CancelledError, Late):
            raise _busy() from None
        except BrokenProcessPool:
            self._restart()
            raise _ended() from None

    def picture(self, digest: str) -> str | None:
        """A picture of one of the last answers; None when it is no longer held."""
        with self._lock:
            found = self._pictures.get(digest)
            if found is not None:
                self._pictures.move_to_end(digest)
            return found

    def _later(self, job: Job, writer: str) -> Future[Made]:
        with self._lock:
            slot = f"{writer} {job.pictures}"
            before = self._waiting.pop(slot, None)
            if before is not None:
                before.cancel()
            self._waiting = {name: each for name, each in self._waiting.items() if not each.done()}
            if len(self._waiting) >= MOST_WAITING:
                raise _busy()
            future = self._start()(reviewed, job)
            self._waiting[slot] = future
            return future

    def _start(self) -> Submit:
        if self._submit is not None:
            return self._submit
        if self._pool is None:
            import multiprocessing

            self._pool = ProcessPoolExecutor(max_workers=1, mp_context=multiprocessing.get_context("spawn"))
        return self._pool.submit

    def _restart(self) -> None:
        with self._lock:
            self._pool, self._waiting = None, {}

    def _keep(self, key: str, made: Made) -> None:
        with self._lock:
            self._answers[key] = made.answer
            while len(self._answers) > _ANSWERS:
                self._answers.popitem(last=False)
            for name, svg in made.pictures.items():
                if name not in self._pictures:
                    self._bytes += len(svg)
                self._pictures[name] = svg
                self._pictures.move_to_end(name)
            while self._bytes > _PICTURE_BYTES and self._pictures:
                _, gone = self._pictures.popitem(last=False)
                self._bytes -= len(gone)


def _now() -> str:
    return datetime.datetime.now().replace(second=0, microsecond=0).isoformat()


def _busy() -> BadInput:
    return _problem("at most a few texts at once", f"{MOST_WAITING} that wait", "wait a little and ask again")


def _ended() -> BadInput:
    return _problem(
        "a process that answers",
        "one that ended",
        "ask again; if it ends again, save and review with the command line",
    )


def _problem(expected: str, got: str, remedy: str) -> BadInput:
    return BadInput(
        Problem(
            what="the review of the plan",
            expected=expected,
            got=got,
            why="rules and pictures are worked out one text after the other",
            remedy=remedy,
        )
    )


def live_review(bench: Bench) -> LiveReview:
    """The reviewer of a bench, one for its life."""
    with _MAKING:
        if bench.live is None:
            bench.live = LiveReview()
        return bench.live


_MAKING = threading.Lock()
