"""The fitted spin curve against the law it stands for and an independent fit."""

import numpy as np
import pytest

from filmwright.process import fitted_spin_curve
from filmwright.units import to_si

RPM, UM = to_si(1, "rpm"), to_si(1, "um")


@pytest.mark.literature
def test_points_on_the_square_root_law_give_it_back():
    # D. Meyerhofer, J. Appl. Phys. 49, 3993 (1978) (from memory): 1.00 µm at 4000 rpm is 1.155 µm at 3000 and 0.816 µm at 6000
    curve = fitted_spin_curve(
        [3000 * RPM, 4000 * RPM, 6000 * RPM], [1.1547 * UM, UM, 0.8165 * UM], [0.02] * 3, 0.4, 10.0
    )
    assert curve.exponent == pytest.approx(0.5, abs=1e-3)
    assert curve.thickness_at(4000 * RPM)[0] == pytest.approx(UM, rel=1e-3)
    assert curve.speed_for(0.8165 * UM)[0] == pytest.approx(6000 * RPM, rel=1e-3)


@pytest.mark.reference
def test_the_same_line_and_covariance_as_an_independent_weighted_fit():
    # numpy.polyfit with weights and unscaled covariance: another implementation of the same estimate
    speeds = np.array([2000.0, 3000.0, 4500.0, 6000.0]) * RPM
    spread = np.array([0.02, 0.01, 0.015, 0.03])
    depths = np.array([1.83, 1.52, 1.23, 1.07]) * UM
    curve = fitted_spin_curve(speeds, depths, spread, 0.5, 1e6)
    line, covariance = np.polyfit(
        np.log(speeds / curve.speed), np.log(depths), 1, w=1 / spread, cov="unscaled"
    )
    assert curve.exponent == pytest.approx(-line[0], rel=1e-9)
    assert np.log(curve.thickness) == pytest.approx(line[1], rel=1e-9)
    assert curve.variances[:2] == pytest.approx((covariance[1, 1], covariance[0, 0]), rel=1e-6)


@pytest.mark.analytic
def test_one_point_keeps_the_usual_slope_and_widens_away_from_it():
    curve = fitted_spin_curve([4000 * RPM], [1.3 * UM], [0.02], 0.5, 0.05)
    assert curve.exponent == pytest.approx(0.5)
    here, there = curve.thickness_at(4000 * RPM), curve.thickness_at(2000 * RPM)
    assert here[1] / here[0] == pytest.approx(0.02)
    assert there[1] / there[0] == pytest.approx((0.02**2 + (0.05 * np.log(2)) ** 2) ** 0.5)
    assert curve.beyond(2000 * RPM)
    assert not curve.beyond(4000 * RPM)


@pytest.mark.analytic
def test_points_that_disagree_widen_the_band():
    agree = fitted_spin_curve([4000 * RPM] * 2, [1.3 * UM, 1.31 * UM], [0.02] * 2, 0.5, 0.05)
    differ = fitted_spin_curve([4000 * RPM] * 2, [1.2 * UM, 1.4 * UM], [0.02] * 2, 0.5, 0.05)
    assert differ.variances[0] > 3 * agree.variances[0]


@pytest.mark.analytic
@pytest.mark.parametrize("points", [([], [], []), ([1.0], [1e-6], [0.0]), ([1.0], [1e-6, 2e-6], [0.1])])
def test_points_that_are_none_are_refused(points):
    with pytest.raises(ValueError, match="must"):
        fitted_spin_curve(*points, 0.5, 0.05)
