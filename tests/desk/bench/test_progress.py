"""How far each wafer has come, by what was written down."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from filmwright.desk.bench import Progress, progress_of
from filmwright.flow import Flow
from filmwright.record import Event

Make = Callable[..., Event]


@pytest.fixture
def told(flow: Flow) -> Callable[..., Progress]:
    """The progress of two wafers after some entries."""

    def tell(*events: Event) -> Progress:
        return progress_of("K7M-4H7", flow.steps, events, ("W1", "W2"))

    return tell


def states(progress: Progress, wafer: str) -> dict[str, str]:
    return {step.number: state for step, state in zip(progress.steps, progress.states[wafer], strict=True)}


def done(entry: Make, *steps: str, wafer: str = "") -> list[Event]:
    return [entry(kind, step, wafer=wafer) for step in steps for kind in ("start", "finish")]


PRINT = ("3.1", "3.2", "3.3", "3.4", "3.5", "3.6", "3.7")


@pytest.mark.analytic
def test_a_new_lot_waits_for_its_first_step(told: Callable[..., Progress]) -> None:
    progress = told()
    assert states(progress, "W1")["1.1"] == "ready"
    assert set(progress.states["W1"][1:]) == {"waiting"}
    assert progress.next == "1.1"
    assert not progress.finished


@pytest.mark.analytic
def test_a_step_runs_until_it_is_finished_and_then_the_next_is_ready(
    told: Callable[..., Progress], entry: Make
) -> None:
    start = entry("start", "1.1", wafer="W1")
    running = told(start)
    assert states(running, "W1")["1.1"] == "running"
    assert running.piece("W1").running == "1.1"
    assert states(running, "W2")["1.1"] == "ready"
    over = told(start, entry("finish", "1.1", wafer="W1", who="CD"))
    assert states(over, "W1")["1.1"] == "done"
    assert over.piece("W1").next == "2.1"
    assert over.cell("W1", "1.1").who == "CD"


@pytest.mark.analytic
def test_an_inspection_holds_until_somebody_decides(told: Callable[..., Progress], entry: Make) -> None:
    written = done(entry, "1.1", "2.1", *PRINT)
    held = told(*written)
    assert states(held, "W1")["3.7"] == "held"
    assert states(held, "W1")["4.1"] == "waiting"
    assert {(hold.wafer, hold.step, hold.before) for hold in held.holds} == {
        ("W1", "3.7", "4.1"),
        ("W2", "3.7", "4.1"),
    }
    gone = told(*written, entry("hold", "3.7", name="go", text="edges straight", wafer="W1"))
    assert states(gone, "W1")["3.7"] == "done"
    assert states(gone, "W1")["4.1"] == "ready"
    assert states(gone, "W2")["3.7"] == "held"


@pytest.mark.analytic
def test_rework_goes_back_to_the_first_step_of_the_print_and_every_visit_counts(
    told: Callable[..., Progress], entry: Make
) -> None:
    written = done(entry, "1.1", "2.1", *PRINT)
    written.append(entry("hold", "3.7", name="rework", text="residue", wafer="W1"))
    back = told(*written)
    assert [states(back, "W1")[step] for step in PRINT] == ["rework"] * 7
    assert back.piece("W1").next == "3.1"
    written += done(entry, *PRINT[:3], wafer="W1")
    halfway = told(*written)
    assert [states(halfway, "W1")[step] for step in PRINT] == ["done"] * 3 + ["rework"] * 4
    assert len(halfway.cell("W1", "3.3").visits) == 2
    assert len(halfway.cell("W2", "3.3").visits) == 1
    again = told(*written, *done(entry, *PRINT[3:], wafer="W1"))
    assert states(again, "W1")["3.7"] == "held", "a new print is looked at anew"


@pytest.mark.analytic
def test_scrap_ends_a_wafer_and_the_lot_goes_on(told: Callable[..., Progress], entry: Make) -> None:
    progress = told(*done(entry, "1.1"), entry("hold", "1.1", name="scrap", text="dropped", wafer="W1"))
    assert progress.piece("W1").standing == "scrapped"
    assert states(progress, "W1") == {
        "1.1": "done",
        **dict.fromkeys(list(states(progress, "W1"))[1:], "scrapped"),
    }
    after = told(*done(entry, "1.1"), entry("hold", "1.1", name="scrap", wafer="W1"), *done(entry, "2.1"))
    assert states(after, "W2")["2.1"] == "done"
    assert states(after, "W1")["2.1"] == "scrapped", "an entry of all wafers is not of one that is gone"


@pytest.mark.analytic
def test_a_piece_has_the_history_of_its_wafer_up_to_the_cut(
    told: Callable[..., Progress], entry: Make
) -> None:
    progress = told(
        *done(entry, "1.1"),
        entry("place", wafer="W1", name="location", text="box 3"),
        entry("cleave", wafer="W1", name="W1.a"),
        *done(entry, "2.1", wafer="W1"),
    )  # fmt: skip
    piece = progress.piece("W1.a")
    assert (piece.parent, piece.ancestry, piece.location) == ("W1", ("W1",), "box 3")
    assert progress.piece("W1").children == ("W1.a",)
    assert states(progress, "W1.a")["1.1"] == "done"
    assert states(progress, "W1.a")["2.1"] == "ready"
    assert [each.name for each in progress.pieces] == ["W1", "W1.a", "W2"]


@pytest.mark.analytic
def test_a_wafer_that_left_is_away_until_it_comes_back(told: Callable[..., Progress], entry: Make) -> None:
    leave = entry("leave", wafer="W2", name="M3R-77X")
    gone = told(*done(entry, "1.1"), leave, *done(entry, "2.1"))
    assert gone.piece("W2").standing == "away"
    assert gone.piece("W2").went_to == "M3R-77X"
    assert states(gone, "W2")["2.1"] == "away"
    home = told(
        *done(entry, "1.1"), leave, *done(entry, "2.1"), entry("enter", "3.1", wafer="W2", name="M3R-77X")
    )
    assert states(home, "W2")["2.1"] == "away"
    assert home.piece("W2").next == "3.1"


@pytest.mark.analytic
def test_a_timer_runs_until_its_step_is_finished(told: Callable[..., Progress], entry: Make) -> None:
    timer = entry("timer", "1.1", name="soak", value=300.0, unit="s", at="2031-05-04T09:00:00+02:00")
    (open_timer,) = told(entry("start", "1.1"), timer).timers
    assert open_timer.ends == "2031-05-04T09:05:00+02:00"
    finish = entry("finish", "1.1", at="2031-05-04T09:04:00+02:00")
    assert told(entry("start", "1.1"), timer, finish).timers == ()


@pytest.mark.analytic
def test_a_split_says_what_each_wafer_is_to_get(told: Callable[..., Progress], entry: Make) -> None:
    progress = told(
        entry("split", "2.1", wafer="W1", name="thickness", value=50e-9, unit="nm", text="thin"),
        entry("split", "2.1", wafer="W2", name="thickness", value=70e-9, unit="nm", text="thick"),
        entry("split", wafer="W1", name="variant", text="annealed"),
    )  # fmt: skip
    assert [(each.step, each.variant, each.wafers) for each in progress.splits] == [
        ("", "annealed", ("W1",)), ("2.1", "thin", ("W1",)), ("2.1", "thick", ("W2",)),
    ]  # fmt: skip
    assert progress.cell("W2", "2.1").planned["thickness"].value == 70e-9
    assert progress.piece("W1").variant == "annealed"


@pytest.mark.analytic
def test_a_step_skipped_ahead_of_time_does_not_tell_that_those_before_it_were_done(
    told: Callable[..., Progress], entry: Make
) -> None:
    progress = told(entry("skip", "5.1", text="resist stays on"))
    assert progress.piece("W1").next == "1.1"
    assert states(progress, "W1")["5.1"] == "skipped"


@pytest.mark.analytic
def test_going_back_asks_for_all_that_follows_again_and_begins_nothing(
    told: Callable[..., Progress], entry: Make
) -> None:
    written = [*done(entry, "1.1", *PRINT[:3]), entry("rework", "3.1", text="specks", wafer="W1")]
    back = told(*written)
    assert [states(back, "W1")[step] for step in PRINT[:4]] == ["rework"] * 3 + ["waiting"]
    assert (back.piece("W1").next, back.piece("W1").running) == ("3.1", "")
    assert back.cell("W1", "3.1").why == "specks"
    again = told(*written, entry("start", "3.1", wafer="W1"))
    assert again.piece("W1").running == "3.1"
    assert [visit.why for visit in again.cell("W1", "3.1").visits] == ["", "specks"]


@pytest.mark.analytic
def test_what_is_measured_late_of_a_print_that_goes_back_belongs_to_that_print(
    told: Callable[..., Progress], entry: Make
) -> None:
    progress = told(
        *done(entry, "1.1", "2.1", *PRINT), entry("hold", "3.7", name="rework", text="residue", wafer="W1"),
        entry("measured", "3.6", wafer="W1", name="line width", value=5e-6, unit="um"),
    )  # fmt: skip
    assert progress.piece("W1").next == "3.1"
    assert list(progress.cell("W1", "3.6").visits[0].measured) == ["line width"]


@pytest.mark.analytic
def test_paper_that_is_typed_in_late_stands_where_it_happened(
    told: Callable[..., Progress], entry: Make
) -> None:
    """A print was done on paper and sent back at the bench afterwards: the paper tells of the print before."""
    late = entry("finish", "3.1", wafer="W1", at="2021-05-04T07:00:00+02:00")
    back = entry("rework", "3.1", wafer="W1", text="specks", at="2021-05-04T07:30:00+02:00")
    paper = [replace(each, happened="2021-05-04T06:30:00+02:00") for each in done(entry, "3.1", wafer="W1")]
    progress = told(late, back, *paper)
    assert progress.piece("W1").next == "3.1"
    assert states(progress, "W1")["3.1"] == "rework"


@pytest.mark.analytic
def test_two_clocks_that_differ_by_a_minute_do_not_turn_the_order_round(
    told: Callable[..., Progress], entry: Make
) -> None:
    start = entry("start", "1.1", wafer="W1", at="2021-05-04T09:01:00+02:00")
    finish = entry("finish", "1.1", wafer="W1", at="2021-05-04T09:00:10+02:00")
    assert states(told(start, finish), "W1")["1.1"] == "done"
