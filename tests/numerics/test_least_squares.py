"""Many small least-squares problems at once."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import optimize

from filmwright.numerics import least_squares_many

WIDE = np.full(2, -1e3), np.full(2, 1e3)
STEP = np.full(2, 1e-7)


@pytest.mark.analytic
def test_straight_lines_in_closed_form():
    rng = np.random.default_rng(1)
    t, y = np.linspace(0, 1, 9), rng.normal(size=(5, 9))
    told = np.array([np.polynomial.polynomial.polyfit(t, each, 1) for each in y])
    found = least_squares_many(lambda x: x[:, :1] + x[:, 1:] * t - y, np.zeros((5, 2)), *WIDE, STEP)
    assert found.x == pytest.approx(told, abs=1e-6)
    assert found.jacobian[0] == pytest.approx(np.stack([np.ones(9), t], axis=1), abs=1e-6)
    assert found.cost == pytest.approx(np.sum(found.residual**2, axis=1))


@pytest.mark.analytic
def test_the_curved_valley_ends_at_one_one():
    # Rosenbrock's valley as residuals 10·(y − x²) and 1 − x.
    def valley(x: np.ndarray) -> np.ndarray:
        return np.stack([10 * (x[:, 1] - x[:, 0] ** 2), 1 - x[:, 0]], axis=1)

    starts = np.array([[-1.2, 1.0], [2.0, 2.0], [0.0, 0.0]])
    assert least_squares_many(valley, starts, *WIDE, STEP).x == pytest.approx(1.0, abs=1e-5)


@pytest.mark.reference
def test_bounded_exponentials_as_a_library_fits_them():
    # scipy's bounded least squares from the same start (reference).
    rng = np.random.default_rng(4)
    t = np.linspace(0, 3, 20)
    data = 2.0 * np.exp(-1.3 * t) + rng.normal(0, 0.05, (6, 20))
    low, high = np.array([0.0, 0.0]), np.array([1.9, 5.0])

    def off(x: np.ndarray) -> np.ndarray:
        return x[:, :1] * np.exp(-x[:, 1:] * t) - data

    found = least_squares_many(off, np.tile([1.0, 1.0], (6, 1)), low, high, STEP)
    for j in range(6):
        told = optimize.least_squares(
            lambda p, j=j: p[0] * np.exp(-p[1] * t) - data[j], [1.0, 1.0], bounds=(low, high), xtol=1e-12
        )
        assert found.x[j] == pytest.approx(told.x, abs=1e-4)


@pytest.mark.property
def test_a_start_outside_its_bounds_is_moved_onto_them():
    found = least_squares_many(lambda x: x - 5.0, np.array([[9.0, -9.0]]), np.zeros(2), np.ones(2), STEP)
    assert found.x[0] == pytest.approx([1.0, 1.0])
