"""What is told after an entry is what would be told anew, however little of it is worked again; tools' logbooks are minded."""

import datetime
import uuid

import pytest

from filmwright import desk
from filmwright.desk.bench import Answers, Bench
from filmwright.record import LogbookEntry
from filmwright.units import to_si

pytestmark = pytest.mark.whole


@pytest.fixture
def begun(shipped_thermometer):
    """A lot with its answers, and its record."""
    record = shipped_thermometer / "record.sqlite"
    lot = desk.run(shipped_thermometer / "plan.yaml", record=record).lot
    with Bench.open(record) as bench:
        yield bench, lot, record


def _alike(one, other) -> None:
    """The same answers, pictures and all; lines of the plan are where they are."""
    assert one.fields() == other.fields()
    assert [(each.before, each.after) for each in one.steps] == [
        (each.before, each.after) for each in other.steps
    ]


def test_an_answer_after_an_entry_is_the_one_that_is_worked_out_anew(begun):
    bench, lot, record = begun
    kept, steps = Answers(bench), bench.flow(lot).steps
    kept.planned(lot)
    deposit = next(step for step in steps if step.kind == "deposit")
    etch = next(step for step in steps if step.kind == "etch")
    began = {"mark": "start", "note": "a test", "told": {"acknowledge": "hold point"}}
    told = [
        [{"step": steps[0].code, "mark": "start"}, {"step": steps[0].code, "mark": "finish"}],
        [{"step": deposit.code, **began}, {"step": deposit.code, "settings": ["thickness=83 nm"]}],
        [{"step": deposit.code, "mark": "repeat", "note": "once more"}],
        [{"step": etch.code, **began}, {"step": etch.code, "settings": ["time=47 s"]}],
    ]
    for some in told:
        for each in some:
            desk.log(lot, record=record, **each)
        first = kept.planned(lot, whole=False)
        _alike(kept.planned(lot), Answers(bench).planned(lot))
        assert kept.as_run(lot).fields() == Answers(bench).as_run(lot).fields()
        # What is told at once of the steps at hand is the whole of it.
        whole = kept.planned(lot)
        at = whole.done
        assert [each.fields() for each in first.steps[at : at + 2]] == [
            each.fields() for each in whole.steps[at : at + 2]
        ]
        assert [each.after for each in first.steps[at : at + 2]] == [
            each.after for each in whole.steps[at : at + 2]
        ]


def test_the_first_answer_of_a_lot_tells_the_steps_at_hand_before_anything_else_is_walked(begun):
    bench, lot, _ = begun
    kept = Answers(bench)
    first, now = kept.planned(lot, whole=False), kept.as_run(lot, whole=False)
    assert kept.walks.at_hand(lot, "W1").planned is None
    assert not first.drawn
    assert not now.drawn
    whole = kept.planned(lot)
    assert 0 < len(first.steps) < len(whole.steps)
    at = range(whole.done, whole.done + 3)
    assert [first.steps[k].fields() for k in at] == [whole.steps[k].fields() for k in at]
    assert [each.fields() for each in now.moments] == [each.fields() for each in kept.as_run(lot).moments]
    _alike(whole, Answers(bench).planned(lot))
    # What is not told anew yet is taken from what was known before.
    assert first.with_rest(whole).steps[len(first.steps) :] == whole.steps[len(first.steps) :]
    assert first.with_rest(whole).steps[: len(first.steps)] == first.steps


def test_a_start_leaves_every_shape_and_every_other_step_as_they_were(begun):
    bench, lot, record = begun
    kept, steps = Answers(bench), bench.flow(lot).steps
    before = kept.walks.to_the_end(lot, "W1").walked.states
    desk.log(lot, steps[0].code, mark="start", record=record)
    after = kept.walks.to_the_end(lot, "W1").walked.states
    assert all(one.wafer is other.wafer for one, other in zip(before, after, strict=True))
    assert all(one is other for one, other in zip(before[1:], after[1:], strict=True))
    assert after[0].step.started


def test_a_line_of_a_tool_makes_the_answer_old_and_the_new_one_minds_it(begun):
    bench, lot, _ = begun
    bench.emulate()
    worker = bench.emulation
    deposit = next(step for step in bench.flow(lot).steps if step.kind == "deposit" and step.tool)
    before = worker.wait("planned", lot, "W1", 240.0)
    assert worker.known("planned", lot, "W1").fresh
    now = datetime.datetime.now().astimezone().isoformat(timespec="seconds")
    bench.store.enter([_rate_line(deposit, now)])
    assert not worker.known("planned", lot, "W1").fresh
    after = worker.wait("planned", lot, "W1", 240.0)
    _alike(after, Answers(bench).planned(lot, "W1"))
    one, other = (each.step(deposit.code).fields()["settings"] for each in (before, after))
    assert one != other
    assert any(now[:10] in str(each) for each in other)


def _rate_line(deposit, now) -> LogbookEntry:
    """A calibration of today of the tool that puts the film down."""
    from filmwright.desk.logbooks import told

    return LogbookEntry(
        id=str(uuid.uuid4()), book=f"tool:{deposit.tool}", kind="calibration", name="deposition rate", value=to_si(0.123, "nm/s"),
        unit="nm/s", text=told(material=deposit.material, spread="0.002 nm/s"), happened=now, written=now, who="AB", invented=True,
    )  # fmt: skip
