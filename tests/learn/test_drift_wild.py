"""A wild reading among good ones: the drift that is learned from a history is hardly moved by it."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from filmwright.learn.drift import Prior, Reading, Wander, fit_wander, log_likelihood

# Annual flow of the Nile at Aswan, 1871 to 1970, in 10⁸ m³: G. W. Cobb, Biometrika 65 (1978) 243, doi:10.1093/biomet/65.2.243.
NILE = """
1120 1160 963 1210 1160 1160 813 1230 1370 1140 995 935 1110 994 1020 960 1180 799 958 1140 1100 1210 1150 1250 1260
1220 1030 1100 774 840 874 694 940 833 701 916 692 1020 1050 969 831 726 456 824 702 1120 1100 832 764 821
768 845 864 862 698 845 744 796 1040 759 781 865 845 944 984 897 822 1010 771 676 649 846 812 742 801
1040 860 874 848 890 744 749 838 1050 918 986 797 923 975 815 1020 906 901 1170 912 746 919 718 714 740
"""
READ, LEVEL = 15099.0, 1469.1
"""Variances of reading and level: J. Durbin, S. J. Koopman, Time Series Analysis by State Space Methods (2nd ed., 2012), § 2.10."""

OPEN = Prior(usual=Wander(per_day=20.0), doubt=Wander(per_day=100.0))


def nile():
    """The flows as readings a day apart."""
    return [Reading(day=float(k), value=float(v), std=math.sqrt(READ)) for k, v in enumerate(NILE.split())]


@pytest.mark.literature
def test_the_drift_of_a_published_series_is_found():
    found = fit_wander(nile(), OPEN, wild=0.0).wander.per_day
    # Published to five digits, with both variances fitted together: the maximum over one at the other's value is the same.
    assert found**2 == pytest.approx(LEVEL, rel=2e-3)


@pytest.mark.literature
def test_wild_readings_are_allowed_for_at_little_cost():
    # A mixture gives the level more room to stand still: the deviation of a level may be off by a sixth of itself.
    assert fit_wander(nile(), OPEN).wander.per_day == pytest.approx(math.sqrt(LEVEL), rel=1 / 6)


@pytest.mark.literature
def test_one_slip_of_the_point_does_not_move_the_drift():
    readings = nile()
    good = fit_wander(readings, OPEN).wander.per_day
    readings[60] = replace(readings[60], value=10 * readings[60].value)
    slipped = fit_wander(readings, OPEN)
    assert slipped.wander.per_day == pytest.approx(good, rel=0.1)
    assert "1 of them" in slipped.said
    assert fit_wander(readings, OPEN, wild=0.0).wander.per_day > 2 * good, "a normal model is moved by it"


@pytest.mark.property
@settings(max_examples=5)
@given(st.integers(5, 30))
def test_what_moved_and_stayed_is_a_drift(place):
    """Several readings that agree are no slips: the level went there."""
    readings = [Reading(day=float(k), value=100.0 + 0.1 * (k % 2), std=0.5) for k in range(36)]
    quiet = fit_wander(readings, OPEN).wander.per_day
    moved = [replace(each, value=each.value + 8.0 * (each.day >= place)) for each in readings]
    assert fit_wander(moved, OPEN).wander.per_day > 3 * quiet


@pytest.mark.reference
@given(st.floats(-60, 60), st.floats(0.1, 3), st.floats(0.01, 0.4))
def test_two_readings_have_the_density_of_the_mixture(off, std, wild):
    from scipy.stats import cauchy, norm

    readings = [Reading(day=0.0, value=5.0, std=0.7), Reading(day=4.0, value=5.0 + off, std=std)]
    whole = math.sqrt(0.7**2 + 4 * 0.3**2 + std**2)
    expected = (1 - wild) * norm.pdf(off, scale=whole) + wild * cauchy.pdf(off, scale=3 * whole)
    got = log_likelihood(readings, Wander(per_day=0.3), wild)
    assert got == pytest.approx(float(np.log(expected)), rel=1e-9, abs=1e-9)


@pytest.mark.analytic
def test_a_share_that_is_none_is_refused():
    with pytest.raises(ValueError, match="share"):
        log_likelihood(nile(), Wander(per_day=1.0), 1.0)
