"""What the measured devices of a lot tell, worked out in a process of its own: parameters, maps, splits, comparison."""

from __future__ import annotations

import threading
from concurrent.futures import Future
from concurrent.futures import TimeoutError as Late
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from filmwright.desk.bench.live_review import live_review
from filmwright.errors import BadInput

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench
    from filmwright.desk.explain import Story
    from filmwright.record import Store


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
    """

    statistics: dict[str, Any] | None = None
    outcomes: tuple[dict[str, Any], ...] = ()
    compared: dict[str, Any] | None = None
    noticed: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    figures: tuple[tuple[str, str], ...] = ()


def told(record: str | Path, lot: str) -> Told:
    """Everything that is told of a lot's measured files, from the place of the record."""
    from filmwright.record import Store

    with Store.open(record) as store:
        return told_from(store, lot)


def told_from(store: Store, lot: str) -> Told:
    """Everything that is told of a lot's measured files; what one question cannot answer does not stop the others."""
    from filmwright.desk.explain import gather
    from filmwright.desk.learning import compared
    from filmwright.desk.population import TOLD, answer_of_story
    from filmwright.desk.population_pictures import plots_of
    from filmwright.outputs import printed_plots

    story = gather(store, lot)
    problems: list[str] = [f"{each.file}: {each.problem}" for each in story.probed if each.problem]
    statistics: dict[str, Any] | None = None
    figures: tuple[tuple[str, str], ...] = ()
    outcomes: tuple[dict[str, Any], ...] = ()
    try:
        answer = answer_of_story(story, TOLD)
        statistics = answer.fields()
        plots = plots_of(answer)
        figures = (
            tuple(
                (plot.title, svg.decode() if isinstance(svg, bytes) else svg)
                for plot, svg in zip(plots, printed_plots(plots, "svg"), strict=True)
            )
            if plots
            else ()
        )
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
    except BadInput as bad:
        problems += [str(each) for each in bad.problems]
    beside = None
    try:
        beside = {**compared(story).fields(), "cells": [row.cells for row in compared(story).rows]}
    except BadInput as bad:
        problems += [str(each) for each in bad.problems]
    return Told(
        statistics=statistics, outcomes=outcomes, compared=beside, problems=tuple(dict.fromkeys(problems)), figures=figures,
        noticed=_noticed(story),
    )  # fmt: skip


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


class MeasuredLots:
    """What the measured files of lots tell, each worked out once for what is kept of it."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._made: dict[str, tuple[tuple[int, int], Future[Told]]] = {}

    def known(self, bench: Bench, lot: str, patience: float = 0.0) -> Told | None:
        """What is told of a lot; None while it is worked out.

        Parameters
        ----------
        bench : Bench
        lot : str
        patience : float [s]
            How long to wait for it.
        """
        if bench.place is None:
            return told_from(bench.store, lot)
        key = (bench.head(lot), len(bench.store.files(lot, every=True)))
        with self._lock:
            held = self._made.get(lot)
            if held is None or held[0] != key:
                held = (key, live_review(bench).apart(told, bench.place, lot))
                self._made[lot] = held
        try:
            return held[1].result(timeout=patience)
        except Late:
            return None
        except Exception:
            with self._lock:
                self._made.pop(lot, None)
            raise
