"""Extraction of many transfer curves beside a script that goes curve by curve with numpy and scipy."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable

import numpy as np

from filmwright import units
from filmwright.device import TransistorDesign, drain_current
from filmwright.measure import Geometry, Sweep, extract_many

CURVES = 10_000
PEER_CURVES = 60
HALF_WIDTHS = (1, 2, 3, 4, 5, 6, 8, 11, 16, 22, 32)


def invented_sweeps(count: int, points: int = 201) -> tuple[list[Sweep], Geometry]:
    """Invented curves of one design with 0.5 % and 1 pA of noise."""
    geometry = Geometry(
        width=units.to_si(100, "um"),
        length=units.to_si(10, "um"),
        areal_capacitance=units.to_si(62, "nF/cm^2"),
    )
    design = TransistorDesign(
        width=units.to_si(100, "um"),
        length=units.to_si(10, "um"),
        areal_capacitance=units.to_si(62, "nF/cm^2"),
        mobility=units.to_si(10, "cm^2/(V*s)"),
        threshold_voltage=2.0,
        ideality=3.0,
        attenuation=0.02,
        off_current=units.to_si(10, "pA"),
    )
    gate = np.linspace(-5.0, 20.0, points)
    random = np.random.default_rng(1)
    clean = drain_current(design, gate, 0.1)
    noise = random.standard_normal((2, count, points))
    currents = clean * (1 + 0.005 * noise[0]) + units.to_si(1, "pA") * noise[1]
    leak = units.to_si(1, "pA") * random.standard_normal((count, points))
    sweeps = [
        Sweep(gate_voltage=gate, drain_current=current, gate_current=ig, drain_voltage=0.1)
        for current, ig in zip(currents, leak, strict=True)
    ]
    return sweeps, geometry


def peer_curve(sweep: Sweep, geometry: Geometry) -> dict[str, float]:
    """What a script would do for one curve: the same windows, tangents, swing, levels and errors."""
    from scipy.signal import savgol_coeffs, savgol_filter

    gate, current = sweep.gate_voltage, sweep.drain_current
    step = gate[1] - gate[0]
    left = np.convolve(current, [1, -3, 3, -1], mode="valid") / np.sqrt(20)
    sigma = np.sqrt(np.median(left**2) / 0.4549 + (0.005 * current) ** 2)
    out: dict[str, float] = {}
    for name, ordinate, error in (
        ("linear", current, sigma),
        ("root", np.sqrt(np.maximum(current, 0)), sigma / np.sqrt(np.maximum(4 * np.abs(current), sigma))),
    ):
        best = (-np.inf, 1, 0)
        for half in HALF_WIDTHS:
            window = 2 * half + 1
            slope = savgol_filter(ordinate, window, 2, deriv=1, delta=step)
            spread = np.linalg.norm(savgol_coeffs(window, 2, deriv=1, delta=step)) * error
            bound = (slope - 4 * spread)[half : len(gate) - half]
            place = int(np.argmax(bound)) + half
            if bound[place - half] > best[0]:
                best = (bound[place - half], half, place)
        _, half, place = best
        window = 2 * half + 1
        value = savgol_filter(ordinate, window, 2)
        slope = savgol_filter(ordinate, window, 2, deriv=1, delta=step)
        spread = np.linalg.norm(savgol_coeffs(window, 2, deriv=1, delta=step)) * error[place]
        alike = slope >= slope[place] - spread
        intercepts = gate[alike] - value[alike] / slope[alike]
        arm = value[place] / slope[place]
        out[f"{name}_threshold"] = gate[place] - arm
        out[f"{name}_std"] = float(np.hypot(arm * spread / slope[place], np.std(intercepts)))
        out[f"{name}_slope"] = slope[place]
    size = np.convolve(np.abs(current), np.ones(10) / 10, mode="valid")
    off = size.min()
    out["ratio"] = current.max() / off
    out["swing"] = peer_swing(gate, current, 5 * max(off, float(sigma[0])))
    criterion = geometry.width / geometry.length * 1e-8  # type: ignore[operator]
    crossed = np.flatnonzero((current[:-1] < criterion) & (current[1:] >= criterion))
    if crossed.size:
        at = crossed[-1]
        out["constant"] = float(np.interp(np.log(criterion), np.log(current[at : at + 2]), gate[at : at + 2]))
    out |= peer_derivatives(gate, current, sigma) | peer_lines(gate, current, sigma, out["linear_threshold"])
    out["leak"] = float(np.abs(sweep.gate_current).max()) if sweep.gate_current is not None else np.nan
    return out


def peer_derivatives(gate: np.ndarray, current: np.ndarray, sigma: np.ndarray) -> dict[str, float]:
    """Largest second and third derivative with their errors, by the same windows as ours."""
    from scipy.signal import savgol_coeffs, savgol_filter

    step, out = gate[1] - gate[0], {}
    for order in (2, 3):
        best = (-np.inf, 0, 0)
        for half in (each for each in HALF_WIDTHS if 2 * each + 1 > order + 2):
            window = 2 * half + 1
            value = savgol_filter(current, window, order + 2, deriv=order, delta=step)
            gain = np.linalg.norm(savgol_coeffs(window, order + 2, deriv=order, delta=step))
            bound = (value - 4 * gain * sigma)[half : len(gate) - half]
            place = int(np.argmax(bound)) + half
            if bound[place - half] > best[0]:
                best = (bound[place - half], half, place)
        _, half, place = best
        part = slice(place - half, place + half + 1)
        turn, bend = (
            savgol_coeffs(2 * half + 1, order + 2, deriv=each, delta=step, use="dot")
            for each in (order + 1, order + 2)
        )
        shift = -(turn @ current[part]) / (bend @ current[part])
        out[f"peak_{order}"] = float(gate[place] + shift)
        out[f"peak_{order}_std"] = float(
            np.linalg.norm((turn + shift * bend) * sigma[part]) / abs(bend @ current[part])
        )
    return out


def peer_lines(
    gate: np.ndarray, current: np.ndarray, sigma: np.ndarray, threshold: float
) -> dict[str, float]:
    """Lines through Y and H and the largest transition function, each with its error through every point."""
    from scipy.integrate import cumulative_trapezoid
    from scipy.signal import savgol_coeffs, savgol_filter

    step, out = gate[1] - gate[0], {}
    way = gate[-1] - threshold
    inside = np.flatnonzero((gate >= threshold + 0.3 * way) & (gate <= threshold + 0.9 * way))
    window = 13
    slope = savgol_filter(current, window, 2, deriv=1, delta=step)
    weights = savgol_coeffs(window, 2, deriv=1, delta=step, use="dot")
    area = cumulative_trapezoid(current, gate, initial=0.0)
    for name in ("ratio", "integral"):
        y = current[inside] / (np.sqrt(slope[inside]) if name == "ratio" else 1.0)
        y = y if name == "ratio" else area[inside] / current[inside]
        (rise, start), _ = np.polyfit(gate[inside], y, 1, cov=True)
        up = (gate[inside] - gate[inside].mean()) / np.sum((gate[inside] - gate[inside].mean()) ** 2)
        along = -1 / (len(inside) * rise) + y.mean() / rise**2 * up
        lean = np.zeros(len(gate))
        if name == "ratio":
            lean[inside] += along / np.sqrt(slope[inside])
            down = np.zeros(len(gate))
            down[inside] = -0.5 * along * y / slope[inside]
            lean += np.convolve(down, weights[::-1], mode="same")
        else:
            lean[inside] -= along * y / current[inside]
            ends = np.zeros(len(gate))
            ends[inside] = along / current[inside]
            lean += step * (np.cumsum(ends[::-1])[::-1] - ends / 2)
        out[name], out[f"{name}_std"] = float(-start / rise), float(np.linalg.norm(lean * sigma))
        out[f"{name}_slope"] = float(rise)
    clear = np.flatnonzero(current > 0.005 * current.max())
    function = gate - 2 * area / np.where(current > 0, current, np.nan)
    best = -np.inf
    for half in HALF_WIDTHS:
        if 2 * half + 1 > len(clear):
            break
        smooth = savgol_filter(function[clear], 2 * half + 1, 2)
        gain = np.linalg.norm(savgol_coeffs(2 * half + 1, 2))
        bound = smooth - 4 * gain * 2 * (area / current)[clear] * (sigma / current)[clear]
        best = max(best, float(np.nanmax(bound)))
    out["transition"] = best
    return out


def peer_swing(gate: np.ndarray, current: np.ndarray, usable: float) -> float:
    """Steepest decade by line fits, one after the other."""
    clear = current > usable
    logs = np.log10(np.where(clear, current, 1.0))
    for half in HALF_WIDTHS:
        slopes = []
        for at in range(half, len(gate) - half):
            part = slice(at - half, at + half + 1)
            if clear[part].all() and logs[at + half] - logs[at - half] >= 1:
                slopes.append(np.polyfit(gate[part], logs[part], 1, cov=half > 2)[0])
        if slopes:
            return 1 / max(float(np.ravel(each)[0]) for each in slopes)
    return float("nan")


def first_curves() -> list[tuple[str, float, str, float, str]]:
    """The first four curves of a process beside the same with every loop compiled anew, as after an installation."""
    code = (
        "import time; from bench.extract import *; from filmwright.numerics import interpreted; few = {few}\n"
        "interpreted.FEW = few if few >= 0 else interpreted.FEW\n"
        "sweeps, geometry = invented_sweeps(4); begin = time.process_time()\n"
        "extract_many(sweeps, geometry, threads=1); print(time.process_time() - begin)"
    )
    seconds = []
    for few in (-1, 0):
        with tempfile.TemporaryDirectory() as empty:
            environment = {**os.environ, "NUMBA_CACHE_DIR": empty}
            done = subprocess.run(
                [sys.executable, "-c", code.format(few=few)],
                check=True,
                capture_output=True,
                text=True,
                env=environment,
            )
            seconds.append(float(done.stdout))
    name, peer = "first four curves of a process, processor time", "all loops compiled first"
    return [(name, seconds[0], peer, seconds[1], "4 curves of 201 points, nothing kept on disk")]


def timed(job: Callable[[], object]) -> float:
    """Seconds that a job takes, the better of two."""
    best = np.inf
    for _ in range(2):
        start = time.perf_counter()
        job()
        best = min(best, time.perf_counter() - start)
    return float(best)


def measure_ratio(count: int = CURVES) -> list[tuple[str, float, float, float, str]]:
    """Name, our seconds, the peer's seconds (scaled from fewer curves), ratio and size of the job."""
    sweeps, geometry = invented_sweeps(count)
    ours = timed(lambda: extract_many(sweeps, geometry).values("threshold_voltage"))
    peers = (
        timed(lambda: [peer_curve(sweep, geometry) for sweep in sweeps[:PEER_CURVES]]) * count / PEER_CURVES
    )
    size = f"{count} curves of 201 points (peer: {PEER_CURVES}, scaled)"
    return [("extraction, all parameters with errors", ours, peers, peers / ours, size)]


if __name__ == "__main__":
    for name, ours, peers, ratio, size in measure_ratio():
        print(f"{name}: {ours:.2f} s against {peers:.1f} s, {ratio:.0f} times; {size}")
