"""Leakage through area, along edges, and what cannot be told apart."""

import numpy as np
import pytest

from filmwright.learn import Leaking, leakage

WIDTHS, LENGTHS = (20e-6, 50e-6, 100e-6, 200e-6, 400e-6), (5e-6, 10e-6, 20e-6, 50e-6)


def devices(draw, area=0.0, edge=0.0, each=0.0, scatter=0.3, lengths=LENGTHS):
    return [
        Leaking(
            wafer="A",
            device=f"T{w:g}-{length:g}",
            current=(area * w * length + edge * 2 * w + each) * float(np.exp(draw.normal(0, scatter))),
            area=w * length,
            edge=2 * w,
        )
        for w in WIDTHS
        for length in lengths
    ]


@pytest.mark.analytic
def test_without_scatter_the_parts_are_found_as_they_were_made():
    found = leakage(devices(np.random.default_rng(1), 1e-3, 2e-8, 1e-12, scatter=1e-6))
    assert [each.value for each in found.shares] == pytest.approx([1e-3, 2e-8, 1e-12], rel=1e-3)
    assert [each.verdict for each in found.shares] == ["there"] * 3
    assert found.apart
    assert sum(each.share for each in found.shares) == pytest.approx(1.0)


@pytest.mark.property
def test_intervals_hold_the_truth_and_nothing_is_said_of_what_is_not_there():
    draw = np.random.default_rng(2)
    held, there = np.zeros(3), np.zeros(3)
    for _ in range(25):
        shares = leakage(devices(draw, 1e-3)).shares
        held += [part.low <= true <= part.high for part, true in zip(shares, (1e-3, 0, 0), strict=True)]
        there += [part.verdict == "there" for part in shares]
    # Of 25 draws at 95 % fewer than 20 hold in one of 1000 cases.
    assert np.all(held >= 20)
    assert there[0] == 25
    assert np.all(there[1:] <= 5)


@pytest.mark.analytic
def test_area_and_edge_of_one_length_cannot_be_told_apart_and_the_structure_that_would_is_named():
    draw = np.random.default_rng(3)
    found = leakage([each for _ in range(4) for each in devices(draw, 1e-3, 2e-8, lengths=(1e-5,))])
    verdicts = {each.part: each.verdict for each in found.shares}
    assert verdicts["area"] == verdicts["edge"] == "cannot be told apart"
    assert "unlike border" in found.what_would_tell
    assert not found.apart


@pytest.mark.analytic
def test_a_pinhole_is_named_and_left_out_and_currents_below_zero_are_counted():
    draw = np.random.default_rng(4)
    sound = devices(draw, 1e-3, scatter=0.1)
    pinhole = Leaking(wafer="A", device="T-bad", current=1e-6, area=1e-9, edge=1e-4)
    below = Leaking(wafer="A", device="T-below", current=-1e-15, area=1e-9, edge=1e-4)
    found = leakage([*sound, pinhole, below])
    assert found.outliers == (("A", "T-bad"),)
    assert (found.devices, found.below) == (21, 1)
    assert found.shares[0].low < 1e-3 < found.shares[0].high


@pytest.mark.analytic
def test_too_few_devices_or_sizes_tell_nothing():
    few = devices(np.random.default_rng(5), 1e-3)[:5]
    assert "at least 6" in leakage(few).why_not
    alike = [
        Leaking(wafer="A", device=str(k), current=1e-12 * (k + 1), area=1e-9, edge=1e-4) for k in range(8)
    ]
    assert "fewer than three sizes" in leakage(alike).why_not
