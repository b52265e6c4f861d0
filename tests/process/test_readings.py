"""What instruments read and how many readings are enough, against published tables and closed forms."""

import math

import numpy as np
import pytest

from filmwright.process import (
    charging_current,
    cross_arm_error,
    devices_needed,
    edge_factor,
    film_curvature,
    four_point_factor,
    line_resistance,
    readings_needed,
    stoney_radius,
    strip_factor,
    thick_film_factor,
    van_der_pauw_reading,
    weakest_voltage,
)


@pytest.mark.literature
@pytest.mark.parametrize(
    ("ratio", "factor"),
    [(0.5, 0.997), (0.6, 0.992), (0.7, 0.982), (0.8, 0.966), (0.9, 0.944), (1.0, 0.921)],
)
def test_the_table_of_thick_films(ratio, factor):
    # SEMI MF84 (ex ASTM F84), table of F(w/S) (from memory); its third figure is rounded, and differs by 2 of it at 0.9
    assert thick_film_factor(1.0, ratio) == pytest.approx(factor, abs=0.0025)


@pytest.mark.analytic
def test_thin_and_thick_ends():
    assert thick_film_factor(1.0, 1e-4) == 1.0
    assert thick_film_factor(1.0, 0.1001) == pytest.approx(1.0, abs=2e-6)
    # A body without end: ρ = 2π·s·V/I, so F·(π/ln 2)·d = 2π·s
    assert thick_film_factor(1.0, 50.0) == pytest.approx(2 * math.log(2) / 50.0, rel=1e-3)


@pytest.mark.analytic
def test_on_the_edge_and_far_from_it():
    # Along the edge every probe meets its own image: half the factor. Square to it, by hand: 2π/ln 6.4.
    assert edge_factor(1.0, 0.0, along=True) == pytest.approx(math.pi / math.log(2) / 2)
    assert edge_factor(1.0, 0.0, along=False) == pytest.approx(2 * math.pi / math.log(6.4))
    assert edge_factor(1.0, 1e6, along=True) == pytest.approx(math.pi / math.log(2))
    assert four_point_factor(1.0, 1e6) == pytest.approx(edge_factor(1.0, 1e6, along=False))


@pytest.mark.reference
def test_one_edge_of_a_strip_at_a_time():
    # Smits' strip (published closed form) has two edges: of a wide one, each takes the same share in first order.
    far, wide = math.pi / math.log(2), 40.0
    one = far / edge_factor(1.0, wide / 2, along=True) - 1
    both = far / strip_factor(1.0, wide) - 1
    # Mirror images at all distances 2k·(w/2) from both edges, each as 1/k²: ζ(2) times the first pair (L. Euler 1735)
    assert both == pytest.approx(2 * one * math.pi**2 / 6, rel=0.01)


@pytest.mark.literature
def test_the_arms_of_a_cross():
    # J. M. David, M. G. Buehler 1977: arms as long as wide read a tenth of a per cent low (from memory)
    assert cross_arm_error(1.0, 1.0) == pytest.approx(1e-3, rel=0.2)
    # L. J. van der Pauw 1958: R_sheet = 4.532·V/I
    assert 10.0 / van_der_pauw_reading(10.0) == pytest.approx(4.532, rel=1e-4)


@pytest.mark.literature
def test_readings_by_the_table_of_student():
    # t₀.₉₇₅: 2.447 with 6, 2.571 with 5, 2.110 with 17, 2.120 with 16 degrees of freedom (published table)
    assert 2.447 / math.sqrt(7) <= 1 < 2.571 / math.sqrt(6)
    assert readings_needed(1.0, 1.0) == 7
    assert 2.110 / math.sqrt(18) <= 0.5 < 2.120 / math.sqrt(17)
    assert readings_needed(1.0, 0.5) == 18
    assert readings_needed(0.0, 1.0) == 2


@pytest.mark.literature
@pytest.mark.parametrize(
    ("good", "confidence", "failures", "count"),
    [(0.95, 0.95, 0, 59), (0.95, 0.95, 1, 93), (0.95, 0.95, 2, 124), (0.9, 0.9, 0, 22), (0.9, 0.95, 0, 29)],
)
def test_devices_by_the_table_of_wilks(good, confidence, failures, count):
    # S. S. Wilks 1941: 59, 93 and 124 for 95 % and 95 %; 22 and 29 for 90 % (published)
    assert devices_needed(good, confidence, failures) == count


@pytest.mark.reference
def test_devices_against_the_beta_distribution():
    from scipy.stats import binom

    for good, failures in ((0.8, 0), (0.9, 3), (0.99, 1)):
        count = devices_needed(good, 0.95, failures)
        assert binom.cdf(failures, count, 1 - good) <= 0.05 < binom.cdf(failures, count - 1, 1 - good)


@pytest.mark.literature
def test_the_weakest_of_many():
    # W. Weibull 1951: the scale of the least of n is that of one times n^(−1/β); 63 % at the scale itself
    one, shape = 20.0, 8.0
    least = weakest_voltage(one, shape, 100).value
    survive = math.exp(-100 * (least / one) ** shape)
    assert survive == pytest.approx(math.exp(-1))
    assert weakest_voltage(one, shape, 1).value == one
    assert weakest_voltage(one, 1.0, 2).notes


@pytest.mark.analytic
def test_the_rest_by_hand():
    assert line_resistance(0.3, 400.0) == pytest.approx(120.0)
    assert charging_current(100e-12, 0.1, 0.1) == pytest.approx(1e-10)
    curvature = film_curvature(100.0, 180.5e9, 525e-6)
    assert 1 / curvature == pytest.approx(stoney_radius(1e9, 1e-7, 525e-6, 180.5e9).value)


@pytest.mark.property
def test_more_spread_needs_more_readings():
    counts = [readings_needed(float(std), 1.0) for std in np.linspace(0.1, 5.0, 20)]
    assert counts == sorted(counts)


@pytest.mark.analytic
@pytest.mark.parametrize(
    "wrong",
    [
        lambda: thick_film_factor(0.0, 1.0),
        lambda: edge_factor(1.0, -1.0, along=True),
        lambda: van_der_pauw_reading(0.0),
        lambda: cross_arm_error(1.0, 0.0),
        lambda: line_resistance(1.0, math.nan),
        lambda: readings_needed(-1.0, 1.0),
        lambda: readings_needed(1.0, 1e-9),
        lambda: readings_needed(1.0, 1.0, 1.0),
        lambda: devices_needed(1.0),
        lambda: devices_needed(0.9, 0.95, -1),
        lambda: charging_current(1.0, 1.0, 0.0),
        lambda: weakest_voltage(1.0, 8.0, 0.5),
        lambda: film_curvature(1.0, 1.0, 0.0),
    ],
)
def test_nonsense_is_refused(wrong):
    with pytest.raises(ValueError, match="must"):
        wrong()
