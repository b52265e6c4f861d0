"""A tap is kept once, whole, and never over somebody else's; what cannot be kept at once is an answer, not a loss."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from filmwright.desk.bench import Bench
from filmwright.desk.bench.entries import Tap, Wanted, enter, enter_all
from filmwright.desk.bench.step_card import step_card
from filmwright.errors import BadInput
from filmwright.record import Lot, Store

LOT = "K7M-4H7"


def without_a_look(lot_named: Callable[..., Lot]) -> Lot:
    """A lot of two wafers whose etch has no look before it: these tests are of taps alone."""
    text = lot_named(LOT).flow_text
    bare = text.replace("  - pattern: pads\n    resist: positive 1.3 um\n", "  - clean: solvent clean\n")
    assert bare != text
    return lot_named(LOT, plan=bare)


@pytest.fixture
def bench(tmp_path: Path, lot_named: Callable[..., Lot]) -> Iterator[Bench]:
    """A record with that lot."""
    with Store.open(tmp_path / "record.sqlite", create=True) as store:
        store.start_lot(without_a_look(lot_named))
        yield Bench(store)


def tap(*entries: Wanted, step: str = "4.1", seen: int | None = 0, **more: Any) -> Tap:
    return Tap(id=str(uuid.uuid4()), lot=LOT, step=step, entries=entries, seen=seen, **{"who": "AB", **more})


def kinds(bench: Bench) -> list[str]:
    return [each.kind for each in bench.written(LOT)]


START, FINISH = Wanted(kind="start"), Wanted(kind="finish")


def setting(value: str, unit: str = "s", name: str = "time") -> Wanted:
    return Wanted(kind="set", name=name, value=value, unit=unit)


@pytest.mark.whole
def test_a_tap_is_kept_whole_and_only_once(bench: Bench) -> None:
    one = tap(START, setting("20"), FINISH, wafers=("W1", "W2"))
    first, again = enter(bench, one), enter(bench, one)
    assert (first.state, again.state) == ("kept", "already there")
    assert kinds(bench) == ["start", "start", "set", "set", "finish", "finish"]
    assert {each.value for each in bench.written(LOT) if each.kind == "set"} == {20.0}
    assert first.position == again.position == 6


@pytest.mark.whole
def test_a_problem_in_one_part_keeps_nothing(bench: Bench) -> None:
    with pytest.raises(BadInput):
        enter(bench, tap(START, setting("-3"), FINISH))
    assert kinds(bench) == []


@pytest.mark.whole
def test_a_slip_is_asked_about_and_a_second_tap_keeps_it_with_a_trace(bench: Bench) -> None:
    wrong = tap(setting("20", "min"))
    asked = enter(bench, wrong)
    assert asked.state == "question"
    assert "did you mean 20 s?" in asked.said
    assert kinds(bench) == []
    sure = Tap(**{**vars(wrong), "sure": True})
    assert enter(bench, sure).state == "kept"
    entered, remark = bench.written(LOT)
    assert (entered.value, entered.unit) == (1200.0, "min")
    assert (remark.kind, remark.name, remark.about) == ("acknowledge", "slip", entered.id)
    assert "did you mean 20 s?" in remark.text
    assert enter(bench, sure).state == "already there"


@pytest.mark.whole
def test_the_second_at_the_same_step_is_told_who_did_what_when(bench: Bench) -> None:
    enter(bench, tap(START, FINISH, who="CD", happened="2026-01-05T14:02:00+02:00"))
    late = tap(START, setting("21"), FINISH)
    answer = enter(bench, late)
    assert answer.state == "conflict"
    assert answer.said == "CD finished this step at 14:02"
    assert [each.what for each in answer.newer] == ["started this step", "finished this step"]
    assert answer.mine == ("start", "time 21 s", "finish")
    assert kinds(bench) == ["start", "finish"]


@pytest.mark.whole
def test_theirs_hold_and_mine_stays_as_a_note(bench: Bench) -> None:
    enter(bench, tap(START, FINISH, who="CD"))
    late = tap(START, setting("21"), FINISH)
    seen = enter(bench, late).position
    chosen = Tap(**{**vars(late), "choice": "theirs", "seen": seen})
    assert enter(bench, chosen).state == "kept"
    assert enter(bench, chosen).state == "already there"
    note = bench.written(LOT)[-1]
    assert kinds(bench) == ["start", "finish", "note"]
    assert "time 21 s" in note.text


@pytest.mark.whole
def test_mine_hold_as_corrections_and_theirs_stay_readable(bench: Bench) -> None:
    enter(bench, tap(START, setting("20"), FINISH, who="CD"))
    late = tap(setting("21"), FINISH)
    seen = enter(bench, late).position
    chosen = Tap(**{**vars(late), "choice": "mine", "seen": seen})
    assert enter(bench, chosen).state == "kept"
    assert [each.value for each in bench.events(LOT) if each.kind == "set"] == [21.0]
    assert [each.value for each in bench.written(LOT) if each.kind == "set"] == [20.0, 21.0]
    assert len([each for each in bench.events(LOT) if each.kind == "finish"]) == 1


@pytest.mark.whole
def test_a_choice_made_before_a_third_person_wrote_is_asked_again(bench: Bench) -> None:
    enter(bench, tap(START, who="CD"))
    late = tap(FINISH)
    seen = enter(bench, late).position
    enter(bench, tap(FINISH, seen=1, who="EF"))
    answer = enter(bench, Tap(**{**vars(late), "choice": "mine", "seen": seen}))
    assert answer.state == "conflict"
    assert "EF" in answer.said


@pytest.mark.whole
def test_two_wafers_at_one_step_do_not_stand_in_each_others_way(bench: Bench) -> None:
    assert enter(bench, tap(START, wafers=("W1",))).state == "kept"
    assert enter(bench, tap(START, wafers=("W2",), who="CD")).state == "kept"
    assert enter(bench, tap(FINISH, wafers=("W1",), seen=1)).state == "kept"
    assert (
        enter(bench, tap(FINISH, who="CD", seen=2)).state == "conflict"
    )  # all wafers: one was finished since


@pytest.mark.whole
def test_a_note_beside_somebody_elses_work_is_kept_and_hides_nothing(bench: Bench) -> None:
    enter(bench, tap(START, FINISH, who="CD"))
    kept = enter(bench, tap(Wanted(kind="note", text="bubbles at the rim")))
    assert kept.state == "kept"
    # What the page had seen is not moved past what it never showed.
    assert enter(bench, tap(FINISH, seen=kept.position)).state == "conflict"


@pytest.mark.whole
def test_what_is_taken_back_leaves_a_trace(bench: Bench) -> None:
    kept = enter(bench, tap(setting("20")))
    enter(bench, tap(Wanted(kind="withdraw", about=kept.events[0].id), seen=kept.position))
    assert kinds(bench) == ["set", "withdraw"]
    assert bench.events(LOT) == ()
    lines = step_card(bench, LOT, "04A").entries
    assert [each.taken_back for each in lines] == [False, True]


@pytest.mark.whole
def test_a_device_whose_clock_is_wrong_tells_times_of_the_server(bench: Bench) -> None:
    """A tablet that woke up in 1970 and sends after a minute: what it did was a minute ago."""
    import datetime

    enter(bench, tap(START, happened="1970-01-01T00:10:00+00:00", clock="1970-01-01T00:11:00+00:00"))
    (event,) = bench.written(LOT)
    ago = datetime.datetime.now().astimezone() - datetime.datetime.fromisoformat(event.happened)
    assert 55 <= ago.total_seconds() <= 120


@pytest.mark.whole
@pytest.mark.parametrize(
    "wanted", [Wanted(kind="hold", name="perhaps"), Wanted(kind="hold", name="scrap"), Wanted(kind="flow")]
)
def test_decisions_need_a_known_word_and_scrap_a_reason(wanted: Wanted) -> None:
    with pytest.raises(BadInput):
        tap(wanted)


@pytest.mark.whole
def test_a_queue_is_kept_in_its_order_and_one_problem_stops_only_its_own_step(bench: Bench) -> None:
    taps = (
        tap(START, step="1.1"), tap(FINISH, step="1.1"), tap(START, step="2.1"),
        tap(setting("-1"), step="2.1"), tap(FINISH, step="2.1"), tap(START, step="3.1"),
    )  # fmt: skip
    states = [each.state for each in enter_all(bench, taps)]
    assert states == ["kept", "kept", "kept", "refused", "later", "kept"]
    assert [(each.step, each.kind) for each in bench.written(LOT)] == [
        ("1.1", "start"), ("1.1", "finish"), ("2.1", "start"), ("3.1", "start"),
    ]  # fmt: skip


@pytest.mark.property
@settings(max_examples=25)
@given(cuts=st.lists(st.integers(0, 12), max_size=6))
def test_however_often_the_network_breaks_each_tap_is_there_once_and_in_order(
    tmp_path_factory: pytest.TempPathFactory, cuts: list[int], lot_named: Any
) -> None:
    """The beginning of the queue arrives again and again because its answers were lost; then all of it."""
    steps = ["1.1", "2.1", "3.1", "4.1", "4.2", "5.1"]
    taps = tuple(tap(kind, step=step) for step in steps for kind in (START, FINISH))
    with Store.open(tmp_path_factory.mktemp("cut") / "record.sqlite", create=True) as store:
        store.start_lot(without_a_look(lot_named))
        bench = Bench(store)
        for cut in cuts:
            enter_all(bench, taps[:cut])
        assert {each.state for each in enter_all(bench, taps)} <= {"kept", "already there"}
        assert [(each.step, each.kind) for each in bench.written(LOT)] == [
            (step, kind) for step in steps for kind in ("start", "finish")
        ]
