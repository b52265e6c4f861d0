"""Wafers change lots and are cut; their past goes with them."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.desk.bench import Bench
from filmwright.desk.bench.lived import life_of
from filmwright.desk.bench.pieces import Move, move, next_piece, parts
from filmwright.errors import BadInput
from filmwright.record import Event, Lot, label_of, lot_name, read_label

Make = Callable[..., Event]
A, B = "K7M-4H7", "M3R-77X"


@pytest.fixture
def two(bench: Bench, lot_named: Callable[..., Lot]) -> Bench:
    """Two lots of the same flow."""
    bench.store.start_lot(lot_named(B, ("W1",)))
    return bench


@pytest.mark.analytic
def test_both_lots_are_told_of_a_move_and_the_past_goes_along(two: Bench, entry: Make) -> None:
    two.store.append(
        [
            entry("finish", "1.1"),
            entry("finish", "2.1", wafer="W2"),
            entry("set", "2.1", name="time", value=90.0, wafer="W2"),
        ]
    )
    leave, enter = move(
        two, Move(lot=A, wafer="W2", to=B, why="together", who="AB", happened="2021-05-04T09:00:00+02:00")
    )
    assert (leave.name, enter.name, enter.wafer, enter.about) == (B, A, "W2", leave.id)
    there = two.progress(B)
    assert there.piece("W2").came_from == A
    assert there.cell("W2", "2.1").state == "done"
    assert there.cell("W2", "2.1").visits[-1].settings["time"].value == 90.0
    assert there.piece("W2").next == "3.1"
    assert two.progress(A).piece("W2").standing == "away"
    assert [(part.lot, part.wafer) for part in parts(two, B, "W2")] == [(A, "W2"), (B, "W2")]
    run = life_of(two, B, "W2").history
    assert [(step.number, dict(step.done)) for step in run.steps] == [("1.1", {}), ("2.1", {"time": 90.0})]


@pytest.mark.analytic
def test_a_name_that_is_taken_becomes_the_next_free_one(two: Bench) -> None:
    _, enter = move(two, Move(lot=A, wafer="W1", to=B))
    assert enter.wafer == "W2"


@pytest.mark.analytic
def test_a_wafer_that_comes_back_keeps_its_name_and_what_was_done_meanwhile(two: Bench, entry: Make) -> None:
    two.store.append([entry("finish", "1.1")])
    move(two, Move(lot=A, wafer="W2", to=B, happened="2021-05-04T08:01:30+02:00"))
    two.store.append([entry("finish", "2.1", lot=B, wafer="W2"), entry("finish", "2.1", lot=A)])
    _, home = move(two, Move(lot=B, wafer="W2", to=A, happened="2021-05-04T09:00:00+02:00"))
    assert home.wafer == "W2"
    assert two.progress(A).cell("W2", "2.1").state == "done"
    assert len(two.progress(A).cell("W2", "2.1").visits) == 1, (
        "the entry of all wafers was not of one that was away"
    )
    assert [part.lot for part in parts(two, A, "W2")] == [A, B, A]
    assert [step.number for step in life_of(two, A, "W2").history.steps] == ["1.1", "2.1"]


@pytest.mark.analytic
def test_a_wafer_with_a_running_step_does_not_leave(two: Bench, entry: Make) -> None:
    two.store.append([entry("start", "1.1")])
    with pytest.raises(BadInput, match="running"):
        move(two, Move(lot=A, wafer="W1", to=B))
    with pytest.raises(BadInput, match="W9"):
        move(two, Move(lot=A, wafer="W9", to=B))


@pytest.mark.analytic
def test_a_correction_in_the_lot_that_was_left_is_seen_in_the_other(two: Bench, entry: Make) -> None:
    done = entry("set", "1.1", name="time", value=60.0)
    two.store.append([done, entry("finish", "1.1")])
    move(two, Move(lot=A, wafer="W2", to=B))
    assert two.progress(B).cell("W2", "1.1").visits[0].settings["time"].value == 60.0
    two.store.append([entry("set", "1.1", name="time", value=90.0, about=done.id)])
    assert two.progress(B).cell("W2", "1.1").visits[0].settings["time"].value == 90.0


@pytest.mark.analytic
def test_a_piece_has_the_past_of_its_wafer_up_to_the_cut(bench: Bench, entry: Make) -> None:
    bench.store.append(
        [
            entry("finish", "1.1"),
            entry("cleave", wafer="W1", name=next_piece(bench.progress(A), "W1")),
            entry("finish", "2.1", wafer="W1"),
        ]
    )
    assert [[e.kind for e in part.events] for part in parts(bench, A, "W1.a")] == [["finish"], ["cleave"]]
    assert [step.number for step in life_of(bench, A, "W1.a").history.steps] == ["1.1"]
    assert [step.number for step in life_of(bench, A, "W1").history.steps] == ["1.1", "2.1"]
    assert next_piece(bench.progress(A), "W1") == "W1.c"
    assert next_piece(bench.progress(A), "W1.a") == "W1.a.a"


@pytest.mark.property
@given(
    st.integers(0, 2_000_000),
    st.integers(1, 25),
    st.integers(1, 25),
    st.sampled_from("acefhjkmnprtwxy"),
    st.sampled_from("acefhjkmnprtwxy"),
)
def test_a_label_of_another_wafer_or_piece_is_noticed(
    number: int, one: int, two: int, a: str, b: str
) -> None:
    """A slip in one digit of the number or in the letter of the piece does not fit the check character."""
    lot = lot_name(number)
    label = label_of(lot, f"W{one}.{a}")
    assert read_label(label.upper().replace(f"W{one}.{a.upper()}", f"W{one}.{a}")) == (lot, f"W{one}.{a}")
    if a != b:
        with pytest.raises(BadInput, match="check character"):
            read_label(label.replace(f".{a}-", f".{b}-"))
    slips = sum(x != y for x, y in zip(str(one), str(two), strict=False))
    if len(str(one)) == len(str(two)) and slips == 1:
        with pytest.raises(BadInput, match="check character"):
            read_label(label.replace(f"W{one}.", f"W{two}."))
