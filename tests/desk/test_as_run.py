"""A wafer from what was really done to it, and the steps that follow from it."""

import uuid

import pytest

from filmwright import desk
from filmwright.desk.bench import Answers, Bench
from filmwright.desk.bench.wafer_page import wafer_page
from filmwright.desk.lot_pictures import moment_at
from filmwright.errors import BadInput
from filmwright.record import Event, Store

pytestmark = pytest.mark.whole


def entry(lot, kind, minute, **words):
    """One entry, so many minutes after noon."""
    moment = f"2031-05-04T{12 + minute // 60:02d}:{minute % 60:02d}:00+02:00"
    return Event(id=str(uuid.uuid4()), lot=lot, kind=kind, happened=moment, written=moment, who="AB", **words)


@pytest.fixture
def begun(shipped_thermometer):
    """A lot of two wafers with its platinum put down, measured and, on one wafer, corrected; the rest is ahead."""
    record = shipped_thermometer / "record.sqlite"
    lot = desk.run(shipped_thermometer / "plan.yaml", wafers=2, record=record).lot
    with Bench.open(record) as bench:
        flow = bench.flow(lot)
    platinum = next(s.number for s in flow.steps if s.kind == "deposit" and s.material == "platinum")
    wrong = entry(lot, "measured", 31, step=platinum, wafer="W1", name="thickness", value=960e-9, unit="nm")
    events = [
        entry(lot, "start", 10, step=platinum),
        entry(lot, "finish", 30, step=platinum),
        wrong,
        entry(
            lot,
            "measured",
            32,
            step=platinum,
            wafer="W1",
            name="thickness",
            value=96e-9,
            unit="nm",
            about=wrong.id,
        ),
        entry(lot, "cleave", 40, wafer="W1", name="W1.a"),
    ]
    with Store.open(record) as store:
        store.append(events)
    with Bench.open(record) as bench:
        bench.emulation = Answers(bench)
        yield bench, lot, platinum


def platinum_of(found):
    """The thickness of the platinum that is on a wafer now [nm]."""
    return next(film.high for film in found.now.films if film.material == "platinum")


def test_each_wafer_is_as_its_own_entries_say_and_a_piece_as_its_parent_was_at_the_cut(begun):
    bench, lot, platinum = begun
    answers = bench.emulation
    first, second, piece = (answers.as_run(lot, each) for each in ("W1", "W2", "W1.a"))
    # The correction counts, not what it corrects.
    assert platinum_of(first) == pytest.approx(96.0)
    assert platinum_of(second) != pytest.approx(96.0)
    later = entry(lot, "measured", 50, step=platinum, wafer="W1", name="thickness", value=80e-9, unit="nm")
    bench.store.append([later])
    assert platinum_of(answers.as_run(lot, "W1")) == pytest.approx(80.0)
    assert platinum_of(answers.as_run(lot, "W1.a")) == platinum_of(piece) == pytest.approx(96.0)


def test_moments_are_told_with_what_nobody_wrote_down(begun):
    bench, lot, platinum = begun
    found = bench.emulation.as_run(lot, "W1")
    assert found.moments[0].title == "As bought"
    assert not any(each.told for each in found.moments[1:-1])
    assert found.now.told
    assert found.now.step == platinum
    assert moment_at(found, "2031-05-04T11:59+02:00").place == 0
    assert moment_at(found, "2031-05-04T14:00+02:00") == moment_at(found, "now") == found.now
    assert moment_at(found, found.now.code) == found.now
    with pytest.raises(BadInput, match="a step that was done"):
        moment_at(found, "99Z")


def test_the_next_settings_follow_from_the_wafer_and_say_from_which_reading(tmp_path):
    desk.new(tmp_path / "switch", "humidity-switch")
    record = tmp_path / "switch" / "record.sqlite"
    lot = desk.run(tmp_path / "switch" / "plan.yaml", wafers=2, record=record).lot
    desk.log(lot, "02A", mark="finish", record=record)
    desk.log(lot, "02A", measured=["thickness=72 nm +- 1 nm"], wafer="W1", record=record)
    with Bench.open(record) as bench:
        answers = Answers(bench)
        first, second = (answers.planned(lot, each) for each in ("W1", "W2"))
        plan = [step.number for step in bench.flow(lot).steps]
    assert first.next.standing == "ahead"
    assert [each.number for each in first.steps] == plan
    assert first.step(first.next.code) == first.next
    (end,) = first.step("04A").moved
    # The time to the end point grows with the film: 72 nm for 60 nm.
    was, now = (float(text.split()[0]) for text in (end.planned, end.now))
    assert now / was == pytest.approx(72 / 60, rel=0.01)
    assert any("72 nm" in why and "02A" in why for why in end.because)
    assert not [each for step in second.steps for each in step.moved]


def test_the_page_shows_every_entry_and_what_became_of_it(begun):
    bench, lot, _ = begun
    found = wafer_page(bench, lot, "W1")
    assert [each.holds for each in reversed(found.lines)] == ["holds", "holds", "corrected", "holds", "holds"]
    assert [each.words for each in found.readings] == ["measured: thickness 96 nm"]
    (correction,) = [each for each in found.lines if each.corrects]
    assert "960 nm" in correction.corrects
    piece = wafer_page(bench, lot, "W1.a")
    assert piece.piece.ancestry == ("W1",)
    assert {each.of for each in piece.lines} == {"", "W1"}
    assert wafer_page(bench, lot, "W1", at=99).place == len(found.wafer.moments) - 1
    bench.emulation = None
    assert wafer_page(bench, lot, "W1").wafer is None


def test_a_wafer_that_came_from_another_lot_brings_what_was_done_there(begun):
    bench, lot, platinum = begun
    bench.store.append([entry(lot, "leave", 60, wafer="W1", name="B7M-4H7")])
    other = bench.lot(lot)
    with Store.open(bench.place) as store:
        from dataclasses import replace

        store.start_lot(replace(other, name="B7M-4H7", wafers=("W9",), started="2031-05-04T13:00:00+02:00"))
        store.append([entry("B7M-4H7", "enter", 61, wafer="W1", name=lot, step=platinum)])
    found = bench.emulation.as_run("B7M-4H7", "W1")
    assert found.problems == ()
    assert found.now.lot == lot
    assert platinum_of(found) == pytest.approx(96.0)
    assert bench.emulation.planned("B7M-4H7", "W1").next.number == platinum
