"""Non-uniformity by name, medians, and the plane with a bowl."""

import numpy as np
import pytest
from scipy import optimize, stats

from filmwright.learn import FORMULAS, fit_map, non_uniformity, robust, weighted_mean

# One data set by three definitions; T15-003, definitions (from memory, arithmetic recomputed).
THICKNESS_NM = [101.2, 99.8, 98.7, 100.5, 97.9, 102.1, 100.0, 99.1, 98.3]


@pytest.mark.literature
@pytest.mark.parametrize(
    ("formula", "percent"),
    [
        ("(max − min) / (2 × mean)", 2.10561),
        ("(max − min) / (max + min)", 2.1),
        ("standard deviation / mean", 1.38663),
    ],
)
def test_non_uniformity_by_each_formula(formula, percent):
    found = non_uniformity(THICKNESS_NM, formula)
    # Relative tolerance 1e-4: the values are printed with six digits or fewer.
    assert 100 * found.value == pytest.approx(percent, rel=1e-4)
    assert found.mean == pytest.approx(99.7333, rel=1e-4)
    assert (found.formula, found.count) == (formula, 9)


@pytest.mark.analytic
def test_non_uniformity_does_not_depend_on_the_unit_and_says_its_formula():
    assert non_uniformity(THICKNESS_NM).formula == FORMULAS[0]
    scaled = np.array(THICKNESS_NM) * 3.7e-9
    assert non_uniformity(scaled).value == pytest.approx(non_uniformity(THICKNESS_NM).value)
    for values in ([1.0], [1.0, np.nan], [-1.0, 1.0], []):
        with pytest.raises(ValueError, match="needs"):
            non_uniformity(values)


@pytest.mark.reference
def test_robust_is_the_scaled_median_absolute_deviation():
    draw = np.random.default_rng(1).normal(5, 2, 501)
    found = robust([*draw, np.nan, np.inf])
    assert found.median == np.median(draw)
    assert found.spread == pytest.approx(stats.median_abs_deviation(draw, scale="normal"))
    assert found.count == 501
    with pytest.raises(ValueError, match="finite"):
        robust([np.nan])


@pytest.mark.analytic
def test_one_wild_value_does_not_move_the_median():
    assert robust([1.0, 1.1, 0.9, 1.05, 1e6]).median == 1.05


@pytest.mark.reference
def test_weighted_mean_is_a_weighted_fit_of_a_constant():
    values, stds = [1.0, 1.2, 0.9, 1.05], [0.1, 0.3, 0.2, 0.15]
    popt, pcov = optimize.curve_fit(
        lambda x, a: a + 0 * x, np.arange(4.0), values, sigma=stds, absolute_sigma=True
    )
    assert weighted_mean(values, stds) == (pytest.approx(popt[0]), pytest.approx(pcov[0, 0] ** 0.5))
    wild = [1.0, 5.0, -3.0, 1.1]
    popt, pcov = optimize.curve_fit(
        lambda x, a: a + 0 * x, np.arange(4.0), wild, sigma=stds, absolute_sigma=False
    )
    assert weighted_mean(wild, stds) == (pytest.approx(popt[0]), pytest.approx(pcov[0, 0] ** 0.5))
    assert weighted_mean([1.0, 3.0], [0.0, 0.0]) == (2.0, 1.0)


def places():
    ring = np.arange(8) * np.pi / 4
    x = np.concatenate([[0.0], 0.02 * np.cos(ring), 0.045 * np.cos(ring + 0.3)])
    y = np.concatenate([[0.0], 0.02 * np.sin(ring), 0.045 * np.sin(ring + 0.3)])
    return x, y


@pytest.mark.analytic
def test_a_plane_with_a_bowl_is_found_again():
    x, y = places()
    u, v = x / 0.05, y / 0.05
    fit = fit_map(x, y, 100 + 2 * u - 3 * v + 5 * (u**2 + v**2), radius=0.05)
    assert (fit.centre, fit.tilt_x, fit.tilt_y, fit.bowl) == pytest.approx((100, 2, -3, 5))
    assert fit.residual == pytest.approx(0, abs=1e-9)
    assert fit.explained == pytest.approx(1)
    # The mean of (r/R)² over a disc is 1/2.
    assert fit.area_mean == pytest.approx(102.5)
    assert fit.at(0.05, 0.0) == pytest.approx(107.0)


@pytest.mark.analytic
def test_the_area_mean_is_the_mean_over_the_disc():
    x, y = places()
    fit = fit_map(x, y, np.cos(30 * x) + 4 * y, radius=0.05)
    grid = np.linspace(-0.05, 0.05, 801)
    gx, gy = np.meshgrid(grid, grid)
    # A square grid on a disc counts its edge to about 0.1 %.
    assert fit.area_mean == pytest.approx(fit.at(gx, gy)[gx**2 + gy**2 <= 0.05**2].mean(), rel=1e-3)


@pytest.mark.reference
def test_coefficients_and_errors_are_those_of_least_squares():
    x, y = places()
    z = 100 + 40 * x + np.random.default_rng(2).normal(0, 0.3, x.size)
    fit = fit_map(x, y, z, radius=0.05)

    def model(at, a, b, c, d):
        u, v = at[0] / 0.05, at[1] / 0.05
        return a + b * u + c * v + d * (u**2 + v**2)

    popt, pcov = optimize.curve_fit(model, np.stack([x, y]), z)
    assert (fit.centre, fit.tilt_x, fit.tilt_y, fit.bowl) == pytest.approx(popt, rel=1e-5, abs=1e-6)
    assert fit.stds == pytest.approx(np.sqrt(np.diag(pcov)), rel=1e-4)


@pytest.mark.property
def test_the_interval_of_the_area_mean_covers_it():
    draw, (x, y) = np.random.default_rng(4), places()
    u, v = x / 0.05, y / 0.05
    truth, inside = 100 + 2 * u + 4 * (u**2 + v**2), 0
    for _ in range(1000):
        fit = fit_map(x, y, truth + draw.normal(0, 0.5, x.size), radius=0.05)
        half = stats.t.ppf(0.975, fit.count - 4) * fit.area_mean_std
        inside += abs(fit.area_mean - 102.0) <= half
    # Four standard deviations of a binomial count with p = 0.95 and n = 1000: 0.028.
    assert inside / 1000 == pytest.approx(0.95, abs=0.028)


@pytest.mark.analytic
def test_places_that_cannot_tell_the_terms_apart_are_refused():
    ring = np.arange(8) * np.pi / 4
    with pytest.raises(ValueError, match="one ring or one line"):
        fit_map(np.cos(ring), np.sin(ring), ring, radius=1.0)
    with pytest.raises(ValueError, match="one ring or one line"):
        fit_map(np.linspace(-1, 1, 9), np.zeros(9), ring[[0] * 9], radius=1.0)
    with pytest.raises(ValueError, match="five finite"):
        fit_map([0, 1, 2, 3], [0, 1, 0, 1], [1, 2, 3, 4], radius=1.0)
    with pytest.raises(ValueError, match="radius"):
        fit_map(*places(), np.ones(17), radius=0.0)
