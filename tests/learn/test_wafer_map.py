"""Plane and bowl over a wafer: coverage, false alarms, and devices that do not fit."""

import math

import numpy as np
import pytest
from scipy import stats

from filmwright.learn import MapPoint, clean_fit, median_interval, wafer_map
from filmwright.learn.wafer_map import length_interval

RADIUS = 0.05


def points(draw, count, gradient=0.0, bowl=0.0, noise=0.1):
    r, a = np.sqrt(draw.uniform(0, 0.95, count)), draw.uniform(0, 2 * np.pi, count)
    u, v = r * np.cos(a), r * np.sin(a)
    z = 1 + gradient * (0.6 * u + 0.8 * v) + bowl * r**2 + draw.normal(0, noise, count)
    return [
        MapPoint(device=f"T{i}", x=RADIUS * u[i], y=RADIUS * v[i], value=float(z[i])) for i in range(count)
    ]


@pytest.mark.analytic
def test_a_plane_and_a_bowl_without_noise_are_found_as_they_were_made():
    found = wafer_map("threshold", "A", points(np.random.default_rng(1), 30, 0.3, -0.2, 0.0), RADIUS)
    gradient, bowl = found.parts
    assert gradient.rise == pytest.approx(0.3)
    assert gradient.direction == pytest.approx(math.atan2(0.8, 0.6))
    assert bowl.rise == pytest.approx(-0.2)
    assert (found.centre, found.explained) == (pytest.approx(1.0), pytest.approx(1.0))
    assert (gradient.verdict, bowl.verdict, found.outliers) == ("there", "there", ())


@pytest.mark.property
@pytest.mark.parametrize(("count", "gradient"), [(14, 0.3), (40, 0.08)])
def test_95_of_100_intervals_hold_the_gradient_and_the_bowl(count, gradient):
    draw = np.random.default_rng(2)
    held = np.zeros(2)
    for _ in range(250):
        parts = wafer_map("", "A", points(draw, count, gradient, 0.15), RADIUS).parts
        held += [part.low <= true <= part.high for part, true in zip(parts, (gradient, 0.15), strict=True)]
    # Four standard deviations of a binomial share at 250 draws: 0.055.
    assert held / 250 == pytest.approx([0.95, 0.95], abs=0.055)


@pytest.mark.property
def test_a_flat_wafer_is_said_to_be_flat_in_95_of_100_cases():
    draw = np.random.default_rng(3)
    false = np.zeros(2)
    for _ in range(250):
        parts = wafer_map("", "A", points(draw, 25), RADIUS).parts
        false += [part.verdict == "there" for part in parts]
        assert parts[0].low >= 0
    assert np.all(false / 250 < 0.05 + 0.055)


@pytest.mark.reference
def test_the_length_of_a_vector_has_the_interval_of_its_rice_distribution():
    low, high = length_interval(3.5, 1.0, 10**7)
    # With many degrees of freedom 2.5 % of all lengths lie beyond at either end.
    assert stats.rice.sf(3.5, low) == pytest.approx(0.025, abs=1e-4)
    assert stats.rice.cdf(3.5, high) == pytest.approx(0.025, abs=1e-4)
    assert length_interval(0.5, 1.0, 30)[0] == 0.0
    far = length_interval(50.0, 1.0, 20)
    assert far == pytest.approx((50 - stats.t.ppf(0.975, 20), 50 + stats.t.ppf(0.975, 20)), abs=0.03)


@pytest.mark.analytic
def test_devices_that_do_not_fit_are_named_and_do_not_move_the_fit():
    sound = points(np.random.default_rng(4), 40, 0.3, 0.1, 0.02)
    wild = [
        MapPoint(device=each.device, x=each.x, y=each.y, value=(each.value or 0) + 1.5)
        if each.device in ("T3", "T17")
        else each
        for each in sound
    ]
    dead = MapPoint(device="T99", x=0.0, y=0.049, cause="dead")
    found, clean = wafer_map("", "A", [*wild, dead], RADIUS), wafer_map("", "A", sound, RADIUS)
    assert found.outliers == ("T3", "T17")
    assert found.parts[0].rise == pytest.approx(clean.parts[0].rise, abs=0.02)
    assert found.points[-1].cause == "dead"
    assert found.points[-1].edge
    assert (found.count, len(found.points)) == (40, 41)


@pytest.mark.analytic
def test_too_few_places_and_places_on_one_ring_cannot_tell():
    few = wafer_map("", "A", points(np.random.default_rng(5), 6), RADIUS)
    assert few.parts == ()
    assert "at least 7" in few.why_not
    ring = [
        MapPoint(device=str(k), x=0.04 * math.cos(k), y=0.04 * math.sin(k), value=float(k)) for k in range(12)
    ]
    assert "ring or line" in wafer_map("", "A", ring, RADIUS).why_not
    with pytest.raises(ValueError, match="radius"):
        wafer_map("", "A", ring, 0.0)


@pytest.mark.reference
def test_without_wild_points_the_fit_is_that_of_least_squares():
    draw = np.random.default_rng(6)
    x = draw.uniform(0, 1, 25)
    y = 1 + 2 * x + draw.normal(0, 0.1, 25)
    found = clean_fit(np.stack([np.ones(25), x], axis=1), y)
    expected = stats.linregress(x, y)
    assert found.kept.all()
    assert found.coefficients == pytest.approx([expected.intercept, expected.slope])
    assert math.sqrt(found.covariance[1, 1]) == pytest.approx(expected.stderr)
    assert found.p_value([1]) == pytest.approx(expected.pvalue)
    with pytest.raises(ValueError, match="told apart"):
        clean_fit(np.ones((9, 2)), y[:9])


@pytest.mark.reference
@pytest.mark.parametrize("count", [6, 9, 24, 101])
def test_the_interval_of_a_median_lies_within_that_of_ordered_values(count):
    values = np.random.default_rng(7).lognormal(size=count)
    low, high = median_interval(values)
    outer = stats.quantile_test(values, p=0.5).confidence_interval(confidence_level=0.95)
    assert outer.low <= low <= np.median(values) <= high <= outer.high
    assert median_interval(values[:5]) == (-math.inf, math.inf)


@pytest.mark.property
@pytest.mark.parametrize("count", [7, 20])
def test_95_of_100_intervals_hold_the_median_of_skewed_values(count):
    draw = np.random.default_rng(8)
    held = [low <= 1 <= high for low, high in map(median_interval, draw.lognormal(size=(3000, count)))]
    # Four standard deviations of a binomial share at 3000 draws: 0.016.
    assert np.mean(held) == pytest.approx(0.95, abs=0.016)
