"""What is to be done now, the run as a table, and a lot after a pause."""

from __future__ import annotations

import datetime
from collections.abc import Callable

import pytest

from filmwright.desk.bench import Bench, HandOver, all_lots, grid, hand_over, today, where_was_i
from filmwright.errors import BadInput
from filmwright.record import Event, Lot

Make = Callable[..., Event]
A = "K7M-4H7"
NINE = datetime.datetime.fromisoformat("2021-05-04T09:00:00+02:00")
PRINT = ("3.1", "3.2", "3.3", "3.4", "3.5", "3.6", "3.7")
REST = ("4.1", "4.2", "5.1", "5.2", "6.1")


def done(entry: Make, *steps: str, **more: object) -> list[Event]:
    return [entry(kind, step, **more) for step in steps for kind in ("start", "finish")]


@pytest.mark.analytic
def test_a_wait_is_counted_from_the_finish_and_ends_at_a_clock_time(bench: Bench, entry: Make) -> None:
    """From the usual wait on file between a dehydration and the prime, whatever its length."""
    bench.store.append([*done(entry, "1.1", "2.1"), entry("finish", "3.1", at=NINE)])
    (wait,) = {each.longest for each in bench.waits_held(A) if each.first == 2}
    end = NINE + datetime.timedelta(seconds=wait)
    (lot,) = today(bench, (end - datetime.timedelta(seconds=1)).isoformat()).lots
    assert datetime.datetime.fromisoformat(lot.latest) == end
    assert lot.expired == ()
    assert lot.code == "03C"
    (late,) = today(bench, (end + datetime.timedelta(seconds=1)).isoformat()).lots
    assert {(each.wafer, each.back) for each in late.expired} == {("W1", "3.1"), ("W2", "3.1")}
    bench.store.append([entry("start", "3.2", at=NINE)])
    assert not [each for each in today(bench, end.isoformat()).lots[0].waits if each.after == "3.1"]


@pytest.mark.analytic
def test_finished_lots_are_counted_and_the_most_urgent_comes_first(
    bench: Bench, entry: Make, lot_named: Callable[..., Lot]
) -> None:
    for name in ("M3R-77X", "A4C-99Y"):
        bench.store.start_lot(lot_named(name))
    whole = done(entry, "1.1", "2.1", *PRINT, lot="M3R-77X")
    whole += [entry("hold", "3.7", name="go", lot="M3R-77X"), *done(entry, *REST, lot="M3R-77X")]
    bench.store.append(whole)
    bench.store.append([*done(entry, "1.1", "2.1", "3.1", lot="A4C-99Y"), *done(entry, "1.1")])
    told = today(bench, NINE.isoformat())
    assert [lot.name for lot in told.lots] == ["A4C-99Y", A]
    assert told.finished == 1
    assert told.fields()["lots"][1]["next"] == "02A"


@pytest.mark.analytic
def test_the_grid_has_a_row_for_each_step_and_a_cell_for_each_wafer(bench: Bench, entry: Make) -> None:
    bench.store.append(
        [
            *done(entry, "1.1"),
            entry("split", "2.1", wafer="W2", name="thickness", value=7e-8, unit="nm", text="thick"),
        ]
    )
    told = grid(bench, A)
    assert len(told.rows) == len(bench.flow(A).steps)
    assert [cell.state for cell in told.rows[0].cells] == ["done", "done"]
    assert [cell.variants for cell in told.rows[1].cells] == [(), ("thick",)]
    assert told.rows[8].hold
    assert told.rows[9].irreversible
    assert told.fields()["flow"]["version"] == 1


@pytest.mark.analytic
def test_after_a_pause_one_sees_what_is_sure_what_ran_out_and_who_had_it(bench: Bench, entry: Make) -> None:
    bench.store.append(
        [
            *done(entry, "1.1", "2.1"),
            entry("finish", "3.1", at=NINE),
            entry("start", "3.2", wafer="W2", who="CD"),
        ]
    )
    hand_over(bench, HandOver(lot=A, to="EF", who="CD", note="prime W1 first"))
    told = where_was_i(bench, A, "2021-05-20T09:00:00+02:00")
    first, second = told.wafers
    assert (first.sure, first.unsure, first.next) == ("3.1", (), "3.2")
    assert (second.sure, second.unsure) == ("3.1", ("3.2",))
    assert [(each.wafer, each.after) for each in told.expired] == [("W1", "3.1")]
    assert (told.holder, told.note, told.last.who if told.last else "") == ("EF", "prime W1 first", "CD")
    assert not told.safe_now
    assert told.fields()["wafers"][1]["not_finished"] == ["03C"]


@pytest.mark.analytic
def test_wafers_that_waited_too_long_for_the_same_step_are_told_together(bench: Bench, entry: Make) -> None:
    bench.store.append([*done(entry, "1.1", "2.1"), entry("finish", "3.1", at=NINE)])
    told = where_was_i(bench, A, "2021-05-20T09:00:00+02:00")
    assert [[each.wafer for each in alike] for alike in told.expired_together] == [["W1", "W2"]]


@pytest.mark.analytic
def test_a_lot_is_handed_to_somebody(bench: Bench) -> None:
    with pytest.raises(BadInput, match="who takes"):
        hand_over(bench, HandOver(lot=A, to=" "))


@pytest.mark.analytic
def test_a_finished_lot_is_not_read_again_until_somebody_writes_to_it(bench: Bench, entry: Make) -> None:
    bench.store.append(
        [*done(entry, "1.1", "2.1", *PRINT), entry("hold", "3.7", name="go"), *done(entry, *REST)]
    )
    assert today(bench).finished == 1
    later = Bench(bench.store)
    assert today(later).finished == 1
    assert later.going() == ()
    assert later.going_now().heads == {}
    assert [(each.finished, each.present) for each in all_lots(later, 9).lines] == [(True, 2)]
    assert later.books().uses == bench.books().uses
    bench.store.append([entry("rework", "2.1", wafer="W1", text="gaps")])
    assert [each.name for each in today(later).lots] == ["K7M-4H7"]
    assert [(each.finished, each.present) for each in all_lots(later).lines] == [(False, 2)]
