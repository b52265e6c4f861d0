"""A rate that wanders between calibrations: filter, likelihood, fit and dummies."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.learn import RateBelief
from filmwright.learn.drift import (
    FEWEST,
    Prior,
    Reading,
    Wander,
    dummy_first,
    filtered,
    fit_wander,
    later,
    log_likelihood,
)

WANDER = Wander(per_day=0.3, per_use=0.2, jump=2.0)
WIDE = Wander(per_day=100.0, per_use=100.0, jump=100.0)


def histories(draw):
    count = draw(st.integers(2, 12))
    steps = draw(
        st.lists(
            st.tuples(st.floats(0.5, 40), st.integers(0, 5), st.integers(0, 1)),
            min_size=count,
            max_size=count,
        )
    )
    random = np.random.default_rng(draw(st.integers(0, 2**31)))
    found, day, uses, openings = [], 0.0, 0, 0
    for days, used, opened in steps:
        day, uses, openings = day + days, uses + used, openings + opened
        found.append(
            Reading(
                day=day,
                value=10 + 2 * random.standard_normal(),
                std=random.uniform(0.1, 1.0),
                uses=uses,
                openings=openings,
            )
        )
    return found


HISTORY = st.composite(histories)()


def moments(readings, wander, known):
    """Covariance of levels and of readings of a random walk from a start of spread ``known``."""
    gained = [
        wander.gained(b.day - a.day, b.uses - a.uses, b.openings - a.openings) for a, b in pairwise(readings)
    ]
    walked = np.concatenate([[0.0], np.cumsum(gained)])
    levels = known**2 + np.minimum.outer(walked, walked)
    return levels, levels + np.diag([reading.std**2 for reading in readings])


@pytest.mark.reference
@given(HISTORY)
def test_the_filter_is_a_normal_distribution_conditioned_on_the_readings(readings):
    known = 1e3
    levels, seen = moments(readings, WANDER, known)
    off = np.array([reading.value - 10 for reading in readings])
    gain = np.linalg.solve(seen, levels[:, -1])
    last = filtered(readings, WANDER)[-1]
    assert last.mean == pytest.approx(10 + gain @ off, rel=1e-5)
    assert last.std**2 == pytest.approx(levels[-1, -1] - levels[:, -1] @ gain, rel=1e-3)


@pytest.mark.reference
@given(HISTORY)
def test_the_likelihood_is_that_of_the_differences(readings):
    from scipy.stats import multivariate_normal

    _, seen = moments(readings, WANDER, 0.0)
    differ = np.diff(np.eye(len(readings)), axis=0)
    values = np.array([reading.value for reading in readings])
    expected = multivariate_normal(cov=differ @ seen @ differ.T).logpdf(differ @ values)
    assert log_likelihood(readings, WANDER) == pytest.approx(float(expected), rel=1e-8, abs=1e-8)


@pytest.mark.reference
def test_the_fit_is_the_maximum_of_that_likelihood():
    from scipy.optimize import minimize_scalar
    from scipy.stats import multivariate_normal

    random = np.random.default_rng(11)
    level, readings = 100.0, []
    for step in range(60):
        level += 1.5 * random.standard_normal()
        readings.append(Reading(day=float(step), value=level + 0.8 * random.standard_normal(), std=0.8))
    prior = Prior(usual=Wander(per_day=0.5), doubt=Wander(per_day=100.0))
    differ = np.diff(np.eye(60), axis=0)
    values = differ @ [reading.value for reading in readings]

    def cost(log):
        _, seen = moments(readings, Wander(per_day=math.exp(log)), 0.0)
        return -multivariate_normal(cov=differ @ seen @ differ.T).logpdf(values)

    best = math.exp(minimize_scalar(cost, bounds=(-3, 3), method="bounded").x)
    found = fit_wander(readings, prior, wild=0.0).wander.per_day
    assert found == pytest.approx(best, rel=2e-3)
    # The truth lies within two standard errors, about 1/√(2·60) each and as much again for the noise of the readings.
    assert found == pytest.approx(1.5, rel=0.4)


@pytest.mark.analytic
def test_the_steady_filter_solves_its_quadratic():
    # P = p·s²/(p + s²), p = P + q²: p = (q² + √(q⁴ + 4·q²·s²))/2. Harvey (1989), the local level in its steady state.
    q, s = 0.3, 0.7
    readings = [Reading(day=float(day), value=1.0, std=s) for day in range(300)]
    prior = (q**2 + math.sqrt(q**4 + 4 * q**2 * s**2)) / 2
    assert filtered(readings, Wander(per_day=q))[-1].std == pytest.approx(
        math.sqrt(prior * s**2 / (prior + s**2))
    )


@pytest.mark.analytic
def test_without_drift_it_is_the_weighted_mean():
    readings = [
        Reading(day=day, value=value, std=std) for day, value, std in ((0, 1, 0.1), (9, 2, 0.2), (50, 3, 0.3))
    ]
    weights = np.array([1 / reading.std**2 for reading in readings])
    last = filtered(readings, Wander(per_day=0.0))[-1]
    assert last.mean == pytest.approx(weights @ [1, 2, 3] / weights.sum())
    assert last.std == pytest.approx(weights.sum() ** -0.5)


@pytest.mark.analytic
def test_a_jump_without_bound_forgets_what_was_before():
    before = [Reading(day=day, value=5.0, std=0.1) for day in range(5)]
    after = Reading(day=6, value=8.0, std=0.4, openings=1)
    last = filtered([*before, after], Wander(per_day=0.1, jump=1e8))[-1]
    assert (last.mean, last.std) == (pytest.approx(8.0), pytest.approx(0.4))


@pytest.mark.property
@given(st.floats(0, 200), st.integers(0, 30), st.integers(0, 3))
def test_what_nobody_measures_is_known_ever_less(days, uses, openings):
    now = RateBelief(mean=4.0, std=0.5)
    found = later(now, WANDER, days=days, uses=uses, openings=openings)
    expected = 0.25 + 0.09 * days + 0.04 * uses + 4.0 * openings
    assert found.std**2 == pytest.approx(expected)
    assert found.mean == 4.0


@pytest.mark.property
@given(HISTORY, st.floats(0.01, 3))
def test_without_evidence_the_prior_stands_and_it_never_leaves_its_bounds(readings, usual):
    prior = Prior(usual=Wander(per_day=usual), doubt=Wander(per_day=0.5))
    found = fit_wander(readings, prior)
    if len(readings) < FEWEST:
        assert found.wander == prior.usual
        assert found.points == 0
    else:
        assert usual * 1e-4 <= found.wander.per_day <= usual * 1e2 * (1 + 1e-9)


@pytest.mark.analytic
def test_days_uses_and_openings_are_told_apart():
    random = np.random.default_rng(5)
    level, readings, uses = 50.0, [], 0
    for step in range(300):
        used = int(random.integers(0, 12))
        uses += used
        level += math.sqrt(0.04 + 0.25 * used) * random.standard_normal()
        readings.append(
            Reading(day=float(step), value=level + 0.1 * random.standard_normal(), std=0.1, uses=uses)
        )
    prior = Prior(
        usual=Wander(per_day=0.4, per_use=0.2, jump=3.0), doubt=Wander(per_day=3.0, per_use=3.0, jump=3.0)
    )
    found = fit_wander(readings, prior).wander
    assert found.per_use == pytest.approx(0.5, rel=0.15)
    assert found.per_day < 0.5
    assert found.jump == 3.0  # never opened, so nothing was learned of it


@pytest.mark.analytic
def test_dummies_by_hand():
    # Known to 10 %, read to 2 %: after one dummy 10·2/√104 = 1.961 %, so ± 3.84 % of 95 %; after two 1.400 %, ± 2.744 %.
    rate = RateBelief(mean=1.0, std=0.10)
    assert dummy_first(rate, reading_std=0.02, tolerance=0.04).count == 1
    assert dummy_first(rate, reading_std=0.02, tolerance=0.0384).count == 2
    assert dummy_first(rate, reading_std=0.02, tolerance=0.0275).count == 2
    assert not dummy_first(rate, reading_std=0.02, tolerance=0.197).needed
    never = dummy_first(rate, reading_std=0.02, tolerance=0.01, per_use=0.02)
    assert never.needed
    assert never.count is None
    assert "no number of dummies" in never.said


@pytest.mark.property
@given(st.floats(0.001, 0.5), st.floats(0.001, 0.2), st.floats(0.005, 0.5), st.floats(0, 0.05))
def test_a_wider_tolerance_never_asks_for_more_dummies(std, reading, tolerance, per_use):
    rate = RateBelief(mean=2.0, std=2 * std)
    narrow = dummy_first(rate, reading_std=2 * reading, tolerance=tolerance, per_use=2 * per_use)
    wide = dummy_first(rate, reading_std=2 * reading, tolerance=1.3 * tolerance, per_use=2 * per_use)
    assert bool(narrow.said) == narrow.needed
    if narrow.count is not None:
        assert wide.count is not None
        assert wide.count <= narrow.count


@pytest.mark.analytic
def test_nonsense_is_refused():
    with pytest.raises(ValueError, match="order"):
        filtered([Reading(day=2, value=1, std=1), Reading(day=1, value=1, std=1)], WANDER)
    with pytest.raises(ValueError, match="two readings"):
        log_likelihood([Reading(day=2, value=1, std=1)], WANDER)
    with pytest.raises(ValueError, match="spread"):
        Reading(day=0, value=1, std=0)
    with pytest.raises(ValueError, match="later"):
        later(RateBelief(mean=1, std=1), WANDER, days=-1)
