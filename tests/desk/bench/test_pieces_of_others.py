"""A lot that is started with wafers or pieces of other lots, and lots of different flows whose wafers are joined."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from filmwright.desk.bench import Bench, grid
from filmwright.desk.bench.lived import life_of
from filmwright.desk.bench.pieces import Move, check_beginning, move, parts, take_along
from filmwright.errors import BadInput
from filmwright.record import Event, Lot, label_of

Make = Callable[..., Event]
A, B = "K7M-4H7", "M3R-77X"


def begin(bench: Bench, lot: Lot, *labels: str, **more: str) -> Lot:
    """The lot, started with wafers of others."""
    from filmwright.flow import flow_from_text
    from filmwright.knowledge import Lab

    flow = flow_from_text(lot.flow_text, "plan.yaml", Lab(name="no lab file"))
    begun, came = take_along(bench, lot, flow, labels, who="AB", **more)
    bench.store.start_lot(begun, came)
    return begun


@pytest.fixture
def later(lot_named: Callable[..., Lot]) -> Callable[[str], Lot]:
    """A lot that begins when the entries of the first one are done; its plan is ``same``, ``other`` (ends otherwise), ``unlike``.

    In the last one no step has the number that it has in the first one.
    """
    same = lot_named(A).flow_text
    plans = {
        "same": same,
        "other": same.replace("time: 20 s", "until: end point + 25 %").replace(
            "  - measure: step height\n    of: titanium\n", "  - clean: solvent clean\n"
        ),
        "unlike": same.replace("  - clean: solvent clean\n", "", 1),
    }
    return lambda which: replace(lot_named(B, plan=plans[which]), started="2021-05-04T12:00:00+02:00")


@pytest.fixture
def cut(bench: Bench, entry: Make) -> Bench:
    """The clean and the deposition of W1 done, then a piece cut off."""
    done = [entry("finish", "1.1"), entry("set", "2.1", wafer="W1", name="time", value=90.0)]
    bench.store.append([*done, entry("finish", "2.1", wafer="W1"), entry("cleave", wafer="W1", name="W1.a")])
    return bench


@pytest.mark.analytic
def test_a_lot_of_pieces_goes_on_where_they_stood(cut: Bench, later: Callable[[str], Lot]) -> None:
    begun = begin(cut, later("other"), label_of(A, "W1.a"))
    assert begun.wafers == ("W1.a",), "what stands on the carrier stays true"
    piece = cut.progress(B).piece("W1.a")
    assert (piece.standing, piece.came_from, piece.next) == ("present", A, "3.1")
    assert cut.progress(B).cell("W1.a", "2.1").visits[-1].settings["time"].value == 90.0
    assert cut.progress(A).piece("W1.a").standing == "away"
    assert [(part.lot, part.wafer) for part in parts(cut, B, "W1.a")] == [(A, "W1"), (A, "W1.a"), (B, "W1.a")]
    assert [step.number for step in life_of(cut, B, "W1.a").history.steps] == ["1.1", "2.1"]
    (said,) = grid(cut, B).joined
    assert said.alike
    assert said.code == cut.flow(B).steps[2].code


@pytest.mark.analytic
def test_a_lot_of_another_flow_says_which_flow_was_followed(cut: Bench, later: Callable[[str], Lot]) -> None:
    begin(cut, later("unlike"), f"{A} W1.a", at="2.1")
    progress = cut.progress(B)
    assert progress.states["W1.a"][0] == "away"
    assert progress.elsewhere("W1.a", 0) == A
    answer = grid(cut, B)
    assert [row.cells[0].elsewhere for row in answer.rows[:3]] == [A, "", ""]
    (said,) = answer.joined
    assert not said.alike
    assert "followed that lot's flow" in said.said
    assert [step.lot for step in life_of(cut, B, "W1.a").history.steps] == [A, A]


@pytest.mark.analytic
def test_what_both_flows_begin_with_counts_after_a_move(
    cut: Bench, entry: Make, later: Callable[[str], Lot]
) -> None:
    cut.store.start_lot(later("unlike"))
    _, enter = move(cut, Move(lot=A, wafer="W2", to=B))
    assert cut.progress(B).cell(enter.wafer, "1.1").state != "done", "another step has that number"


@pytest.mark.analytic
def test_what_cannot_come_is_said_at_once_and_nothing_is_started(
    cut: Bench, entry: Make, later: Callable[[str], Lot]
) -> None:
    cut.store.append([entry("start", "2.1", wafer="W2")])
    with pytest.raises(BadInput, match="running"):
        begin(cut, later("other"), f"{A} W2")
    with pytest.raises(BadInput, match="check character"):
        begin(cut, later("other"), f"{A} W9-2")
    with pytest.raises(BadInput, match="each once"):
        begin(cut, later("other"), f"{A} W1", f"{A} W1")
    with pytest.raises(BadInput, match="carrier"):
        check_beginning(("X",), (f"{A} W1",), "")
    assert list(cut.heads()) == [A]


@pytest.mark.analytic
def test_two_pieces_of_one_name_get_new_names(cut: Bench, later: Callable[[str], Lot]) -> None:
    begin(cut, later("same"), f"{A} W2")
    third = replace(later("same"), name="NMJ-9JF")
    assert begin(cut, third, f"{A} W1", f"{B} W2").wafers == ("W1", "W2")
    assert cut.progress("NMJ-9JF").piece("W2").came_from == B
    assert [part.lot for part in parts(cut, "NMJ-9JF", "W2")] == [A, B, "NMJ-9JF"]


@pytest.mark.analytic
def test_the_same_start_sent_twice_is_kept_once(cut: Bench, later: Callable[[str], Lot]) -> None:
    from filmwright.flow import flow_from_text
    from filmwright.knowledge import Lab

    flow = flow_from_text(later("other").flow_text, "plan.yaml", Lab(name="no lab file"))
    key = "12345678-1234-4234-8234-123456789abc"
    begun, came = take_along(cut, later("other"), flow, [f"{A} W1.a"], seed=key)
    cut.store.start_lot(begun, came)
    cut.store.start_lot(begun, came)
    assert (cut.head(B), [each.kind for each in cut.written(A)].count("leave")) == (1, 1)
