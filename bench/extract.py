"""Extraction of many transfer curves beside a script that goes curve by curve with numpy and scipy."""

from __future__ import annotations

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
    out["leak"] = float(np.abs(sweep.gate_current).max()) if sweep.gate_current is not None else np.nan
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
