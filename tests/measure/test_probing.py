"""A shift of the probing order is noticed, and is not invented."""

from __future__ import annotations

import numpy as np
import pytest

from filmwright.measure import probing_shift

RATIOS = np.array([2.0, 5.0, 10.0, 20.0])


@pytest.mark.analytic
@pytest.mark.parametrize("rows", [-2, -1, 1, 2])
def test_a_shifted_order_is_told_with_evidence(rows: int) -> None:
    random = np.random.default_rng(3)
    size = np.tile(RATIOS, 8)
    current = 1e-7 * np.roll(size, -rows) * 10 ** random.normal(0, 0.05, size.size)
    current[5] = np.nan  # a dead device
    found = probing_shift(size, current)
    # Four sizes in turn: two rows up and two rows down are the same order.
    assert found.rows % 4 == rows % 4
    assert found.shifted > 0.95
    assert f"{abs(found.rows)} row" in found.words


@pytest.mark.property
def test_orders_that_are_right_are_left_alone() -> None:
    random = np.random.default_rng(5)
    told = 0
    for _ in range(500):
        size = random.choice(RATIOS, 24)
        told += (
            probing_shift(size, 1e-7 * size * 10 ** random.normal(0, random.uniform(0.02, 0.6), 24)).rows != 0
        )
    assert told <= 1  # odds of 1000 to 1 are asked for


@pytest.mark.property
def test_currents_that_follow_no_size_tell_nothing() -> None:
    random = np.random.default_rng(6)
    told = [
        probing_shift(random.choice(RATIOS, 24), 10 ** random.normal(-7, 0.5, 24)).rows for _ in range(500)
    ]
    assert sum(1 for rows in told if rows) <= 1


@pytest.mark.analytic
def test_few_devices_or_one_size_tell_nothing() -> None:
    assert probing_shift(np.tile(RATIOS, 1), np.roll(RATIOS, 1)).words == ""
    assert probing_shift(np.full(30, 5.0), np.arange(1, 31) * 1e-7).rows == 0
