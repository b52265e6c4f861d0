"""Several splits, blocks, power and what is confounded."""

import math

import numpy as np
import pytest
from scipy import stats

from filmwright.learn import (
    SplitValue,
    compare_all,
    compare_splits,
    confounded,
    detectable_difference,
    power,
    wafers_needed,
)
from filmwright.learn.splits import holm, welch_analysis


def wafers(names, values, **more):
    return [
        SplitValue(wafer=name, value=float(value), **more) for name, value in zip(names, values, strict=True)
    ]


@pytest.mark.literature
@pytest.mark.parametrize(("size", "count"), [(0.5, 64), (0.8, 26)])
def test_replicates_that_a_difference_needs(size, count):
    # Cohen 1992, table 2, two means at 5 %, power 0.80: 64 for d = 0.5, 26 for d = 0.8 (from memory).
    assert wafers_needed(size, 1.0) == count
    assert detectable_difference(1.0, (count, count)) <= size < detectable_difference(1.0, (count - 1,) * 2)


@pytest.mark.analytic
def test_power_at_no_difference_is_the_level_and_few_wafers_show_only_much():
    assert power(0.0, 1.0, (4, 4)) == pytest.approx(0.05)
    assert detectable_difference(1.0, (2, 2)) > 5
    assert detectable_difference(1.0, (1, 1)) is None
    assert (wafers_needed(0.0, 1.0), wafers_needed(1.0, 0.0), wafers_needed(1e-4, 1.0)) == (None, 2, None)


@pytest.mark.reference
def test_power_is_that_of_the_noncentral_distribution():
    limit = stats.t.ppf(0.975, 8)
    shift = 1.5 / math.sqrt(2 / 5)
    expected = stats.nct.sf(limit, 8, shift) + stats.nct.cdf(-limit, 8, shift)
    assert power(1.5, 1.0, (5, 5)) == pytest.approx(expected, rel=1e-6)


@pytest.mark.reference
def test_several_groups_by_welch():
    draw = np.random.default_rng(1)
    groups = [
        draw.normal(mean, spread, count) for mean, spread, count in ((0, 1, 4), (1, 2, 6), (0.3, 0.4, 5))
    ]
    expected = stats.f_oneway(*groups, equal_var=False).pvalue
    assert welch_analysis(groups) == pytest.approx(expected)


@pytest.mark.reference
def test_days_that_hold_both_splits_are_compared_within():
    days = ("mon", "tue", "wed", "thu")
    level = np.array([0.0, 3.0, -2.0, 5.0])
    one, two = level + np.array([0.1, 0.0, -0.1, 0.0]), level + np.array([1.2, 0.9, 1.0, 1.1])
    first = [SplitValue(wafer=f"a{d}", value=v, day=d) for d, v in zip(days, one, strict=True)]
    second = [SplitValue(wafer=f"b{d}", value=v, day=d) for d, v in zip(days, two, strict=True)]
    found = compare_splits(first, second)
    expected = stats.ttest_rel(two, one)
    assert (found.blocks, found.differs) == (4, True)
    assert found.p_value == pytest.approx(expected.pvalue)
    interval = expected.confidence_interval()
    assert (found.low, found.high) == pytest.approx((interval.low, interval.high))
    blind = compare_splits(wafers("abcd", one), wafers("efgh", two))
    assert blind.differs is False


@pytest.mark.analytic
def test_halves_of_wafers_are_compared_within_the_wafer():
    first, second = wafers("ABC", [1.0, 3.0, 2.0]), wafers("ABC", [1.5, 3.6, 2.5])
    found = compare_splits(first, second)
    assert (found.blocks, found.wafers) == (3, (3, 3))
    assert found.difference == pytest.approx((0.5 + 0.6 + 0.5) / 3)
    two_wafers = compare_splits(first[:2], second[:2])
    assert two_wafers.differs is None


@pytest.mark.analytic
def test_holm_by_hand():
    # 3 × 0.01, 2 × 0.03, and 0.04, which may not be below the one before.
    assert holm([0.04, 0.01, 0.03]) == pytest.approx([0.06, 0.03, 0.06])
    assert holm([0.9, 0.8]) == [1.0, 1.0]


@pytest.mark.property
def test_of_many_comparisons_between_equal_splits_one_in_20_lots_calls_any():
    draw = np.random.default_rng(2)
    lots = called = 0
    for _ in range(200):
        # Wafers differ by ten times what devices of one wafer do: devices as replicates would call nearly all.
        values = {
            parameter: {
                split: [
                    SplitValue(wafer=f"{split}{k}", value=float(level + draw.normal(0, 0.1)))
                    for k, level in enumerate(draw.normal(size=4))
                    for _ in range(5)
                ]
                for split in "abc"
            }
            for parameter in ("threshold", "mobility")
        }
        study = compare_all(values)
        lots += 1
        called += any(each.called for each in study.comparisons)
        assert (study.told, set(study.overall)) == (6, {"threshold", "mobility"})
    # Four standard deviations of a binomial share at 200 draws: 0.06; Holm is a bound and lies below 5 %.
    assert called / lots < 0.05 + 0.06


@pytest.mark.analytic
def test_a_single_wafer_is_not_compared_and_counts_for_no_correction():
    study = compare_all(
        {"threshold": {"a": wafers("AB", [1, 2]), "b": wafers("CC", [3, 4]), "c": wafers("DE", [9, 9.5])}}
    )
    told = {(each.first, each.second): each.called for each in study.comparisons}
    assert told[("a", "b")] is None
    assert told[("b", "c")] is None
    assert told[("a", "c")] is not None
    assert study.told == 1


@pytest.mark.analytic
def test_what_changed_with_the_split_is_said():
    apart = {"a": wafers("AB", [1, 2], day="mon"), "b": wafers("CD", [1, 2], day="tue")}
    assert "each day has wafers of one split only" in confounded(apart)[0]
    shared = {
        "a": [*wafers("A", [1], day="mon"), *wafers("B", [1], day="tue")],
        "b": wafers("CD", [1, 2], day="tue"),
    }
    assert "not every day has all splits (mon)" in confounded(shared)[0]
    even = {
        key: [*wafers(f"{key}1", [1] * 2, tool="P1"), *wafers(f"{key}2", [1] * 2, tool="P2")] for key in "ab"
    }
    assert confounded(even) == ()
