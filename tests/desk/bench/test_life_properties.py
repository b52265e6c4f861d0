"""Whatever is written in whatever order, the life of a lot stays one that can be told."""

from __future__ import annotations

import datetime
import uuid
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.desk.bench import Progress, progress_of, settled
from filmwright.desk.bench.lived import run_on
from filmwright.flow import Flow
from filmwright.record import Event

START = datetime.datetime.fromisoformat("2021-05-04T08:00:00+02:00")
STATES = {"waiting", "ready", "running", "held", "done", "skipped", "rework", "scrapped", "away"}
STEPS = ("1.1", "2.1", "3.1", "3.3", "3.6", "3.7", "4.1", "5.1", "6.1", "9.9")
AT_STEP = ("start", "finish", "set", "seen", "measured", "skip", "repeat", "rework", "note")


@st.composite
def _told(draw: st.DrawFn) -> dict[str, Any]:
    kind = draw(st.sampled_from((*AT_STEP, "hold", "place", "cleave", "leave", "enter", "split", "timer")))
    told: dict[str, Any] = {"kind": kind, "wafer": draw(st.sampled_from(("", "W1", "W2", "W1.a")))}
    if kind in AT_STEP or kind in {"hold", "timer", "split"}:
        told["step"] = draw(st.sampled_from(STEPS))
    if kind == "hold":
        told["name"] = draw(st.sampled_from(("", "go", "rework", "scrap")))
    elif kind == "cleave":
        told |= {"wafer": "W1", "name": "W1.a"}
    elif kind not in {"start", "finish", "skip", "repeat", "rework", "note"}:
        told["name"] = "location" if kind == "place" else "M3R-77X" if kind in {"leave", "enter"} else "time"
    if kind in {"set", "seen", "measured", "timer", "split"}:
        told |= {"value": draw(st.floats(1.0, 100.0)), "unit": "s"}
    return told | {"text": "thin" if kind == "split" else "so it was"}


def _events(told: list[dict[str, Any]]) -> list[Event]:
    found = []
    for k, each in enumerate(told, start=1):
        moment = (START + datetime.timedelta(minutes=k)).isoformat()
        found.append(
            Event(id=str(uuid.UUID(int=k)), lot="K7M-4H7", happened=moment, written=moment, who="AB", **each)
        )
    return found


def _progress(flow: Flow, events: list[Event]) -> Progress:
    return progress_of("K7M-4H7", flow.steps, settled(events), ("W1", "W2"))


LIVES = st.lists(_told(), max_size=40)


@pytest.mark.property
@given(LIVES)
def test_no_sequence_of_entries_breaks_a_progress(flow: Flow, told: list[dict[str, Any]]) -> None:
    """One state per step and wafer; at most one step is ready; a wafer that is gone has nothing next."""
    progress = _progress(flow, _events(told))
    assert {piece.name for piece in progress.pieces} == set(progress.states)
    for piece in progress.pieces:
        states = progress.states[piece.name]
        assert len(states) == len(flow.steps)
        assert set(states) <= STATES
        assert states.count("ready") <= 1
        if piece.standing != "present":
            assert not piece.next
            assert not piece.running
            assert {"ready", "running", "held", "rework"}.isdisjoint(states)
        elif not (piece.next or piece.running):
            assert {"ready", "running", "rework", "waiting"}.isdisjoint(states)
    for hold in progress.holds:
        assert progress.cell(hold.wafer, hold.step).state == "held"


@pytest.mark.property
@given(LIVES, _told())
def test_undoing_an_entry_gives_the_state_before(
    flow: Flow, told: list[dict[str, Any]], more: dict[str, Any]
) -> None:
    """Also when others wrote in between."""
    events = _events([*told, more])
    undo = Event(
        id=str(uuid.UUID(int=999)), lot="K7M-4H7", kind="withdraw", about=events[-1].id, text="slip",
        happened=events[-1].happened, written=events[-1].written,
    )  # fmt: skip
    assert _progress(flow, [*events, undo]) == _progress(flow, events[:-1])


@pytest.mark.property
@given(LIVES, LIVES)
def test_the_order_of_independent_wafers_does_not_matter(
    flow: Flow, one: list[dict[str, Any]], other: list[dict[str, Any]]
) -> None:
    """Entries of one wafer alone commute with those of another."""
    first = [each | {"wafer": "W1"} for each in one if each["kind"] not in {"cleave", "enter", "leave"}]
    second = [each | {"wafer": "W2"} for each in other if each["kind"] not in {"cleave", "enter", "leave"}]
    events = _events([*first, *second])
    a, b = events[: len(first)], events[len(first) :]
    ahead, behind = _progress(flow, [*a, *b]), _progress(flow, [*b, *a])
    assert ahead.states == behind.states
    assert ahead.visits == behind.visits
    assert ahead.pieces == behind.pieces
    assert set(ahead.holds) == set(behind.holds)


@pytest.mark.property
@given(st.lists(st.sampled_from(("1.1", "2.1", "3.1", "3.3", "3.6", "3.7")), min_size=1, max_size=12))
def test_every_visit_that_is_shown_is_one_that_the_wafer_lived(flow: Flow, steps: list[str]) -> None:
    """Steps begun and finished in any order, some again and again: both readers of the record count the same visits."""
    events = _events([{"kind": kind, "step": step} for step in steps for kind in ("start", "finish")])
    progress = _progress(flow, events)
    run = run_on(flow, events, "W1").history
    for step in set(steps):
        lived = [each for each in run.steps if each.number == step and each.started]
        assert len(lived) == len(progress.cell("W1", step).visits) == steps.count(step)


TOLD = st.lists(
    st.tuples(
        st.sampled_from((*AT_STEP, "go", "rework at the look", "stopped")),
        st.sampled_from(STEPS[:-1]),
        st.sampled_from(("", "W1", "W1", "W2")),
        st.sampled_from((0, 0, 0, 1, 240)),
    ),
    max_size=12,
)
DECIDED = {"go": "go", "rework at the look": "rework", "stopped": ""}


@pytest.mark.property
@given(TOLD)
def test_what_is_next_at_the_bench_is_what_the_history_goes_on_with(
    flow: Flow, told: list[tuple[str, str, str, int]]
) -> None:
    """Start, finish, hold, rework, repeat and skip in any order, some told late: progress and history agree on every step.

    Both are held against each other: which steps lie ahead, how often each was gone through, and what was set in each visit.
    """
    events = []
    for k, (what, step, wafer, late) in enumerate(told, start=1):
        more: dict[str, Any] = {"name": DECIDED[what]} if what in DECIDED else {}
        if what in {"set", "seen", "measured"}:
            more = {"name": "time", "value": float(k), "unit": "s"}
        written = START + datetime.timedelta(minutes=5 * k)
        events.append(
            Event(
                id=str(uuid.UUID(int=k)), lot="K7M-4H7", kind="hold" if what in DECIDED else what, step=step,  # type: ignore[arg-type]
                wafer=wafer, happened=(written - datetime.timedelta(minutes=late)).isoformat(),
                written=written.isoformat(), who="AB", text="so it was", **more,
            )
        )  # fmt: skip
    progress = _progress(flow, events)
    for wafer in ("W1", "W2"):
        life = run_on(flow, events, wafer)
        done, ahead = life.flow.steps[: life.done], life.flow.steps[life.done :]
        states = dict(zip((step.number for step in flow.steps), progress.states[wafer], strict=True))
        stopped = {hold.step for hold in progress.holds if hold.wafer == wafer}
        open_ = {number for number, state in states.items() if state in {"waiting", "ready", "rework"}}
        assert {step.number for step in ahead} - stopped == open_ - stopped
        for step in flow.steps:
            if step.number in stopped:
                continue
            been = [
                each for k, each in enumerate(done) if each.number == step.number and k not in life.untold
            ]
            visits = progress.cell(wafer, step.number).visits
            assert [each.done.get("time") for each in been] == [
                entry.value if (entry := visit.settings.get("time")) else None for visit in visits
            ]
            assert [each.finished for each in been if each.finished] == [
                visit.finished for visit in visits if visit.finished
            ]
            if states[step.number] in {"done", "running", "rework"}:
                assert any(each.number == step.number for each in done)
