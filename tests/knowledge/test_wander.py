"""A belief grows old by days and by uses, at the tool's own pace where its history tells one."""

import math
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.knowledge import Calibration, Lab, OwnWander, believe, book
from filmwright.learn import Reading, Wander, filtered, later

FIRST = date(2026, 1, 5)


def believed(readings, uses, on, wanders=()):
    calibrations = tuple(
        Calibration(
            of="deposition rate",
            tool="evaporator",
            material="titanium",
            value=value,
            std=0.1,
            unit="nm/s",
            date=(FIRST + timedelta(days=day)).isoformat(),
        )
        for day, value in readings
    )
    days = tuple((FIRST + timedelta(days=day)).isoformat() for day in uses)
    lab = Lab(name="lab", calibrations=calibrations, uses={"evaporator": days}, wanders=tuple(wanders))
    return believe(
        lab,
        book(),
        of="deposition rate",
        tool="evaporator",
        material="titanium",
        on=(FIRST + timedelta(days=on)).isoformat(),
    )


OWN = OwnWander(
    of="deposition rate",
    tool="evaporator",
    material="titanium",
    per_day=0.03,
    per_use=0.05,
    jump=0.5,
    relative=False,
    points=12,
)


@pytest.mark.analytic
def test_ten_uses_add_ten_variances_of_one():
    usual = book().wears["deposition rate"].value
    idle, used = believed([(0, 5.0)], [], 20), believed([(0, 5.0)], range(1, 11), 20)
    assert used.std**2 - idle.std**2 == pytest.approx(10 * (usual * 5.0) ** 2)
    assert used.value == idle.value == 5.0


@pytest.mark.analytic
def test_uses_up_to_the_day_of_a_reading_are_in_it():
    assert believed([(9, 5.0)], [1, 4, 9], 20).std == believed([(9, 5.0)], [], 20).std
    assert believed([(9, 5.0)], [21, 30], 20).std == believed([(9, 5.0)], [], 20).std


@pytest.mark.analytic
def test_the_tools_own_pace_goes_before_the_usual_one():
    found = believed([(0, 5.0)], [3, 4], 16, [OWN])
    assert found.std == pytest.approx(math.sqrt(0.1**2 + 16 * 0.03**2 + 2 * 0.05**2))
    assert "12 readings of this tool" in found.reason
    elsewhere = [
        OwnWander(**{**vars(OWN), "tool": "sputter"}),
        OwnWander(**{**vars(OWN), "material": "gold"}),
    ]
    assert believed([(0, 5.0)], [3, 4], 16, elsewhere) == believed([(0, 5.0)], [3, 4], 16)


@pytest.mark.property
@given(
    st.lists(st.tuples(st.integers(1, 30), st.floats(-0.1, 0.1)), min_size=1, max_size=8),
    st.lists(st.integers(0, 250), max_size=30),
    st.integers(0, 30),
)
def test_what_is_believed_is_what_the_drift_chart_filters(steps, uses, idle):
    # One belief, not two: knowledge's own and the filter of the chart must be the same random walk.
    day, readings = 0, []
    for gap, off in steps:
        day += gap
        readings.append((day, 5.0 + off))
    found = believed(readings, uses, day + idle, [OWN])
    told = [
        Reading(day=at, value=value, std=0.1, uses=sum(each <= at for each in uses)) for at, value in readings
    ]
    wander = Wander(per_day=0.03, per_use=0.05, jump=0.5)
    used = sum(day < each <= day + idle for each in uses)
    expected = later(filtered(told, wander)[-1], wander, days=idle, uses=used)
    assert found.value == pytest.approx(expected.mean, rel=1e-9)
    assert found.std == pytest.approx(expected.std, rel=1e-9)
