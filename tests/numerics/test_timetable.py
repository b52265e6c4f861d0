"""The earliest timetable against every timetable there is, on a grid small enough to try them all."""

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.numerics import Lag, Task, Timetable, earliest, latest

HOURS = ((0.0, 5.0), (8.0, 12.0))
"""Two openings on a scale of whole hours."""


def tried(tasks, lags, last=13):
    """The least begin of each task over all timetables on whole hours, by trying all of them; None where there is none."""
    good = []
    for begins in itertools.product(range(last), repeat=len(tasks)):
        ends = [begin + task.duration for begin, task in zip(begins, tasks, strict=True)]
        inside = all(
            any(a <= begin and end <= b for a, b in task.open)
            for begin, end, task in zip(begins, ends, tasks, strict=True)
        )
        in_order = all(end <= after for end, after in zip(ends, begins[1:], strict=False))
        if inside and in_order and all(begins[w.second] - ends[w.first] <= w.longest for w in lags):
            good.append(begins)
    return tuple(min(column) for column in zip(*good, strict=True)) if good else None


@pytest.mark.property
@given(
    st.lists(st.integers(0, 4), min_size=1, max_size=4),
    st.lists(st.tuples(st.integers(0, 3), st.integers(0, 3), st.integers(0, 4)), max_size=2),
)
def test_no_timetable_begins_any_task_earlier(durations, pairs):
    tasks = [Task(duration=float(d), open=HOURS) for d in durations]
    lags = [Lag(first=a, second=b, longest=float(w)) for a, b, w in pairs if a < b < len(tasks)]
    found, best = earliest(tasks, lags, 0.0), tried(tasks, lags)
    if best is None:
        assert found.broken or math.isinf(found.begins[-1])
    else:
        assert found.begins == best
        assert not found.broken


@pytest.mark.analytic
def test_a_task_before_a_short_wait_is_put_off_with_the_one_behind_it():
    # Closing is at 5: a task of 2 h that may wait 1 h for one of 3 h begins the next morning if it is not begun by 0.
    tasks = [Task(duration=1.0, open=HOURS), Task(duration=2.0, open=HOURS), Task(duration=2.0, open=HOURS)]
    assert earliest(tasks, [], 1.0).begins == (1.0, 2.0, 8.0)
    assert earliest(tasks, [Lag(first=1, second=2, longest=1.0)], 1.0).begins == (1.0, 8.0, 10.0)


@pytest.mark.analytic
def test_a_wait_shorter_than_what_lies_within_it_is_left_out_and_told():
    tasks = [Task(duration=1.0, open=HOURS)] * 3
    lag = Lag(first=0, second=2, longest=0.5)
    assert earliest(tasks, [lag], 0.0) == Timetable(begins=(0.0, 1.0, 2.0), broken=(lag,))


@pytest.mark.analytic
def test_a_task_longer_than_every_opening_never_begins():
    assert earliest([Task(duration=6.0, open=HOURS)], [], 0.0).begins == (math.inf,)


@pytest.mark.analytic
def test_the_latest_begin_leaves_room_for_what_is_tied_and_keeps_the_wait():
    tasks = [Task(duration=1.0, open=HOURS)] * 3
    lag = Lag(first=0, second=1, longest=0.5)
    table = earliest(tasks, [lag], 0.0)
    free = latest(tasks, [lag], table, [5.0] * 3, [False] * 3)
    assert [each.begin for each in free] == [4.0, 1.5, 4.0]
    assert free[1].lag == lag
    tied = latest(tasks, [], table, [5.0] * 3, [True, True, False])
    assert [each.begin for each in tied] == [2.0, 3.0, 4.0]


@pytest.mark.analytic
@pytest.mark.parametrize("duration", [-1.0, math.nan, math.inf])
def test_a_duration_that_is_none_is_refused(duration):
    with pytest.raises(ValueError, match="duration"):
        Task(duration=duration, open=HOURS)
