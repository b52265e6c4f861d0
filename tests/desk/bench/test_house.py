"""An open record answers from what it has read, and reads what is new."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from filmwright.desk.bench import Bench
from filmwright.record import Event, Lot


@pytest.mark.analytic
def test_what_is_written_is_seen_at_the_next_look(bench: Bench, entry: Callable[..., Event]) -> None:
    assert bench.progress("K7M-4H7").next == "1.1"
    bench.store.append([entry("start", "1.1"), entry("finish", "1.1")])
    assert bench.progress("K7M-4H7").next == "2.1"
    assert bench.head("K7M-4H7") == 2
    assert bench.seen("K7M-4H7", "1.1") == 2
    assert bench.seen("K7M-4H7", "2.1") == 0


@pytest.mark.analytic
def test_a_flow_is_parsed_once_and_a_progress_is_kept_until_something_is_written(
    bench: Bench, entry: Callable[..., Event]
) -> None:
    assert bench.flow("K7M-4H7") is bench.flow("K7M-4H7")
    first = bench.progress("K7M-4H7")
    assert bench.progress("K7M-4H7") is first
    bench.store.append([entry("note", "1.1", text="hello")])
    assert bench.progress("K7M-4H7") is not first


@pytest.mark.analytic
def test_heads_tell_of_every_lot(
    bench: Bench, entry: Callable[..., Event], lot_named: Callable[..., Lot]
) -> None:
    bench.store.start_lot(lot_named("M3R-77X"))
    bench.store.append([entry("start", "1.1")])
    assert list(bench.heads().items()) == [("K7M-4H7", 1), ("M3R-77X", 0)]
    assert [lot.name for lot in bench.lots()] == ["K7M-4H7", "M3R-77X"]


@pytest.mark.analytic
def test_pieces_and_wafers_that_entered_can_be_written_about(
    bench: Bench, entry: Callable[..., Event]
) -> None:
    bench.store.append([entry("cleave", wafer="W1", name="W1.a"), entry("finish", "1.1", wafer="W1.a")])
    bench.store.append([entry("enter", wafer="W7", name="M3R-77X"), entry("finish", "1.1", wafer="W7")])
    assert bench.progress("K7M-4H7").piece("W7").came_from == "M3R-77X"
