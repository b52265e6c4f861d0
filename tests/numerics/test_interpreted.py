"""Loops over the points of curves tell the same whether they are interpreted or compiled."""

import subprocess
import sys

import numpy as np
import pytest

from filmwright.numerics import (
    CurveNoise,
    interpreted,
    largest_transitions,
    levels_of_curves,
    noise_of_curves,
    peaks_of_derivative,
    root_ratio_lines,
    steepest_logarithms,
    steepest_tangents,
)

HALVES = (1, 2, 3, 5, 8, 11)


def bundle(even):
    """Curves with a knee, a floor and noise of known size, on equal or unequal steps."""
    chance = np.random.default_rng(3)
    grid = np.linspace(-2.0, 6.0, 61)
    if not even:
        grid = grid + chance.uniform(-0.02, 0.02, grid.size)
    scale = chance.uniform(0.5, 2.0, (6, 1))
    clean = 1e-6 * scale * np.log1p(np.exp((grid - 1.0) / 0.4)) ** 1.5 + 1e-11
    std = np.hypot(1e-12, 0.004 * clean)
    curves = clean + std * chance.normal(size=clean.shape)
    noise = CurveNoise(variance=std**2, floor_part=np.full(std.shape, 1e-24), freedom=np.full((6, 2), 20.0))
    return grid, curves, noise


def told(even):
    """Everything that the loops say of them."""
    grid, curves, noise = bundle(even)
    windows = np.array([[2, 30, 58]] * 6)
    return [
        noise_of_curves(curves, np.full((58, 4), 0.25) * [1, -3, 3, -1]),
        steepest_tangents(grid, curves, noise, HALVES, 0.5, 3),
        peaks_of_derivative(grid, curves, noise, HALVES[2:], 2, (1.0, 1)),
        peaks_of_derivative(grid, curves, noise, HALVES[2:], 3, (1.0, 3)),
        root_ratio_lines(grid, curves, noise, HALVES, np.array([[35, 52, 3]] * 6)),
        largest_transitions(grid, curves, noise, HALVES, windows, (2.0, 4)),
        levels_of_curves(grid, curves, noise, (1, 3, 6), (3, 6, 12)),
        steepest_logarithms(grid, curves, noise, HALVES, np.full(curves.shape, 5e-11)),
    ]


@pytest.mark.property
@pytest.mark.parametrize("even", [True, False])
def test_interpreted_and_compiled_loops_tell_the_same(monkeypatch, even):
    monkeypatch.setattr(interpreted, "FEW", -1)
    compiled = told(even)
    monkeypatch.setattr(interpreted, "FEW", 10**9)
    for one, other in zip(told(even), compiled, strict=True):
        assert np.isfinite(other).any()
        np.testing.assert_allclose(one, other, rtol=1e-7, atol=0.0)


@pytest.mark.property
def test_many_curves_one_after_the_other_are_compiled_in_the_end(monkeypatch):
    ways = []
    monkeypatch.setattr(interpreted, "_SPENT", interpreted.Counter())
    monkeypatch.setattr(interpreted, "compiled", lambda loop: lambda: ways.append("compiled"))
    for _ in range(3):
        interpreted.run(lambda: ways.append("interpreted"), interpreted.FEW + 1)

    def one():
        ways.append("one")

    for _ in range(interpreted.FEW + 2):
        interpreted.run(one, 1)
    assert ways == ["compiled"] * 3 + ["one"] * interpreted.FEW + ["compiled"] * 2


@pytest.mark.property
def test_the_first_curves_of_a_process_load_no_compiler():
    code = (
        "import sys, numpy as np; from filmwright.measure import Sweep, extract\n"
        "volts = np.linspace(-5.0, 15.0, 41); current = 1e-7 * np.maximum(volts - 1.0, 0.0) ** 2 + 1e-12\n"
        "found = extract([Sweep(gate_voltage=volts, drain_current=current, drain_voltage=20.0)])\n"
        "print(round(found[0].parameters['threshold_voltage_saturation'].value, 3), 'numba' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    # A square law with a threshold of 1 V.
    assert done.stdout.split() == ["1.0", "False"]
