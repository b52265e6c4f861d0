"""Dependence on length and width, and what cannot be told."""

import numpy as np
import pytest

from filmwright.learn import Sized, size_effects

UM = 1e-6


def devices(draw, roll_off=0.0, level=(0.0, 0.0), noise=0.02):
    """Two wafers, five lengths, two widths; the threshold falls by ``roll_off``·(1 µm / L)."""
    return [
        Sized(
            wafer=wafer,
            device=f"T{k}",
            width=w * UM,
            length=length * UM,
            value=1 + level["AB".index(wafer)] - roll_off / length + float(draw.normal(0, noise)),
        )
        for wafer in "AB"
        for k, (length, w) in enumerate((a, b) for a in (2, 4, 8, 16, 32) for b in (20, 100))
    ]


@pytest.mark.analytic
def test_roll_off_is_found_whatever_the_level_of_each_wafer():
    found = {each.axis: each for each in size_effects(devices(np.random.default_rng(1), 0.6, (0.0, 0.5)))}
    # From 32 to 2 µm the threshold falls by 0.6·(1/2 − 1/32) V.
    assert found["1/L"].low < -0.6 * (1 / 2 - 1 / 32) < found["1/L"].high < 0
    assert found["1/L"].verdict == "goes with it"
    assert found["1/L"].residual < found["L"].residual
    assert found["1/L"].relative == pytest.approx(found["1/L"].change / 1.23, rel=0.05)
    assert (found["1/L"].wafers, found["1/L"].sizes, found["1/L"].devices) == (2, 5, 20)


@pytest.mark.property
def test_a_parameter_that_does_not_go_with_length_is_said_to_in_5_of_100_cases():
    draw = np.random.default_rng(2)
    effects = [size_effects(devices(draw, 0.0, (0.0, 1.0)))[1] for _ in range(300)]
    called = np.mean([each.verdict == "goes with it" for each in effects])
    held = np.mean([each.low <= 0 <= each.high for each in effects])
    # Four standard deviations of a binomial share at 300 draws: 0.05.
    assert called < 0.10
    assert held == pytest.approx(0.95, abs=0.05)


@pytest.mark.analytic
def test_what_the_devices_cannot_tell_is_said():
    every = devices(np.random.default_rng(3))
    widths = next(each for each in size_effects(every) if each.axis == "W")
    assert widths.verdict == "cannot tell"
    assert "at least 3" in widths.why_not
    near = [
        Sized(wafer="A", device=f"T{k}", width=1e-4, length=(9 + k / 5) * UM, value=1.0) for k in range(9)
    ]
    assert "factor of" in size_effects(near)[0].why_not
    both = [
        Sized(wafer="A", device=f"T{k}", width=10 * 2**k * UM, length=2**k * UM, value=float(k))
        for k in range(9)
    ]
    assert "change together" in size_effects(both)[0].why_not
