"""Waits after wrong tries and requests a second, on a clock that the test turns."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.web.limits import FIRST_WAIT, FORGET, FREE, LONGEST_WAIT, Bucket, Counts, Tries


class Clock:
    now = 0.0

    def __call__(self) -> float:
        return self.now


@pytest.mark.analytic
def test_waits_double_after_the_free_tries_and_end_at_the_longest():
    clock = Clock()
    tries = Tries(clock=clock)
    assert [tries.begin("name") for _ in range(FREE)] == [0.0] * FREE
    waits = []
    for _ in range(12):
        waits.append(tries.begin("name"))
        clock.now += waits[-1]
        assert tries.begin("name") == 0.0
    assert waits[:4] == [FIRST_WAIT, 2 * FIRST_WAIT, 4 * FIRST_WAIT, 8 * FIRST_WAIT]
    assert waits[-1] == LONGEST_WAIT
    # A person who guesses without rest gets fewer than a hundred tries a day.
    assert 24 * 3600 / LONGEST_WAIT < 100


@pytest.mark.analytic
def test_a_try_that_has_to_wait_is_not_counted_and_another_name_waits_for_nothing():
    clock = Clock()
    tries = Tries(clock=clock)
    for _ in range(FREE):
        tries.begin("name")
    count = tries.count("name")
    assert tries.begin("name", "address") == FIRST_WAIT
    assert (tries.count("name"), tries.count("address")) == (count, 0)
    assert tries.begin("other", "address") == 0.0


@pytest.mark.analytic
def test_a_right_try_forgives_and_a_day_forgets():
    clock = Clock()
    tries = Tries(clock=clock)
    for _ in range(FREE):
        tries.begin("name")
    tries.forgive("name")
    assert tries.begin("name") == 0.0
    for _ in range(FREE):
        tries.begin("name")
    clock.now += FORGET + 1
    assert tries.begin("name") == 0.0
    assert tries.count("name") == 1


@pytest.mark.analytic
def test_a_right_password_takes_back_its_own_try_of_a_shared_address_only():
    tries = Tries(clock=Clock())
    tries.begin("address")
    tries.begin("address")
    tries.give_back("address")
    assert tries.count("address") == 1


@pytest.mark.property
@given(st.lists(st.floats(min_value=0.0, max_value=3.0), min_size=1, max_size=60))
def test_no_more_requests_pass_than_the_burst_and_the_rate_allow(pauses):
    clock = Clock()
    bucket = Bucket(rate=2.0, burst=5, clock=clock)
    passed = 0
    for pause in pauses:
        clock.now += pause
        passed += bucket.take("key") == 0.0
    assert passed <= 5 + 2.0 * clock.now + 1e-9
    wait = next(w for w in (bucket.take("key") for _ in range(10)) if w > 0.0)
    clock.now += wait + 1e-9
    assert bucket.take("key") == 0.0


@pytest.mark.analytic
def test_what_is_larger_than_the_share_passes_once_and_is_waited_for():
    clock = Clock()
    bucket = Bucket(rate=1.0, burst=10, clock=clock)
    assert bucket.take("key", 4.0) == 0.0
    assert bucket.take("key", 7.0) == pytest.approx(1.0)
    clock.now += 4.0
    assert bucket.take("key", 25.0) == 0.0, "it fits never, so it passes when nothing was taken"
    assert bucket.take("key", 1.0) == pytest.approx(16.0)


@pytest.mark.property
@given(st.lists(st.tuples(st.floats(min_value=0.0, max_value=9.0), st.integers(1, 5)), max_size=30))
def test_counts_of_a_day_are_those_of_the_last_24_hours(noted):
    clock = Clock()
    counts, told = Counts(clock), []
    for pause, times in noted:
        clock.now += pause * 3600
        counts.note("otto", "entries", times)
        told.append((int(clock.now // 3600), times))
    wanted = sum(times for hour, times in told if hour > int(clock.now // 3600) - 24)
    assert counts.today() == ({("otto", "entries"): wanted} if wanted else {})
