"""Angles of arrival against geometry by hand and published closed forms."""

from math import atan, gamma, pi, radians, sqrt, tan

import numpy as np
import pytest

from filmwright.process import (
    cosine_wall_fraction,
    disc_source_tilts,
    far_source_wall_fraction,
    planetary_tilts,
)


@pytest.mark.analytic
@pytest.mark.parametrize(("exponent", "share"), [(0, 1 / 2), (1, 1 / pi), (2, 1 / 4), (3, 2 / (3 * pi))])
def test_wall_share_of_a_power_of_the_cosine(exponent, share):
    assert cosine_wall_fraction(exponent) == pytest.approx(share, rel=1e-12)


@pytest.mark.reference
@pytest.mark.parametrize("exponent", [-0.5, 0.7, 5.5])
def test_wall_share_against_the_two_integrals_in_numpy(exponent):
    node, weight = np.polynomial.legendre.leggauss(400)
    angle = (node + 1) * pi / 4
    wall = np.sum(weight * np.sin(angle) * np.cos(angle) ** exponent)
    flat = 2 * np.sum(weight * np.cos(angle) ** (exponent + 1))
    # The first integrand has a root or a pole at the end for broken powers; the rule meets it to 1e-3.
    assert cosine_wall_fraction(exponent) == pytest.approx(wall / flat, rel=2e-3)
    assert gamma(exponent / 2 + 1.5) / (exponent + 1) / sqrt(pi) / gamma(exponent / 2 + 1) == pytest.approx(
        cosine_wall_fraction(exponent)
    )


@pytest.mark.analytic
def test_far_source_on_a_wall():
    assert far_source_wall_fraction((0.3,), (2.0,)) == pytest.approx(tan(0.3) / pi)
    # Evenly over the solid angle up to a right angle is the even sky: one half.
    tilts = (np.arange(2000) + 0.5) * pi / 4000
    assert far_source_wall_fraction(tuple(tilts), tuple(np.sin(tilts))) == pytest.approx(0.5, rel=1e-5)


@pytest.mark.analytic
def test_small_round_source():
    tilts, shares = disc_source_tilts(0.5, 0.05, 1e-6)
    assert tilts == pytest.approx([atan(0.1)] * 7, rel=1e-4)
    assert sum(shares) == pytest.approx(1.0)
    tilts, shares = disc_source_tilts(0.5, 0.0, 0.01)
    assert max(tilts) < 0.02
    # Mean square of the distance across a disc is a quarter of its radius squared.
    assert sum(s * tan(t) ** 2 for t, s in zip(tilts, shares, strict=True)) == pytest.approx(
        0.02**2 / 4, rel=1e-3
    )


@pytest.mark.analytic
def test_planetary_with_its_source_on_the_axis_has_one_angle():
    tilts, shares = planetary_tilts(0.5, 0.3, radians(10.0), 0.0)
    assert tilts == pytest.approx([atan(0.6) - radians(10.0)] * len(tilts))
    assert shares == pytest.approx([1 / len(shares)] * len(shares))
    # Beside the axis the angle swings between those of the nearest and the farthest place.
    tilts, _ = planetary_tilts(0.5, 0.3, 0.0, 0.1)
    assert min(tilts) == pytest.approx(atan(0.2 / 0.5), abs=0.01)
    assert max(tilts) == pytest.approx(atan(0.4 / 0.5), abs=0.01)


@pytest.mark.analytic
def test_nonsense_is_refused():
    for call in (
        lambda: cosine_wall_fraction(-1.0),
        lambda: cosine_wall_fraction(float("nan")),
        lambda: far_source_wall_fraction((), ()),
        lambda: far_source_wall_fraction((1.6,), (1.0,)),
        lambda: far_source_wall_fraction((0.1,), (0.0,)),
        lambda: disc_source_tilts(0.0, 0.0, 0.01),
        lambda: disc_source_tilts(0.5, -0.1, 0.01),
        lambda: planetary_tilts(0.5, 0.0, 0.1, 0.1),
        lambda: planetary_tilts(0.5, 0.3, 1.6, 0.1),
    ):
        with pytest.raises(ValueError, match=r"must|one share"):
            call()
