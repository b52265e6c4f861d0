"""The worker beside the pages: it answers what this process would, begins again when it dies, and nobody waits for it."""

import os
import signal

import pytest

from filmwright import desk
from filmwright.desk.bench import Answers, Bench, emulation
from filmwright.errors import BadInput

pytestmark = pytest.mark.whole

LONG = 240.0
"""Longer than any machine needs [s]."""


@pytest.fixture
def bench(shipped_thermometer):
    """A lot with one step done, and its worker."""
    record = shipped_thermometer / "record.sqlite"
    lot = desk.run(shipped_thermometer / "plan.yaml", record=record).lot
    desk.log(lot, "01A", mark="finish", record=record)
    with Bench.open(record) as opened:
        opened.emulate()
        yield opened, lot, record


def test_the_worker_answers_what_this_process_would_and_begins_again_when_it_dies(bench):
    opened, lot, record = bench
    worker, here = opened.emulation, Answers(opened)
    first = worker.known("as_run", lot, "W1")
    assert (first.answer, first.fresh, first.working) == (None, False, True)
    assert worker.planned(lot, "W1") is None
    assert worker.wait("as_run", lot, "W1", LONG) == here.as_run(lot, "W1")
    assert worker.known("as_run", lot, "W1").fresh
    # A new entry: the old answer at once, and the new one soon, also from a worker that was killed meanwhile.
    os.kill(worker.process, signal.SIGKILL)
    desk.log(lot, "02A", mark="start", record=record)
    stale = worker.known("as_run", lot, "W1")
    assert stale.working
    assert len(stale.answer.moments) == 2
    assert worker.wait("as_run", lot, "W1", LONG) == here.as_run(lot, "W1")
    planned = worker.wait("planned", lot, "W1", LONG)
    assert planned.fields() == here.planned(lot, "W1").fields()
    with pytest.raises(BadInput, match="W9"):
        worker.wait("as_run", lot, "W9", LONG)
    assert "W9" in worker.known("as_run", lot, "W9").trouble


def test_a_bench_over_a_store_that_was_given_has_no_worker(bench):
    opened, _, _ = bench
    with pytest.raises(ValueError, match="no place"):
        Bench(opened.store).emulate()


def test_a_number_that_no_law_takes_is_told_and_the_worker_goes_on(caplog):
    class Nonsense:
        def planned(self, *_):
            raise ValueError("the time must be positive")

    kind, said = emulation._answered(Nonsense(), "planned", "K7M-4H7", "W1", True)
    assert kind == "failed"
    assert "logbook" in said
    assert "the time must be positive" in said
    assert "K7M-4H7" in caplog.text
