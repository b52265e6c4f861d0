"""A wafer from its record after one new entry: going on from the walk before, beside a walk from the start; and the first answer."""

from __future__ import annotations

import statistics
import tempfile
import time
from pathlib import Path

from filmwright.desk import log, run
from filmwright.desk.bench import Answers, Bench
from filmwright.desk.files import load
from filmwright.emulate import Walked, walk, walk_on
from filmwright.flow import Done, lived


def times(plan: Path, repeats: int = 5) -> tuple[int, float, float, float, float]:
    """Steps; medians [s] of a new entry at the last step, of one in the middle walked on to the end, and of both anew.

    Each repeat measures another thickness or time, so that no geometry of the tail is known from before.
    """
    work = load(plan)
    whole = walk(work.flow, work.lab, work.facts, work.drawing, on="2026-10-26")
    section = whole.start.section
    steps = work.flow.steps

    def gone(record: list[Done], kept: list[Walked], *, all_of_it: bool) -> Walked:
        life = lived(work.flow, record)
        return walk_on(
            life.flow,
            work.lab,
            work.facts,
            work.drawing,
            on="2026-10-26",
            line=section.cut if section is not None else None,
            kept=kept,
            steps=None if all_of_it else life.done,
        )

    done = [Done(step=step.number, what="finish") for step in steps]
    kept = gone(done, [], all_of_it=True)
    middle = next(k for k, step in enumerate(steps) if k > len(steps) // 2 and step.kind == "etch")
    found: list[list[float]] = [[], [], [], []]
    for turn in range(repeats):
        # Each job has its own time, so that none finds geometry that another has just worked out.
        own = [60.0 + turn + part / 4 for part in range(4)]
        jobs = (
            (len(steps) - 1, [kept], False),
            (len(steps) - 1, [], False),
            (middle, [kept], True),
            (middle, [], True),
        )
        for times_of, value, (place, known, all_of_it) in zip(found, own, jobs, strict=True):
            record = [
                *done[: place + 1],
                Done(step=steps[place].number, what="set", name="time", value=value),
            ]
            begin = time.perf_counter()
            gone(record, known, all_of_it=all_of_it)
            times_of.append(time.perf_counter() - begin)
    now, anew, on, whole_anew = (statistics.median(each) for each in found)
    return len(steps), now, anew, on, whole_anew


def first_answers(plan: Path) -> tuple[float, float, float, float]:
    """Times [s] of a lot whose plan nobody walked yet, and after a new etch time: the steps at hand, and then all of it.

    What is told of all steps finds the geometry of the first ones known already, so that the ratio is rather too small.
    """
    with tempfile.TemporaryDirectory() as folder:
        record = Path(folder) / "record.sqlite"
        lot = run(plan, record=record).lot
        with Bench.open(record) as bench:
            answers = Answers(bench)

            def told(*, whole: bool) -> float:
                begin = time.perf_counter()
                answers.planned(lot, whole=whole)
                return time.perf_counter() - begin

            cold = told(whole=False), told(whole=True)
            etch = next(step for step in bench.flow(lot).steps if step.kind == "etch")
            log(
                lot,
                etch.code,
                mark="start",
                note="a bench",
                told={"acknowledge": "hold point"},
                record=record,
            )
            told(whole=True)
            log(lot, etch.code, settings=["time=47 s"], record=record)
            return *cold, told(whole=False), told(whole=True)


def rows(plan: Path) -> list[tuple[str, float, str, float, str]]:
    """Four rows: name, our time, the peer, its time, the size."""
    steps, now, anew, on, whole_anew = times(plan)
    first, rest, early, early_rest = first_answers(plan)
    peer = "a walk from the start"
    return [
        ("as-run wafer, new entry", now, peer, anew, f"{steps} steps, an entry at the last"),
        (
            "as-run wafer and on to the end",
            on,
            peer,
            whole_anew,
            f"{steps} steps, an entry at an etch in the middle",
        ),
        ("first answer of a lot", first, "all its steps", rest, f"{steps} steps, those at hand first"),
        ("steps after a new etch time", early, "all its steps", early_rest, f"{steps} steps, the first etch"),
    ]
