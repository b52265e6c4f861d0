"""Counts before medians, and splits compared by wafer."""

import math

import numpy as np
import pytest
from scipy import stats

from filmwright.learn import DeviceOutcome, SplitValue, compare_splits, wilson_interval, yield_by_cause


def outcomes():
    works = [
        DeviceOutcome(wafer="A", device=f"T{i}", parameters={"threshold_voltage": 1 + 0.1 * i})
        for i in range(5)
    ]
    leaky = [DeviceOutcome(wafer="A", device=f"L{i}", cause="gate leakage",
    parameters={"threshold_voltage": 90.0})
             for i in range(3)]  # fmt: skip
    return [*works, *leaky, DeviceOutcome(wafer="B", device="T0", cause="open contact")]


@pytest.mark.analytic
def test_counts_come_first_and_add_up_and_medians_are_of_working_devices_only():
    found = yield_by_cause(outcomes())
    assert [(each.cause, each.count) for each in found.causes] == [
        ("works", 5),
        ("gate leakage", 3),
        ("open contact", 1),
    ]
    assert sum(each.count for each in found.causes) == found.devices == 9
    assert found.medians["threshold_voltage"].median == pytest.approx(1.2)
    assert found.medians["threshold_voltage"].count == 5
    assert (found.wafers, found.warnings) == (2, ())


@pytest.mark.analytic
def test_one_wafer_is_one_wafer_and_no_working_device_is_said():
    found = yield_by_cause([DeviceOutcome(wafer="A", device=str(i), cause="short") for i in range(40)])
    assert found.causes[0].cause == "works"
    assert found.causes[0].count == 0
    assert 0 < found.causes[0].high < 0.1
    assert found.medians == {}
    assert found.warnings[0].startswith("40 devices on one wafer are one wafer")


@pytest.mark.analytic
def test_each_device_counts_once():
    with pytest.raises(ValueError, match="counts once"):
        yield_by_cause([*outcomes(), outcomes()[0]])
    with pytest.raises(ValueError, match="at least one"):
        yield_by_cause([])


@pytest.mark.reference
@pytest.mark.parametrize(("count", "total"), [(0, 10), (10, 10), (3, 7), (450, 1000), (1, 1)])
def test_the_interval_of_a_share(count, total):
    expected = stats.binomtest(count, total).proportion_ci(method="wilson")
    assert wilson_interval(count, total) == pytest.approx((expected.low, expected.high), abs=1e-12)


def split(*wafers, day=""):
    return [SplitValue(wafer=name, value=v, day=day) for name, values in wafers for v in values]


@pytest.mark.reference
def test_splits_are_compared_by_the_medians_of_their_wafers():
    first = split(("A", [1.0, 1.1, 9.0]), ("B", [1.3, 1.3]), ("C", [0.9]))
    second = split(("D", [2.0]), ("E", [2.4, 2.5, 2.6]))
    found = compare_splits(first, second)
    one, two = [1.1, 1.3, 0.9], [2.0, 2.5]
    expected = stats.ttest_ind(two, one, equal_var=False).confidence_interval()
    assert found.difference == pytest.approx(np.mean(two) - np.mean(one))
    assert (found.low, found.high) == pytest.approx((expected.low, expected.high))
    assert (found.wafers, found.devices, found.warnings) == ((3, 2), (6, 4), ())


@pytest.mark.property
def test_forty_devices_on_one_wafer_cannot_tell():
    draw = np.random.default_rng(8)
    found = compare_splits(split(("A", draw.normal(1, 0.01, 40))), split(("B", draw.normal(2, 0.01, 40))))
    assert found.differs is None
    assert (found.low, found.high) == (-math.inf, math.inf)
    assert sum("40 devices on one wafer are one wafer" in each for each in found.warnings) == 2


@pytest.mark.analytic
def test_the_day_of_a_split_may_be_the_cause():
    first = split(("A", [1.0]), ("B", [1.1]), day="2031-05-04")
    second = split(("C", [2.0]), ("D", [2.1]), day="2031-05-05")
    found = compare_splits(first, second)
    assert found.differs is True
    assert any("different days" in each for each in found.warnings)
    mixed = compare_splits(first, second + split(("E", [2.2]), day="2031-05-04"))
    assert not any("different days" in each for each in mixed.warnings)
    both = compare_splits(first, split(("A", [2.0]), ("D", [2.1])))
    assert any("in both splits" in each for each in both.warnings)


@pytest.mark.property
def test_equal_splits_are_called_different_in_5_of_100_cases():
    draw = np.random.default_rng(9)
    differs = 0
    for _ in range(1500):
        values = [
            split(*((f"{side}{i}", [value]) for i, value in enumerate(draw.normal(size=5)))) for side in "ab"
        ]
        differs += bool(compare_splits(*values).differs)
    # Welch's interval is slightly wide at five wafers; four standard deviations of a binomial count: 0.0225.
    assert differs / 1500 == pytest.approx(0.047, abs=0.0225)
