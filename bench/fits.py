"""Ten thousand fits of four parameters to transfer curves, batched, beside a loop of ``scipy.optimize.curve_fit``."""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import time
import warnings

import numpy as np
from numpy.typing import NDArray
from scipy import optimize

from filmwright import device
from filmwright.numerics import fit_many
from filmwright.units import ROOM_TEMPERATURE

Array = NDArray[np.float64]

CURVES, POINTS, SAMPLE = 10_000, 51, 400
"""Curves that are fitted at once, their gate voltages, and how many of them the loop is timed on."""

DRAIN, SHARE, FLOOR = 1.0, 0.01, 1e-13
NAMES = ("threshold_voltage", "gain", "ideality", "off_current")


def curves(seed: int = 1) -> tuple[Array, Array, Array, Array]:
    """Gate voltages, currents with noise, their standard deviations, and the same rough start for both sides."""
    rng = np.random.default_rng(seed)
    gate = np.linspace(-5.0, 15.0, POINTS)
    truth = np.stack(
        [
            rng.uniform(-1, 3, CURVES),
            10 ** rng.uniform(-7, -5, CURVES),
            rng.uniform(2, 8, CURVES),
            10 ** rng.uniform(-12, -11, CURVES),
        ],
        axis=1,
    )
    clean = model(truth, gate)[0]
    std = np.hypot(FLOOR, SHARE * clean)
    start = truth * np.array([1.0, 1.5, 1.4, 2.0]) + np.array([0.5, 0.0, 0.0, 0.0])
    return gate, clean + std * rng.normal(size=clean.shape), std, start


def model(x: Array, gate: Array) -> tuple[Array, Array]:
    """Currents and derivatives of all curves."""
    values = dict(zip(NAMES, x.T, strict=True))
    return device.current_slopes(values, gate, np.full_like(gate, DRAIN), NAMES)


def ours(gate: Array, current: Array, std: Array, start: Array) -> Array:
    """All curves in one batch."""
    weight = 1.0 / std

    def problem(x: Array, rows: NDArray[np.intp]) -> tuple[Array, Array]:
        found, slopes = model(x, gate)
        own = weight[rows]
        slopes *= own[:, None, :]
        return (found - current[rows]) * own, slopes

    low = np.array([-50.0, 0.0, 1.0, 0.0])
    return fit_many(problem, start, low, np.inf, tolerance=1e-9).x


def lean(gate: Array, threshold: float, gain: float, ideality: float, off: float) -> Array:
    """The same current of one curve, as one would write it in a script."""
    scale = 2.0 * ideality * device.thermal_voltage(ROOM_TEMPERATURE)
    source = scale * np.logaddexp(0.0, (gate - threshold) / scale)
    end = scale * np.logaddexp(0.0, (gate - threshold - DRAIN) / scale)
    return gain * (source - end) * (source + end) / 2.0 + off


def lean_slopes(gate: Array, threshold: float, gain: float, ideality: float, off: float) -> Array:
    """Its derivatives, which spare the loop four more calls a step."""
    scale = 2.0 * ideality * device.thermal_voltage(ROOM_TEMPERATURE)
    parts = (gate - threshold) / scale, (gate - threshold - DRAIN) / scale
    source, end = (scale * np.logaddexp(0.0, part) for part in parts)
    steep = [1.0 / (1.0 + np.exp(-part)) for part in parts]
    by_over = gain * (source * steep[0] - end * steep[1])
    turned = source * (source - scale * parts[0] * steep[0]) - end * (end - scale * parts[1] * steep[1])
    charge = (source - end) * (source + end) / 2.0
    return np.stack([-by_over, charge, gain * turned / ideality, np.ones_like(gate)], axis=1)


def loop(gate: Array, current: Array, std: Array, start: Array, derivatives: bool) -> Array:
    """One curve after the other, scaled as the method wants it."""
    found = []
    with warnings.catch_warnings(), np.errstate(over="ignore"):
        warnings.simplefilter("ignore", optimize.OptimizeWarning)
        for row in range(len(current)):
            best, _ = optimize.curve_fit(
                lean,
                gate,
                current[row],
                p0=start[row],
                sigma=std[row],
                absolute_sigma=True,
                jac=lean_slopes if derivatives else None,
                method="lm",
                xtol=1e-9,
                ftol=1e-9,
            )
            found.append(best)
    return np.array(found)


def cost(x: Array, gate: Array, current: Array, std: Array) -> Array:
    """Sum of squares of every curve."""
    return np.asarray(np.sum(((model(x, gate)[0] - current) / std) ** 2, axis=1))


def measure() -> list[tuple[str, float, float, str]]:
    """Processor time of both, of ten thousand fits; the loop from a sample, the faster of with and without derivatives."""
    gate, current, std, start = curves()
    some = slice(0, SAMPLE)
    ours(gate, current[some], std[some], start[some])
    times = []
    for _ in range(3):
        begin = time.process_time()
        batched = ours(gate, current, std, start)
        times.append(time.process_time() - begin)
    peers = {}
    for derivatives in (False, True):
        begin = time.process_time()
        looped = loop(gate, current[some], std[some], start[some], derivatives)
        peers[derivatives] = (time.process_time() - begin) * CURVES / SAMPLE
    best, other = (
        cost(batched[some], gate, current[some], std[some]),
        cost(looped, gate, current[some], std[some]),
    )
    alike = float(np.mean(np.abs(best - other) < 1e-4 * other))
    lower = float(np.mean(best < other * (1 - 1e-4)))
    apart = float(np.max(np.abs(best / other - 1)[np.abs(best - other) < 1e-4 * other]))
    size = (
        f"{CURVES} curves x {POINTS}, 4 parameters; same minimum {100 * alike:.1f} % (chi-square to {apart:.0e}), "
        f"ours lower {100 * lower:.1f} %"
    )
    return [
        ("curve_fit in a loop, derivatives given", statistics.median(times), peers[True], size),
        ("curve_fit in a loop, its own differences", statistics.median(times), peers[False], size),
    ]


def rows() -> list[tuple[str, float, str, float, str]]:
    """With one thread and with two, each in a process of its own."""
    found = []
    code = "import json; from bench.fits import measure; print(json.dumps(measure()))"
    for threads in (1, 2):
        environment = {**os.environ, "OPENBLAS_NUM_THREADS": str(threads), "OMP_NUM_THREADS": str(threads)}
        done = subprocess.run(
            [sys.executable, "-c", code], check=True, capture_output=True, text=True, env=environment
        )
        word = f"{threads} thread{'s' if threads > 1 else ''}"
        found += [
            (f"fits of four parameters, processor time, {word}", own, peer, theirs, size)
            for peer, own, theirs, size in json.loads(done.stdout)
        ]
    return found
