"""Many files at once: in processes where that pays, with progress, one broken file never stopping the rest."""

from __future__ import annotations

import gc
import multiprocessing
import os
import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from pathlib import Path

from filmwright.errors import BadInput, Problem
from filmwright.measure.reading import Measurement, read_table
from filmwright.measure.rules import Rule

PAYS_FROM = 2000
"""Files from which a second process pays for its start."""

BATCH = 200
"""Files that a process is given at once."""

Tell = Callable[[int, int, str], None]
Outcome = Measurement | tuple[Problem, ...]


@dataclass(frozen=True, kw_only=True)
class Reading:
    """What came of many files.

    Attributes
    ----------
    measurements : tuple of Measurement
        In the order of the files.
    problems : tuple of Problem
        Of the files that could not be read.
    """

    measurements: tuple[Measurement, ...]
    problems: tuple[Problem, ...]


def read_tables(
    paths: Sequence[str | Path],
    rules: Sequence[Rule] = (),
    processes: int | None = None,
    tell: Tell | None = None,
) -> Reading:
    """Read many files; a broken one is told under ``problems`` and stops no other.

    Parameters
    ----------
    paths : sequence of str or Path
    rules : sequence of Rule
        Reading rules; each is used for files of its shape.
    processes : int or None
        None takes as many as pay: one below 2000 files, else one for each processor, at most four.
    tell : callable or None
        Is told how many files are done, of how many, and the name of the last.

    Returns
    -------
    Reading
    """
    names = [str(path) for path in paths]
    if processes is None:
        processes = min(4, os.cpu_count() or 1) if len(names) >= PAYS_FROM else 1
    batches = [names[start : start + BATCH] for start in range(0, len(names), BATCH)]
    outcomes = (
        _here(batches, rules, len(names), tell) if processes <= 1 else _apart(batches, rules, processes, tell)
    )
    return Reading(
        measurements=tuple(each for each in outcomes if isinstance(each, Measurement)),
        problems=tuple(problem for each in outcomes if isinstance(each, tuple) for problem in each),
    )


def read_one(name: str, rules: Sequence[Rule] = ()) -> Outcome:
    """A file, or what is wrong with it."""
    try:
        return read_table(name, rules)
    except BadInput as bad:
        return bad.problems
    except Exception as fault:  # noqa: BLE001 - a fault of ours at one file must not cost the other thousands
        got = f"a fault of filmwright itself ({type(fault).__name__}: {fault})"
        why, remedy = "no curve can be read from it", "keep the file and report it"
        return (
            Problem(what="reading the file", expected="possible", got=got, why=why, remedy=remedy, file=name),
        )


def _here(
    batches: Sequence[list[str]], rules: Sequence[Rule], total: int, tell: Tell | None
) -> list[Outcome]:
    found: list[Outcome] = []
    for name in (name for batch in batches for name in batch):
        found.append(read_one(name, rules))
        if tell is not None:
            tell(len(found), total, Path(name).name)
    return found


def _apart(
    batches: Sequence[list[str]], rules: Sequence[Rule], processes: int, tell: Tell | None
) -> list[Outcome]:
    total = sum(map(len, batches))
    found: list[list[Outcome]] = [[] for _ in batches]
    done = 0
    pool = ProcessPoolExecutor(
        max_workers=processes, mp_context=multiprocessing.get_context("spawn"), initializer=_prepared
    )
    try:
        for at, outcomes in _as_they_end(pool, batches, rules):
            found[at] = outcomes
            done += len(outcomes)
            if tell is not None:
                tell(done, total, Path(batches[at][-1]).name)
    except BrokenProcessPool:
        # No process can be started here (a notebook, little memory) or one was ended from outside: the rest is read in this one.
        for at, batch in enumerate(batches):
            found[at] = found[at] or [read_one(name, rules) for name in batch]
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
    return [each for outcomes in found for each in outcomes]


def _as_they_end(
    pool: ProcessPoolExecutor, batches: Sequence[list[str]], rules: Sequence[Rule]
) -> Iterator[tuple[int, list[Outcome]]]:
    waiting: dict[Future[list[Outcome]], int] = {
        pool.submit(_batch, batch, tuple(rules)): at for at, batch in enumerate(batches)
    }
    while waiting:
        ended, _ = wait(waiting, return_when=FIRST_COMPLETED)
        for each in ended:
            yield waiting.pop(each), each.result()


def _batch(names: list[str], rules: tuple[Rule, ...]) -> list[Outcome]:
    return [read_one(name, rules) for name in names]


def _prepared() -> None:
    """A person's interrupt is for the process that talks to the person, which then ends the others; nothing here makes
    cycles that were worth a search."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    gc.disable()
