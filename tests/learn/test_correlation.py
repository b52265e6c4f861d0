"""What goes with what, and whether two sets were measured alike."""

import numpy as np
import pytest
from scipy import stats

from filmwright.learn import compare_conditions, correlations
from filmwright.learn.correlation import false_discovery


@pytest.mark.reference
def test_rank_correlation_and_its_chance():
    draw = np.random.default_rng(1)
    x = draw.normal(size=30)
    y = np.round(x + draw.normal(size=30), 1)
    found = correlations({"x": x, "y": y}).pairs[0]
    expected = stats.spearmanr(x, y)
    assert found.rank == pytest.approx(expected.statistic)
    assert found.p_value == pytest.approx(expected.pvalue)
    assert found.low < found.rank < found.high
    assert found.goes_together


@pytest.mark.property
def test_95_of_100_intervals_hold_the_rank_correlation_of_normal_values():
    draw = np.random.default_rng(2)
    rho = 0.6
    # Of a bivariate normal distribution Spearman's coefficient is 6/π·arcsin(ρ/2).
    true = 6 / np.pi * np.arcsin(rho / 2)
    held = 0
    for _ in range(600):
        x = draw.normal(size=30)
        y = rho * x + np.sqrt(1 - rho**2) * draw.normal(size=30)
        found = correlations({"x": x, "y": y}).pairs[0]
        held += found.low <= true <= found.high
    # Four standard deviations of a binomial share at 600 draws: 0.036.
    assert held / 600 == pytest.approx(0.95, abs=0.036)


@pytest.mark.reference
def test_many_pairs_are_counted_in():
    p = [0.001, 0.04, 0.03, 0.5, 0.02]
    assert false_discovery(p) == pytest.approx(stats.false_discovery_control(p))


@pytest.mark.analytic
def test_what_only_differs_from_wafer_to_wafer_does_not_go_together():
    draw = np.random.default_rng(3)
    wafers = [name for name in "ABCD" for _ in range(15)]
    level = np.repeat([0.0, 4.0, 8.0, 12.0], 15)
    values = {name: level + draw.normal(size=60) for name in ("threshold", "mobility")}
    assert correlations(values).pairs[0].goes_together
    within = correlations(values, wafers)
    assert within.within
    assert within.pairs[0].goes_together is False


@pytest.mark.analytic
def test_too_few_pairs_and_constant_values_cannot_tell_and_the_matrix_is_symmetrical():
    x = np.arange(12.0)
    sparse = np.where(x < 5, x, np.nan)
    found = correlations({"a": x, "b": sparse, "c": np.ones(12), "d": -(x**3)})
    told = {(each.first, each.second): each for each in found.pairs}
    assert told[("a", "b")].goes_together is None
    assert told[("a", "c")].rank is None
    assert told[("a", "d")].rank == -1
    matrix = found.array()
    assert np.array_equal(np.isnan(matrix), np.isnan(matrix.T))
    assert matrix[0, 3] == -1


@pytest.mark.analytic
def test_sets_measured_differently_are_refused_and_what_is_not_on_file_is_said():
    first = {"drain voltage": ("0.1 V",), "direction": ("forward",), "gate step": ("0.1 V",)}
    second = {"drain voltage": ("1 V",), "direction": ("forward",), "gate step": ("0.2 V",)}
    found = compare_conditions(first, second, ("A", "B"))
    assert not found.comparable
    assert found.why_not == "measured differently: drain voltage: 0.1 V against 1 V"
    assert [str(each) for each in found.said] == ["gate step: 0.1 V against 0.2 V"]
    assert {"light", "delay", "temperature"} <= set(found.unknown)
    alike = compare_conditions(first, {**first, "definition of threshold": ("constant current",)})
    assert alike.comparable
    defined = {"definition of threshold": ("tangent",)}, {"definition of threshold": ("constant current",)}
    assert "definition of threshold" in compare_conditions(*defined).why_not
