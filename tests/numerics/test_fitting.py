"""Many nonlinear fits at once: certified problems, a library's solver, limits, and what the data do not tell."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize

from filmwright.numerics import fit_errors, fit_many, profile_ends

FREE = (-np.inf, np.inf)

# NIST Statistical Reference Datasets, nonlinear regression (published, public domain; itl.nist.gov/div898/strd):
# observations, certified values and certified standard deviations.
CERTIFIED = {
    "Misra1a": {
        "x": [77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0],
        "y": [10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78],
        "starts": [[500.0, 1e-4], [250.0, 5e-4]],
        "values": [2.3894212918e02, 5.5015643181e-04],
        "stds": [2.7070075241e00, 7.2668688436e-06],
        "squares": 1.2455138894e-01,
    },
    "BoxBOD": {
        "x": [1, 2, 3, 5, 7, 10],
        "y": [109, 149, 149, 191, 213, 224],
        # From the far start (1, 1) plain descent ends on the plateau of b2 without end, as it does for many solvers.
        "starts": [[100.0, 0.75], [150.0, 0.4]],
        "values": [2.1380940889e02, 5.4723748542e-01],
        "stds": [1.2354515176e01, 1.0455993237e-01],
        "squares": 1.1680088766e03,
    },
    "MGH09": {
        "x": [4.0, 2.0, 1.0, 0.5, 0.25, 0.167, 0.125, 0.1, 0.0833, 0.0714, 0.0625],
        "y": [
            0.1957,
            0.1947,
            0.1735,
            0.1600,
            0.0844,
            0.0627,
            0.0456,
            0.0342,
            0.0323,
            0.0235,
            0.0246,
        ],
        "starts": [[25.0, 39.0, 41.5, 39.0], [0.25, 0.39, 0.415, 0.39]],
        "values": [1.9280693458e-01, 1.9128232873e-01, 1.2305650693e-01, 1.3606233068e-01],
        "stds": [1.1435312227e-02, 1.9633220911e-01, 8.0842031232e-02, 9.0025542308e-02],
        "squares": 3.0750560385e-04,
    },
    "Rat43": {
        "x": list(range(1, 16)),
        "y": [16.08, 33.83, 65.80, 97.20, 191.55, 326.20, 386.87, 520.53, 590.03, 651.92, 724.93, 699.56, 689.96,
              637.56, 717.41],
        "starts": [[100.0, 10.0, 1.0, 1.0], [700.0, 5.0, 0.75, 1.3]],
        "values": [6.9964151270e02, 5.2771253025e00, 7.5962938329e-01, 1.2792483859e00],
        "stds": [1.6302297817e01, 2.0828735829e00, 1.9566123451e-01, 6.8761936385e-01],
        "squares": 8.7864049080e03,
    },
}  # fmt: skip


def rise_to(b, x):
    """b1·(1 − exp(−b2·x)) with its derivatives: Misra1a and BoxBOD."""
    fall = np.exp(-b[1] * x)
    return b[0] * (1 - fall), np.stack([1 - fall, b[0] * x * fall])


def quotient(b, x):
    """b1·(x² + b2·x)/(x² + b3·x + b4): MGH09."""
    top, bottom = x**2 + b[1] * x, x**2 + b[2] * x + b[3]
    value = b[0] * top / bottom
    return value, np.stack([top / bottom, b[0] * x / bottom, -value * x / bottom, -value / bottom])


def growth(b, x):
    """b1/(1 + exp(b2 − b3·x))^(1/b4): Rat43."""
    e = np.exp(b[1] - b[2] * x)
    value = b[0] * (1 + e) ** (-1 / b[3])
    inner = -value / b[3] * e / (1 + e)
    return value, np.stack([value / b[0], inner, -inner * x, value * np.log(1 + e) / b[3] ** 2])


MODELS = {"Misra1a": rise_to, "BoxBOD": rise_to, "MGH09": quotient, "Rat43": growth}


def problem_of(model, x, ys, weight=1.0):
    """Residuals and derivatives of one model on rows of observations."""

    def problem(b, rows):
        value, slopes = model(b.T[:, :, None], x)
        return (value - ys[rows]) * weight, np.moveaxis(slopes, 0, 1) * weight

    return problem


def digits(found, told):
    return float(np.min(-np.log10(np.maximum(np.abs(np.asarray(found) / told - 1), 1e-16))))


@pytest.mark.literature
@pytest.mark.parametrize("name", CERTIFIED)
def test_certified_problems_are_met_to_the_digit_values_and_errors_from_both_starts(name):
    told = CERTIFIED[name]
    x, y = np.array(told["x"], float), np.array(told["y"], float)
    ys = np.tile(y, (2, 1))
    low = np.where(name == "Rat43", [-np.inf] * 3 + [1e-3], -np.inf) if name == "Rat43" else -np.inf
    with np.errstate(over="ignore", invalid="ignore"):
        found = fit_many(
            problem_of(MODELS[name], x, ys), told["starts"], low, np.inf, rounds=500, tolerance=1e-14
        )
    errors = fit_errors(found, noise_known=False)
    assert found.converged.all()
    for row in range(2):
        # The certified values have 11 digits. The sum of squares is flat to rounding over the root of it, seven to
        # eight digits of a well-told unknown; of those of MGH09, which correlate to 0.99 and more, six.
        assert digits(found.x[row], told["values"]) > 6.5
        assert digits(errors.std[row], told["stds"]) > 6
        assert digits(found.cost[row], told["squares"]) > 9


def decays(count, seed=3, noise=0.02):
    rng = np.random.default_rng(seed)
    t = np.linspace(0, 4, 40)
    true = np.stack(
        [rng.uniform(0.5, 3, count), rng.uniform(0.3, 2, count), rng.uniform(-0.5, 0.5, count)], axis=1
    )
    clean = true[:, :1] * np.exp(-true[:, 1:2] * t) + true[:, 2:]
    return t, true, clean + noise * rng.normal(size=clean.shape)


def decay(b, t):
    fall = np.exp(-b[1] * t)
    return b[0] * fall + b[2], np.stack([fall, -b[0] * t * fall, np.ones_like(b[0] * t)])


@pytest.mark.reference
def test_hundreds_of_bounded_fits_as_a_library_makes_them_one_by_one():
    t, _, ys = decays(300)
    low, high = np.array([0.0, 0.5, -0.2]), np.array([2.5, 1.5, 0.2])
    found = fit_many(problem_of(decay, t, ys), np.tile([1.0, 1.0, 0.0], (300, 1)), low, high)
    assert found.converged.all()
    assert found.held.any(axis=0).all()
    for row in range(0, 300, 5):

        def residual(b, row=row):
            return decay(b[:, None], t)[0] - ys[row]

        library = optimize.least_squares(
            residual, [1.0, 1.0, 0.0], bounds=(low, high), xtol=1e-14, ftol=1e-14, gtol=1e-14
        )
        # The library stays a hair inside its bounds; the cost is the same to its own tolerance.
        assert found.cost[row] == pytest.approx(2 * library.cost, rel=1e-7)
        assert found.x[row] == pytest.approx(library.x, abs=1e-4)


@pytest.mark.reference
def test_a_tail_gives_wild_points_the_weight_that_a_library_gives_them():
    t, true, ys = decays(20)
    ys[:, 7] += 5.0
    start = np.tile([1.0, 1.0, 0.0], (20, 1))
    problem = problem_of(decay, t, ys, weight=50.0)
    found = fit_many(problem, start, *FREE, tail=2.0)
    for row in range(0, 20, 4):

        def residual(b, row=row):
            return 50.0 * (decay(b[:, None], t)[0] - ys[row])

        library = optimize.least_squares(
            residual, start[0], loss="soft_l1", f_scale=2.0, xtol=1e-14, ftol=1e-14, gtol=1e-14
        )
        assert found.x[row] == pytest.approx(library.x, rel=1e-5)
        assert found.cost[row] == pytest.approx(2 * library.cost, rel=1e-9)
    plain = fit_many(problem, start, *FREE)
    assert np.abs(found.x - true).mean() < 0.3 * np.abs(plain.x - true).mean()


@pytest.mark.convergence
def test_a_fit_without_rest_closes_in_quadratically_and_none_is_worked_on_after_its_end():
    t, true, _ = decays(500)
    clean = true[:, :1] * np.exp(-true[:, 1:2] * t) + true[:, 2:]
    asked = []

    def problem(b, rows):
        asked.append(len(rows))
        return problem_of(decay, t, clean)(b, rows)

    found = fit_many(problem, true * 1.2 + 0.05, *FREE)
    assert found.x == pytest.approx(true, rel=1e-9, abs=1e-10)
    assert found.rounds.max() < 25
    assert sum(asked) == pytest.approx(float(found.rounds.sum()) + 500, rel=0.02)


@pytest.mark.property
@given(st.integers(0, 10_000), st.floats(0.01, 100.0))
def test_the_minimum_depends_neither_on_the_scale_of_an_unknown_nor_on_its_neighbours(seed, scale):
    t, _, ys = decays(4, seed=seed)
    whole = fit_many(problem_of(decay, t, ys), np.tile([1.0, 1.0, 0.0], (4, 1)), *FREE)

    def stretched(b, rows):
        residual, slopes = problem_of(decay, t, ys)(b * [scale, 1.0, 1.0], rows)
        return residual, slopes * np.array([scale, 1.0, 1.0])[:, None]

    other = fit_many(stretched, np.tile([1.0 / scale, 1.0, 0.0], (4, 1)), *FREE)
    alone = fit_many(problem_of(decay, t, ys[2:3]), [[1.0, 1.0, 0.0]], *FREE)
    good = whole.converged & other.converged
    assert other.x[good] * [scale, 1, 1] == pytest.approx(whole.x[good], rel=1e-4, abs=1e-5)
    assert alone.x[0] == pytest.approx(whole.x[2], rel=1e-9)


@pytest.mark.analytic
def test_ninety_five_in_a_hundred_intervals_hold_the_truth():
    t, true, ys = decays(4000, noise=0.01)
    found = fit_many(problem_of(decay, t, ys, weight=100.0), true, *FREE)
    errors = fit_errors(found)
    held = np.mean(np.abs(found.x - true) < 1.96 * errors.std, axis=0)
    # 95 % ± 3 × √(0.95·0.05/4000) = ± 1 %.
    assert held == pytest.approx(0.95, abs=0.012)


@pytest.mark.analytic
def test_an_unknown_that_changes_nothing_and_two_that_only_act_together_are_said_untold():
    x = np.linspace(1, 2, 20)
    ys = (3.0 * x)[None]

    def product(b, rows):
        value = b[:, :1] * b[:, 1:2] * x
        return value - ys[rows], np.stack([b[:, 1:2] * x, b[:, :1] * x, 0 * value], axis=1)

    found = fit_many(product, [[1.0, 2.0, 5.0]], *FREE)
    errors = fit_errors(found)
    assert found.x[0, 0] * found.x[0, 1] == pytest.approx(3.0)
    assert found.x[0, 2] == 5.0
    assert errors.untold.tolist() == [[True, True, True]]
    assert np.all(np.isinf(errors.std))
    ends = profile_ends(product, found, 0, [-np.inf] * 3, [np.inf] * 3, 3.84)
    assert ends.open_low[2]
    assert ends.open_high.all()


@pytest.mark.analytic
def test_a_profile_of_a_straight_line_is_its_parabola():
    rng = np.random.default_rng(2)
    x = np.linspace(0, 1, 15)
    ys = (1 + 2 * x + 0.1 * rng.normal(size=15))[None]

    def line(b, rows):
        value = b[:, :1] + b[:, 1:] * x
        return (value - ys[rows]) / 0.1, np.stack([np.ones_like(value), x + 0 * value], axis=1) / 0.1

    found = fit_many(line, [[0.0, 0.0]], *FREE)
    std = fit_errors(found).std[0]
    ends = profile_ends(line, found, 0, [-np.inf] * 2, [np.inf] * 2, 1.959964**2)
    assert ends.high - found.x[0] == pytest.approx(1.959964 * std, rel=1e-6)
    assert found.x[0] - ends.low == pytest.approx(1.959964 * std, rel=1e-6)


@pytest.mark.literature
def test_the_profile_of_a_curved_problem_is_lopsided_and_ends_at_the_rise():
    # BoxBOD: Bates and Watts show its profile open above in b2 at 99 %; at one standard deviation it is closed.
    told = CERTIFIED["BoxBOD"]
    x, y = np.array(told["x"], float), np.array([told["y"]], float)
    noise = np.sqrt(told["squares"] / 4)
    problem = problem_of(rise_to, x, y, weight=1 / noise)
    found = fit_many(problem, [told["values"]], *FREE)
    ends = profile_ends(problem, found, 0, [0.0, 0.0], [np.inf, np.inf], 1.0)
    assert ends.high[1] - found.x[0, 1] > 1.05 * (found.x[0, 1] - ends.low[1])
    for side in (ends.low[1], ends.high[1]):
        fixed = fit_many(problem, [[200.0, side]], [0.0, side], [np.inf, side])
        assert fixed.cost[0] - found.cost[0] == pytest.approx(1.0, rel=2e-3)
    # The rise that belongs to 99.9 % with four degrees of freedom is beyond what the upper side ever reaches.
    far = profile_ends(problem, found, 0, [0.0, 0.0], [np.inf, np.inf], 60.0)
    assert far.open_high[1]
    assert not far.open_low[1]


@pytest.mark.property
def test_what_is_not_a_problem_is_refused_and_numbers_that_fail_are_flagged():
    t, _, ys = decays(2)
    ys[1] = np.nan
    found = fit_many(problem_of(decay, t, ys), np.tile([1.0, 1.0, 0.0], (2, 1)), *FREE)
    assert found.converged.tolist() == [True, False]
    with pytest.raises(ValueError, match="low must not"):
        fit_many(problem_of(decay, t, ys), [[1.0, 1.0, 0.0]], 1.0, 0.0)
    with pytest.raises(ValueError, match="tail"):
        fit_many(problem_of(decay, t, ys), [[1.0, 1.0, 0.0]], *FREE, tail=0.0)
    with pytest.raises(ValueError, match="rise"):
        profile_ends(problem_of(decay, t, ys), found, 0, *FREE, 0.0)
