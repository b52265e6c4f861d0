"""The Kalman step in its limits, and a drift found from a tool's own history."""

import math

import numpy as np
import pytest

from filmwright.learn import Z95, RateBelief, aged, drift_from_history, kalman_step


@pytest.mark.analytic
def test_nothing_known_before_gives_the_measurement():
    after = kalman_step(RateBelief(mean=1.0, std=math.inf), 3.0, 0.2, 5, 0.1)
    assert (after.mean, after.std) == (3.0, 0.2)
    nearly = kalman_step(RateBelief(mean=1.0, std=1e9), 3.0, 0.2, 0, 0.0)
    assert (nearly.mean, nearly.std) == (pytest.approx(3.0), pytest.approx(0.2))


@pytest.mark.analytic
def test_equal_spreads_meet_in_the_middle():
    after = kalman_step(RateBelief(mean=1.0, std=0.5), 2.0, 0.5, 0, 0.3)
    assert after.mean == pytest.approx(1.5)
    assert after.std == pytest.approx(0.5 / math.sqrt(2))


@pytest.mark.analytic
def test_an_exact_belief_and_a_useless_measurement_change_nothing():
    assert kalman_step(RateBelief(mean=1.0, std=0.0), 2.0, 0.5, 0, 0.0).mean == 1.0
    after = kalman_step(RateBelief(mean=1.0, std=0.5), 2.0, math.inf, 0, 0.0)
    assert (after.mean, after.std) == (1.0, 0.5)


@pytest.mark.analytic
def test_many_steps_without_drift_are_the_mean_with_root_n():
    readings = [1.0 + 0.1 * math.sin(7 * i) for i in range(100)]
    belief = RateBelief(mean=0.0, std=math.inf)
    for reading in readings:
        belief = kalman_step(belief, reading, 0.2, 3, 0.0)
    assert belief.mean == pytest.approx(math.fsum(readings) / 100)
    assert belief.std == pytest.approx(0.2 / math.sqrt(100))


@pytest.mark.analytic
def test_idle_days_add_variance_and_move_the_date():
    later = aged(RateBelief(mean=1.0, std=0.3, date="2031-02-27"), 4, 0.2)
    assert later.std == pytest.approx(math.sqrt(0.3**2 + 4 * 0.2**2))
    assert (later.mean, later.date) == (1.0, "2031-03-03")
    assert aged(later, 0, 0.2) == later


@pytest.mark.analytic
def test_the_steady_state_solves_its_quadratic():
    # P' = P + q², P = P' R / (P' + R) has the fixed point P' = (q² + sqrt(q⁴ + 4 q² R)) / 2.
    q, r = 0.1, 0.3
    belief = RateBelief(mean=1.0, std=5.0)
    for _ in range(400):
        belief = kalman_step(belief, 1.0, r, 1, q)
    prior = (q**2 + math.sqrt(q**4 + 4 * q**2 * r**2)) / 2
    assert belief.std == pytest.approx(math.sqrt(prior * r**2 / (prior + r**2)))


@pytest.mark.reference
def test_the_step_is_the_generalised_least_squares_estimate():
    # Two readings of a random walk and a prior, solved as one linear system with numpy.
    prior, (first, second), r, q, days = RateBelief(mean=2.0, std=0.4), (2.5, 2.9), 0.3, 0.2, 5.0
    now = kalman_step(kalman_step(prior, first, r, days, q), second, r, days, q)
    design = np.array([[1.0, 0.0], [-1.0, 1.0], [1.0, 0.0], [0.0, 1.0]])
    stds = np.array([math.hypot(0.4, q * math.sqrt(days)), q * math.sqrt(days), r, r])
    data = np.array([2.0, 0.0, first, second])
    weighted = design / stds[:, None]
    covariance = np.linalg.inv(weighted.T @ weighted)
    solved = covariance @ weighted.T @ (data / stds)
    assert now.mean == pytest.approx(solved[1])
    assert now.std == pytest.approx(math.sqrt(covariance[1, 1]))


@pytest.mark.property
def test_the_interval_covers_a_drifting_rate_in_95_of_100_cases():
    draw = np.random.default_rng(20310504)
    inside, cases = 0, 4000
    for _ in range(cases):
        truth = draw.normal(10.0, 1.0)
        belief = RateBelief(mean=10.0, std=1.0)
        for days in (3, 10, 1):
            truth += draw.normal(0, 0.2 * math.sqrt(days))
            belief = kalman_step(belief, truth + draw.normal(0, 0.4), 0.4, days, 0.2)
        inside += belief.low <= truth <= belief.high
    # Four standard deviations of a binomial count with p = 0.95 and n = 4000: 0.014.
    assert inside / cases == pytest.approx(0.95, abs=0.014)


@pytest.mark.analytic
def test_drift_from_history_by_hand():
    # Exact readings 0, 2, 2 on days 0, 1, 4: (4 + 0) / 4 days.
    assert drift_from_history([0, 1, 4], [0.0, 2.0, 2.0], [0.0, 0.0, 0.0]) == pytest.approx(1.0)
    assert drift_from_history([0, 1, 4], [0.0, 0.1, 0.0], [0.2, 0.2, 0.2]) == 0.0


@pytest.mark.property
def test_drift_from_history_finds_the_drift_of_a_random_walk():
    draw = np.random.default_rng(3)
    days = np.cumsum(draw.uniform(1, 9, 3000))
    truth = np.cumsum(draw.normal(0, 0.2 * np.sqrt(np.diff(days, prepend=0.0))))
    stds = np.full(days.size, 0.1)
    found = drift_from_history(days.tolist(), (truth + draw.normal(0, stds)).tolist(), stds.tolist())
    assert found == pytest.approx(0.2, rel=0.05)


@pytest.mark.analytic
@pytest.mark.parametrize(
    "call",
    [
        lambda: RateBelief(mean=math.nan, std=1.0),
        lambda: RateBelief(mean=1.0, std=-1.0),
        lambda: RateBelief(mean=1.0, std=math.nan),
        lambda: aged(RateBelief(mean=1.0, std=1.0), -1, 0.1),
        lambda: kalman_step(RateBelief(mean=1.0, std=1.0), math.nan, 0.1, 0, 0.1),
        lambda: kalman_step(RateBelief(mean=1.0, std=1.0), 1.0, -0.1, 0, 0.1),
        lambda: kalman_step(RateBelief(mean=1.0, std=0.0), 1.0, 0.0, 0, 0.1),
        lambda: kalman_step(RateBelief(mean=1.0, std=math.inf), 1.0, math.inf, 0, 0.1),
        lambda: drift_from_history([0, 1], [1, 2], [0, 0]),
        lambda: drift_from_history([0, 1, 1], [1, 2, 3], [0, 0, 0]),
    ],
)
def test_what_cannot_be_is_refused(call):
    with pytest.raises(ValueError, match=r"must|needs"):
        call()


@pytest.mark.literature
def test_half_width_of_a_95_percent_interval():
    # Abramowitz & Stegun, table 26.1 (from memory): 1.959 963 985; rounded there to nine decimals.
    assert pytest.approx(1.959963985, abs=1e-9) == Z95
