"""A set of different length beside a loop of regressions with errors in both axes; capacitance curves beside a loop of fits."""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy import odr, optimize

from filmwright.device import TransistorDesign, drain_current
from filmwright.measure import (
    CapacitanceCurve,
    CapacitorSample,
    LengthDevice,
    Sweep,
    gated_lengths,
    read_capacitance,
)

Array = NDArray[np.float64]

LENGTHS = (5e-6, 1e-5, 2e-5, 4e-5, 6e-5, 1e-4)
TWICE, OVERDRIVES, POINTS = 2, 5, 81
"""Devices of each length, lines that are drawn, and gate voltages of a curve."""

CURVES, BIASES = 20, 201


def devices(seed: int = 1) -> list[LengthDevice]:
    """Transistors of six lengths, twice each, with noise and a scatter of thresholds."""
    rng = np.random.default_rng(seed)
    gate = np.linspace(-2.0, 6.0, POINTS)
    found = []
    for number, length in enumerate(LENGTHS * TWICE):
        design = TransistorDesign(
            width=1e-4, length=length, areal_capacitance=1.7e-3, mobility=1e-3 * float(np.exp(rng.normal(0, 0.03))),
            threshold_voltage=1.0 + float(rng.normal(0, 0.03)), ideality=1.6, contact_resistance=0.15, off_current=1e-13,
        )  # fmt: skip
        current = drain_current(design, gate, np.full_like(gate, 0.1)) * (1 + rng.normal(0, 0.004, gate.size))
        sweep = Sweep(gate_voltage=gate, drain_current=current, drain_voltage=0.1)
        found.append(LengthDevice(name=f"T{number}", sweep=sweep, length=length, width=1e-4, length_std=1e-7))
    return found


def regressions(some: list[LengthDevice]) -> list[tuple[float, float]]:
    """As one would write it: tangent by the largest slope, then a regression with errors in both axes at each overdrive."""
    thresholds, resistance = [], []
    for each in some:
        gate, current = each.sweep.gate_voltage, each.sweep.drain_current
        slope = np.gradient(current, gate)
        at = int(np.argmax(slope))
        thresholds.append(gate[at] - current[at] / slope[at])
    most = min(float(each.sweep.gate_voltage[-1]) - v for each, v in zip(some, thresholds, strict=True))
    chosen = np.linspace(0.4, 1.0, OVERDRIVES) * most
    for each, threshold in zip(some, thresholds, strict=True):
        read = np.interp(threshold + chosen, each.sweep.gate_voltage, each.sweep.drain_current)
        resistance.append(0.1 / read * each.width)
    length, rows = np.array([each.length for each in some]), np.array(resistance)
    found = []
    for at in range(OVERDRIVES):
        y = rows[:, at]
        data = odr.RealData(length * 1e6, y, sx=0.1, sy=0.02 * y)
        start = np.polyfit(length * 1e6, y, 1)
        out = odr.ODR(data, odr.unilinear, beta0=start).run()
        found.append((float(out.beta[1]) / 2, float(out.sd_beta[1]) / 2))
    return found


def _depletion(bias: Array, oxide: float, flat: float, scale: float) -> Array:
    """Capacitance of an insulator over a depleting body, accumulation above the flat band."""
    below = np.maximum(flat - bias, 0.0)
    result: Array = oxide / np.sqrt(1.0 + below / scale)
    return result


def capacitors(seed: int = 2) -> tuple[Array, Array]:
    """Bias and the capacitance of many capacitors that deplete."""
    rng = np.random.default_rng(seed)
    bias = np.linspace(-5.0, 5.0, BIASES)
    curves = np.array([_depletion(bias, 7e-11, float(rng.normal(0, 0.3)), 1.2) for _ in range(CURVES)])
    return bias, curves * (1 + rng.normal(0, 0.001, curves.shape))


def _cpu(call: Callable[[], object], repeats: int) -> float:
    times = []
    for _ in range(repeats):
        begin = time.process_time()
        call()
        times.append(time.process_time() - begin)
    return statistics.median(times)


def measure() -> list[tuple[str, float, str, float, str]]:
    """Processor seconds of both sides."""
    some = devices()
    gated_lengths(some, 1.7e-3)
    bias, curves = capacitors()
    sample = CapacitorSample(area=4e-8, permittivity=10.0)
    sweeps = [CapacitanceCurve(voltage=bias, capacitance=each) for each in curves]
    read_capacitance(sweeps[0], sample, 1e5)

    def fits() -> None:
        for each in curves:
            optimize.curve_fit(_depletion, bias, each * 1e12, p0=(70.0, 0.1, 1.0))

    return [
        (
            "length set: thresholds, lines, crossing, intervals",
            _cpu(lambda: gated_lengths(some, 1.7e-3), 5),
            "np.gradient and scipy.odr in a loop",
            _cpu(lambda: regressions(some), 5),
            f"{len(some)} curves x {POINTS}, {OVERDRIVES} overdrives; the peer gives lines alone",
        ),
        (
            "capacitance against voltage, all parameters",
            _cpu(lambda: [read_capacitance(each, sample, 1e5) for each in sweeps], 3),
            "scipy curve_fit of one law in a loop",
            _cpu(fits, 3),
            f"{CURVES} curves x {BIASES}; the peer gives three numbers of each",
        ),
    ]


def rows() -> list[tuple[str, float, str, float, str]]:
    """With one thread and with two, each in a process of its own; processor seconds."""
    found = []
    code = "import json; from bench.lengths import measure; print(json.dumps(measure()))"
    for threads in (1, 2):
        environment = {**os.environ, "OPENBLAS_NUM_THREADS": str(threads), "NUMBA_NUM_THREADS": str(threads)}
        done = subprocess.run(
            [sys.executable, "-c", code], check=True, capture_output=True, text=True, env=environment
        )
        said = f"{threads} thread{'s' if threads > 1 else ''}"
        found += [
            (f"{name}, {said}", ours, peer, theirs, size)
            for name, ours, peer, theirs, size in json.loads(done.stdout)
        ]
    return found
