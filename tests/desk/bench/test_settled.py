"""Corrections stand in the place of what they correct; what was taken back is not told."""

from __future__ import annotations

import uuid
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.desk.bench import settled
from filmwright.record import Event


@pytest.mark.analytic
def test_a_correction_stands_in_the_place_of_what_it_corrects(entry: Callable[..., Event]) -> None:
    first = entry("set", "2.1", name="time", value=41.0, unit="s")
    later = entry("note", "2.1", text="shutter sticks")
    better = entry("set", "2.1", name="time", value=14.0, unit="s", about=first.id)
    assert settled([first, later, better]) == (better, later)


@pytest.mark.analytic
def test_the_last_of_several_corrections_holds_and_taking_it_back_brings_back_the_one_before(
    entry: Callable[..., Event],
) -> None:
    first = entry("set", "2.1", name="time", value=41.0)
    second = entry("set", "2.1", name="time", value=14.0, about=first.id)
    third = entry("set", "2.1", name="time", value=15.0, about=second.id)
    undo = entry("withdraw", about=third.id, text="misread")
    assert settled([first, second, third]) == (third,)
    assert settled([first, second, third, undo]) == (second,)


@pytest.mark.analytic
def test_taking_back_the_first_entry_takes_its_corrections_too(entry: Callable[..., Event]) -> None:
    first = entry("set", "2.1", name="time", value=41.0)
    second = entry("set", "2.1", name="time", value=14.0, about=first.id)
    undo = entry("withdraw", about=first.id, text="of another wafer")
    assert settled([first, second, undo]) == ()
    assert settled([first, undo, entry("withdraw", about=undo.id, text="it was right")]) == (first,)


@pytest.mark.analytic
def test_an_entry_of_another_kind_about_one_is_a_remark(entry: Callable[..., Event]) -> None:
    first = entry("finish", "2.1")
    remark = entry("note", "2.1", text="ran well", about=first.id)
    assert settled([first, remark]) == (first, remark)


@pytest.mark.property
@given(st.lists(st.integers(0, 30), max_size=30), st.data())
def test_undoing_what_was_just_written_tells_what_was_told_before(
    abouts: list[int], data: st.DataObject
) -> None:
    """Whatever was written before, an entry and its withdrawal leave no difference."""
    written: list[Event] = []
    for k, about in enumerate(abouts):
        kind = data.draw(st.sampled_from(["set", "note", "withdraw"])) if written else "set"
        of = written[about % len(written)].id if written and about % 3 else ""
        if kind == "withdraw":
            of = written[about % len(written)].id
        written.append(_event(k, kind, of))
        before = settled(written[:-1])
        undo = _event(100 + k, "withdraw", written[-1].id)
        assert settled([*written, undo]) == before
        assert len({each.id for each in settled(written)}) == len(settled(written)) <= len(written)


def _event(number: int, kind: str, about: str) -> Event:
    moment = "2031-05-04T08:00:00+02:00"
    return Event(
        id=str(uuid.UUID(int=number)), lot="K7M-4H7", kind=kind, step="2.1", name="time", value=1.0,
        text="why", happened=moment, written=moment, about=about,
    )  # fmt: skip
