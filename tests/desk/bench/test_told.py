"""What a person tells of a lot on the command line and on paper reaches the record as it was meant."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path

import pytest

from filmwright import desk
from filmwright.desk.bench import Bench
from filmwright.desk.bench.typed import Sheet, keep_typed, read_typed
from filmwright.errors import BadInput
from filmwright.flow import SPREAD
from filmwright.record import Event, Lot

A = "K7M-4H7"
WHEN = "2021-05-04T12:00:00+02:00"


@pytest.fixture
def record(bench: Bench, tmp_path: Path) -> Path:
    """The record of the bench."""
    return tmp_path / "record.sqlite"


@pytest.mark.analytic
def test_places_pieces_and_decisions_are_told_in_trade_words(bench: Bench, record: Path) -> None:
    desk.log(
        A,
        wafer="W1",
        told={"place": "dry box 3", "orientation": "flat to the left", "cleave": 2},
        when=WHEN,
        record=record,
    )
    desk.log(A, "01A", mark="finish", when=WHEN, record=record)
    desk.log(A, "01A", wafer="W2", note="scratched", told={"hold": "scrap"}, when=WHEN, record=record)
    told = bench.progress(A)
    assert [piece.name for piece in told.pieces] == ["W1", "W1.a", "W1.c", "W2"]
    assert told.piece("W1.c").location == "dry box 3"
    assert told.piece("W2").standing == "scrapped"
    with pytest.raises(BadInput, match="go, rework, scrap"):
        desk.log(A, "01A", told={"hold": "maybe"}, record=record)
    with pytest.raises(BadInput, match="the wafer of lot"):
        desk.log(A, wafer="W8", told={"cleave": 1}, record=record)


@pytest.mark.analytic
def test_an_entry_is_corrected_and_taken_back_by_its_id(bench: Bench, record: Path) -> None:
    first = desk.log(A, "02A", settings=["time=41 s"], when=WHEN, record=record).events[0].event
    desk.log(A, "02A", settings=["time=14 s"], told={"correct": first.id[:8]}, when=WHEN, record=record)
    assert [each.value for each in bench.events(A)] == [14.0]
    desk.log(A, told={"undo": first.id[:8]}, note="of another lot", when=WHEN, record=record)
    assert bench.events(A) == ()
    assert len(bench.written(A)) == 3
    with pytest.raises(BadInput, match="one entry of kind set"):
        desk.log(A, "02A", seen=["time=14 s"], told={"correct": first.id[:8]}, record=record)
    with pytest.raises(BadInput, match="fits 0"):
        desk.log(A, told={"undo": "ffffffff"}, record=record)


@pytest.mark.analytic
def test_undoing_a_move_tells_both_lots(bench: Bench, record: Path, lot_named: Callable[..., Lot]) -> None:
    bench.store.start_lot(lot_named("M3R-77X", ("W1",)))
    leave, enter = desk.log(A, wafer="W2", told={"move_to": "M3R-77X"}, when=WHEN, record=record).events
    assert bench.progress("M3R-77X").piece("W2").came_from == A
    desk.log("M3R-77X", told={"undo": enter.event.id}, when=WHEN, record=record)
    assert bench.progress(A).piece("W2").standing == "present"
    assert [piece.name for piece in bench.progress("M3R-77X").pieces] == ["W1"]
    assert leave.event.kind == "leave"


@pytest.mark.analytic
def test_a_split_of_a_step_says_what_each_wafer_gets(bench: Bench, record: Path) -> None:
    desk.log(
        A, "02A", split=["thin=W1: thickness=50 nm", "thick=W2: thickness=70 nm"], when=WHEN, record=record
    )
    told = bench.progress(A)
    assert told.cell("W1", "2.1").planned["thickness"].value == pytest.approx(50e-9)
    assert [(each.variant, each.wafers) for each in told.splits] == [("thin", ("W1",)), ("thick", ("W2",))]
    with pytest.raises(BadInput, match="the step of a split"):
        desk.log(A, split=["thin=W1: thickness=50 nm"], record=record)


@pytest.mark.analytic
def test_timers_and_steps_beyond_the_plan(bench: Bench, record: Path) -> None:
    desk.log(A, "01A", told={"timer": "soak=5 min"}, when=WHEN, record=record)
    (timer,) = bench.progress(A).timers
    assert (timer.name, timer.seconds) == ("soak", 300.0)
    desk.log(A, "01A", told={"extra": "clean: solvent clean"}, when=WHEN, record=record)
    with pytest.raises(BadInput):
        desk.log(A, "01A", told={"extra": "bless: resist"}, record=record)


@pytest.mark.analytic
def test_paper_is_typed_back_in_a_line_per_step(bench: Bench) -> None:
    text = (
        "# copied by AB\n2021-05-04\n"
        "01A start ok 14:05 AB\n"
        '02A W2 time=41 s spin speed=3000 rpm seen colour=blue measured thickness=58 nm +- 1 nm ok 14:25 "ran well" CD\n'
    )
    lines = read_typed(bench, Sheet(lot=A, text=text))
    assert bench.head(A) == 0, "reading keeps nothing"
    assert lines[1].said.startswith(
        "02A Deposit titanium; W2; set time 41 s; set spin speed 3000 rpm; seen colour blue"
    )
    keep_typed(bench, Sheet(lot=A, text=text))
    keep_typed(bench, Sheet(lot=A, text=text))
    events = bench.written(A)
    assert [(e.kind, e.name, e.wafer) for e in events] == [
        ("start", "", ""), ("finish", "", ""), ("set", "time", "W2"), ("set", "spin speed", "W2"),
        ("seen", "colour", "W2"), ("measured", "thickness", "W2"), ("measured", "thickness" + SPREAD, "W2"), ("finish", "", "W2"),
    ]  # fmt: skip
    assert (events[4].text, events[5].value, events[7].who) == ("blue", pytest.approx(58e-9), "CD")
    assert events[0].happened.startswith("2021-05-04T14:05")


@pytest.mark.analytic
def test_all_slips_of_a_sheet_come_together(bench: Bench) -> None:
    text = "99Z ok\n02A time=41 parsec ok\n03D banana ok\n05A 25:99 ok\n01A\n"
    with pytest.raises(BadInput) as bad:
        read_typed(bench, Sheet(lot=A, text=text))
    assert [problem.line for problem in bad.value.problems] == [1, 2, 3, 4, 5]


@pytest.mark.analytic
def test_paper_from_the_future_is_told_by_line_and_code_and_a_slip_gets_its_word(bench: Bench) -> None:
    ahead = (datetime.date.today() + datetime.timedelta(days=2)).isoformat()
    with pytest.raises(BadInput) as bad:
        read_typed(bench, Sheet(lot=A, text="01A ok 14:05 AB\n02A tme=41 s ok\n03A ok", day=ahead))
    first, second, *rest = bad.value.problems
    assert (first.line, first.what, first.got) == (1, "the time of 01A", f'"{ahead} 14:05"')
    assert (second.line, second.remedy) == (2, 'did you mean "time"?')
    assert [each.line for each in rest][-1] == 3


@pytest.mark.analytic
def test_a_line_without_a_time_may_be_typed_in_the_morning_of_its_day(bench: Bench) -> None:
    today = datetime.date.today().isoformat()
    sheet = Sheet(lot=A, text="01A ok AB", day=today)
    (line,) = read_typed(bench, sheet)
    assert line.events[0].happened <= line.events[0].written
    assert line.events[0].id == read_typed(bench, sheet)[0].events[0].id, "typed again it is the same entry"


@pytest.mark.analytic
def test_an_irreversible_step_is_not_begun_before_the_look(
    bench: Bench, entry: Callable[..., Event], record: Path
) -> None:
    bench.store.append([entry("finish", f"3.{k}") for k in range(1, 8)])
    with pytest.raises(BadInput, match="hold point 03J"):
        desk.log(A, "04A", mark="start", record=record)
    desk.log(A, "03J", told={"hold": "go"}, when=WHEN, record=record)
    desk.log(A, "04A", mark="start", when=WHEN, record=record)
    assert bench.progress(A).piece("W1").running == "4.1"


@pytest.mark.analytic
@pytest.mark.parametrize("mark", ["start", "finish", "repeat"])
def test_no_mark_begins_an_etch_before_the_look(
    bench: Bench, entry: Callable[..., Event], record: Path, mark: str
) -> None:
    """Neither is it begun by a number that was entered ahead of it; a reason lets it begin."""
    bench.store.append([entry("finish", step) for step in ("1.1", "2.1", "3.1")])
    desk.log(A, "04A", settings=["time=20 s"], when=WHEN, record=record)
    with pytest.raises(BadInput, match="hold point 03J"):
        desk.log(A, "04A", mark=mark, when=WHEN, record=record)
    why = {"mark": mark, "told": {"acknowledge": "hold point"}, "note": "seen at the scope", "when": WHEN}
    desk.log(A, "04A", **why, record=record)  # type: ignore[arg-type]
    assert bench.progress(A).cell("W1", "4.1").state == ("done" if mark == "finish" else "running")


@pytest.mark.analytic
def test_what_was_begun_with_its_look_is_finished_without_another_question(
    bench: Bench, entry: Callable[..., Event], record: Path
) -> None:
    bench.store.append([entry("finish", f"3.{k}") for k in range(1, 8)])
    desk.log(A, "03J", told={"hold": "go"}, when=WHEN, record=record)
    desk.log(A, "04A", mark="start", wafer="W1", when=WHEN, record=record)
    desk.log(A, "04A", mark="finish", wafer="W1", when=WHEN, record=record)
    assert bench.progress(A).cell("W1", "4.1").state == "done"


@pytest.mark.analytic
def test_paper_that_tells_of_an_etch_without_its_look_is_kept_and_says_so(bench: Bench) -> None:
    """The decision counts where it was taken before, on paper or at the bench, in whatever order the lines are typed."""
    kept = keep_typed(
        bench, Sheet(lot=A, text="2021-05-04\n04A W1 start 14:00 ok 14:20 AB\n03J W1 go 15:00 AB\n")
    )
    assert "03J" in kept[0].flag
    assert not kept[1].flag
    (note,) = [each for each in bench.written(A) if each.kind == "note"]
    assert (note.step, note.wafer) == ("4.1", "W1")
    assert "begun without its look" in note.text
    assert bench.progress(A).cell("W1", "4.1").state == "done"
    keep_typed(bench, Sheet(lot=A, text="2021-05-04\n04A W1 start 14:00 ok 14:20 AB\n"))
    assert [each for each in bench.written(A) if each.kind == "note"] == [note], "the same line is kept once"
    (etch, look) = read_typed(
        bench, Sheet(lot=A, text="2021-05-04\n04A W2 ok 14:20 AB\n03J W2 go 14:10 AB\n")
    )
    assert not etch.flag
    assert not look.flag
