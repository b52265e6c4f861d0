"""Lines with errors in both directions, intervals by likelihood and sums over images."""

import math

import numpy as np
import pytest
from scipy import optimize, stats

from filmwright.numerics import (
    contour,
    line_cost,
    profile_interval,
    scatter_beyond,
    slab_potential,
    straight_line,
)


def points(seed, count=8):
    chance = np.random.default_rng(seed)
    x = np.linspace(1, 10, count)
    x_std, y_std = chance.uniform(0.05, 0.4, count), chance.uniform(0.1, 0.6, count)
    return x + chance.normal(0, x_std), 2 + 0.7 * x + chance.normal(0, y_std), x_std, y_std


@pytest.mark.reference
@pytest.mark.parametrize("seed", range(6))
def test_the_line_is_that_of_least_squares_with_the_true_places_free(seed):
    # scipy.optimize.least_squares over intercept, slope and every point's true place along x
    x, y, x_std, y_std = points(seed)
    ours = straight_line(x, y, x_std, y_std)

    def away(free):
        return np.concatenate([(free[2:] - x) / x_std, (free[0] + free[1] * free[2:] - y) / y_std])

    theirs = optimize.least_squares(away, np.concatenate([[0.0, 1.0], x]), xtol=1e-15, ftol=1e-15, gtol=1e-15)
    assert (ours.intercept, ours.slope) == pytest.approx(theirs.x[:2], rel=1e-6)
    assert ours.cost == pytest.approx(2 * theirs.cost, rel=1e-9)
    covariance = np.linalg.inv(theirs.jac.T @ theirs.jac)[:2, :2]
    assert ours.covariance == pytest.approx(covariance, rel=1e-5)


@pytest.mark.literature
def test_pearsons_points_with_yorks_weights():
    # D. York et al., Am. J. Phys. 72, 367 (2004), table II, with the errors of both (from memory)
    x = np.array([0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4])
    y = np.array([5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5])
    of_x = np.array([1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1])
    of_y = np.array([1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500])
    found = straight_line(x, y, of_x**-0.5, of_y**-0.5)
    assert found.intercept == pytest.approx(5.47991, abs=5e-6)
    assert found.slope == pytest.approx(-0.480533, abs=5e-7)
    assert found.cost == pytest.approx(11.8664, abs=5e-5)
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx([0.29497, 0.057985], abs=5e-6)


@pytest.mark.analytic
def test_without_errors_along_x_it_is_the_weighted_line():
    x, y, _, y_std = points(3)
    found = straight_line(x, y, np.zeros_like(x), y_std)
    slope, intercept = np.polyfit(x, y, 1, w=1 / y_std)
    assert (found.intercept, found.slope) == pytest.approx((intercept, slope))


@pytest.mark.analytic
def test_the_contour_of_a_quadratic_is_its_ellipse():
    spread = np.array([[2.0, 0.6], [0.6, 0.5]])
    inverse = np.linalg.inv(spread)

    def cost(a, b):
        off = np.stack([a - 1, b - 2])
        return 5 + np.sum(off * (inverse @ off), axis=0)

    places = contour(cost, (1.0, 2.0), spread, 1.96**2)
    low, high = profile_interval(lambda a, b: a, places, (1.0, 2.0))
    assert (low, high) == pytest.approx((1 - 1.96 * math.sqrt(2), 1 + 1.96 * math.sqrt(2)), rel=2e-4)
    low, high = profile_interval(lambda a, b: a - b, places, (1.0, 2.0))
    assert high - low == pytest.approx(2 * 1.96 * math.sqrt(2 + 0.5 - 1.2), rel=2e-4)


@pytest.mark.analytic
def test_a_cost_that_stays_low_leaves_the_interval_open():
    places = contour(lambda a, b: a * a + 0 * b, (0.0, 0.0), np.eye(2), 4.0)
    low, high = profile_interval(lambda a, b: b, places, (0.0, 0.0))
    assert (low, high) == (-math.inf, math.inf)


@pytest.mark.property
def test_intervals_of_line_and_crossing_hold_the_truth_as_often_as_they_say():
    # 1000 sets with known errors in both directions: 95 % to within 1.5 %
    held = np.zeros(3)
    quantile = float(stats.norm.ppf(0.975))
    for seed in range(1000):
        x, y, x_std, y_std = points(10 + seed, 6)
        line = straight_line(x, y, x_std, y_std)
        places = contour(
            lambda a, b, data=(x, y, x_std, y_std): line_cost(a, b, *data),
            (line.intercept, line.slope), line.covariance, quantile**2,
        )  # fmt: skip
        truths = (2.0, 0.7, 2.0 / 0.7)
        for at, function in enumerate((lambda a, b: a, lambda a, b: b, lambda a, b: a / b)):
            low, high = profile_interval(function, places, (line.intercept, line.slope))
            held[at] += low <= truths[at] <= high
    assert held / 1000 == pytest.approx(0.95, abs=0.015)


@pytest.mark.analytic
def test_scatter_beyond_the_stated_errors_is_found():
    chance = np.random.default_rng(5)
    x = np.linspace(1, 10, 400)
    y = (2 + 0.7 * x) * (1 + chance.normal(0, 0.1, 400)) + chance.normal(0, 0.2, 400)
    found = scatter_beyond(x, y, np.zeros(400), np.full(400, 0.2), 2 + 0.7 * x)
    assert found == pytest.approx(0.1, rel=0.1)
    assert scatter_beyond(x, 2 + 0.7 * x, np.zeros(400), np.full(400, 0.2), y) == 0.0


@pytest.mark.analytic
@pytest.mark.parametrize("thickness", [0.05, 0.5, 5.0])
def test_the_images_of_a_slab_are_summed_to_the_end(thickness):
    # Half a million images one by one, the missing rest below a part in a million
    n = np.arange(1, 500_000) * 2 * thickness
    reach = np.array([0.3, 1.0])
    plain = [1 / r + 2 * np.sum(1 / np.hypot(r, n)) for r in reach]
    found = slab_potential(reach, thickness)
    assert found[0] - found[1] == pytest.approx(plain[0] - plain[1], rel=1e-6)
