"""What the measured devices of a lot tell, worked out in a process of its own: parameters first, then comparison and figures."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Callable, Mapping
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures import TimeoutError as Late
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from filmwright.errors import BadInput

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench
    from filmwright.desk.explain import Story
    from filmwright.measure import Geometry
    from filmwright.record import Store

STAGES = ("parameters", "comparison with the prediction", "figures")
"""What is told, in the order in which it is worked out."""
_BEHIND = 10
"""How far the process gives way to the pages, in steps of the system's niceness."""


@dataclass(frozen=True, kw_only=True)
class Told:
    """What a lot's measured files tell.

    Attributes
    ----------
    statistics : mapping, or None
        The fields of the statistics; None where nothing can be told yet.
    outcomes : tuple of mapping
        Every device with its fate, parameters and exclusion.
    compared : mapping, or None
        The fields of the comparison with the prediction.
    noticed : tuple of str
        What was noticed at the files, a shifted row of devices among it.
    problems : tuple of str
    figures : tuple of (title, SVG)
    done : int
        How many of :data:`STAGES` are in it.
    """

    statistics: dict[str, Any] | None = None
    outcomes: tuple[dict[str, Any], ...] = ()
    compared: dict[str, Any] | None = None
    noticed: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    figures: tuple[tuple[str, str], ...] = ()
    done: int = 0

    @property
    def waited_for(self) -> str:
        """What is still worked out; empty when all of it is there."""
        return STAGES[self.done] if self.done < len(STAGES) else ""


def told_from(store: Store, lot: str) -> Told:
    """Everything that is told of a lot's measured files; what one question cannot answer does not stop the others."""
    from filmwright.desk.explain import gather, with_predicted

    story = gather(store, lot, predicted=False)
    return _figures(story, _comparison(with_predicted(story), _parameters(story)))


def told(record: str | Path, lot: str) -> Told:
    """The same, from the place of the record."""
    from filmwright.record import Store

    with Store.open(record) as store:
        return told_from(store, lot)


def _parameters(story: Story) -> Told:
    from filmwright.desk.population import TOLD, answer_of_story

    said = Told(
        problems=tuple(f"{each.file}: {each.problem}" for each in story.probed if each.problem),
        noticed=_noticed(story),
        done=1,
    )
    try:
        answer = answer_of_story(story, TOLD)
    except BadInput as bad:
        return _with_problems(said, bad)
    outcomes = tuple(
        {
            "wafer": each.wafer, "device": each.device, "cause": each.cause or "works", "drawn": each.drawn,
            "split": each.split, "left_out": each.left_out,
            "values": {
                name: f"{answer.shown(name, value):.4g}".replace("-", "−") + f" {answer.unit(name)}"
                for name, value in each.parameters.items()
            },
        }
        for each in answer.outcomes
    )  # fmt: skip
    return replace(said, statistics=answer.fields(), outcomes=outcomes)


def _comparison(story: Story, so_far: Told) -> Told:
    from filmwright.desk.learning import compared

    try:
        answer = compared(story)
    except BadInput as bad:
        return replace(_with_problems(so_far, bad), done=2)
    beside = {**answer.fields(), "cells": [row.cells for row in answer.rows]}
    return replace(so_far, compared=beside, done=2)


def _figures(story: Story, so_far: Told) -> Told:
    from filmwright.desk.population import TOLD, answer_of_story
    from filmwright.desk.population_pictures import plots_of
    from filmwright.outputs import printed_plots

    try:
        plots = plots_of(answer_of_story(story, TOLD)) if so_far.statistics is not None else ()
    except BadInput as bad:
        return replace(_with_problems(so_far, bad), done=3)
    drawn = printed_plots(plots, "svg") if plots else ()
    figures = tuple(
        (plot.title, svg.decode() if isinstance(svg, bytes) else svg)
        for plot, svg in zip(plots, drawn, strict=True)
    )
    return replace(so_far, figures=figures, done=3)


def _with_problems(so_far: Told, bad: BadInput) -> Told:
    return replace(
        so_far, problems=tuple(dict.fromkeys((*so_far.problems, *(str(each) for each in bad.problems))))
    )


def _noticed(story: Story) -> tuple[str, ...]:
    """What was noticed at the curves, and what sizes and currents say of the order of probing, as the word extract tells it."""
    from filmwright.desk.explain import known_of
    from filmwright.desk.identity import order_of_probing

    own = [(each, sweep) for each in story.probed for sweep in each.sweeps]
    shifted = order_of_probing(
        [replace(sweep, device=each.device, wafer=each.wafer) for each, sweep in own],
        [known_of(each) for each, _ in own],
    )
    warned = (f"{each.file}: {warning}" for each, sweep in own for warning in sweep.warnings)
    return tuple(dict.fromkeys((*shifted, *warned)))


_held: dict[tuple[str, str], tuple[Story, Told]] = {}
"""In the process that works it out: the last lot, so that a later stage, or one file more, walks no wafer again."""


def _give_way() -> None:
    """Pages and entries come first where there are few cores; an interrupt at the terminal ends it without a word."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    if hasattr(os, "nice"):
        os.nice(_BEHIND)


def _stage(record: str | Path, lot: str, number: int) -> Told:
    """One stage of a lot; the ones before it were worked out by the same process."""
    from filmwright.desk.explain import gather, with_predicted
    from filmwright.record import Store

    key = (str(record), lot)
    before = _held.get(key)
    if number == 1 or before is None:
        with Store.open(record) as store:
            story = gather(store, lot, predicted=False, before=before[0] if before else None)
        said = _parameters(story)
    else:
        story, said = before
    if number >= 2 and said.done < 2:
        story = with_predicted(story)
        said = _comparison(story, said)
    if number >= 3:
        said = _figures(story, said)
    _held.clear()
    _held[key] = (story, said)
    return said


def _sizes(record: str | Path, lot: str) -> dict[str, Geometry]:
    from filmwright.desk.identity import known_of

    return dict(known_of(lot, record).sizes)


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
        self._made: dict[str, tuple[tuple[int, int], tuple[Future[Told], ...]]] = {}
        self._drawn: dict[tuple[str, str], Future[dict[str, Geometry]]] = {}

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
        key = (bench.head(lot), len(bench.store.files(lot, every=True)))
        with self._lock:
            held = self._made.get(lot)
            if held is None or held[0] != key:
                for each in held[1] if held is not None else ():
                    each.cancel()
                stages = tuple(
                    self._begin(_stage, bench.place, lot, number + 1) for number in range(len(STAGES))
                )
                self._made[lot] = held = (key, stages)
        try:
            held[1][done - 1].result(timeout=patience)
        except Late:
            pass
        except Exception:
            with self._lock:
                self._made.pop(lot, None)
            raise
        ready = [each for each in held[1] if each.done() and not each.cancelled() and not each.exception()]
        return ready[-1].result() if ready else None

    def sizes(self, bench: Bench, lot: str, patience: float = 0.0) -> Mapping[str, Geometry] | None:
        """W, L and capacitance of the transistors as drawn, by name; None while the plan is walked for them."""
        if bench.place is None:
            return None
        key = (lot, bench.versions(lot)[-1].digest)
        with self._lock:
            future = self._drawn.get(key)
            if future is None:
                future = self._drawn[key] = self._begin(_sizes, bench.place, lot)
        try:
            return future.result(timeout=patience)
        except Late:
            return None
        except BadInput:
            return {}

    def close(self) -> None:
        """End the process; what waits is given up."""
        with self._lock:
            pool, self._pool = self._pool, None
        if pool is not None:
            pool.shutdown(wait=False, cancel_futures=True)

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

            self._pool = ProcessPoolExecutor(
                max_workers=1, mp_context=multiprocessing.get_context("spawn"), initializer=_give_way
            )
        return self._pool


def measured_lots(bench: Bench) -> MeasuredLots:
    """What measured files tell, for a bench, one for its life."""
    with _MAKING:
        if bench.measured is None:
            bench.measured = MeasuredLots()
        return bench.measured


_MAKING = threading.Lock()
