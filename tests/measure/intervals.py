"""How often intervals hold the truth: invented devices of known truth, parameter by parameter; read by a test and by the page.

The truth is what the same definition gives on the curve without noise on the same gate voltages, with the floor of the instrument as known.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from filmwright import units
from filmwright.device import TransistorDesign, drain_current
from filmwright.measure import Geometry, Sweep, extract_many

GEOMETRY = Geometry(
    width=units.to_si(100, "um"), length=units.to_si(10, "um"), areal_capacitance=units.to_si(62, "nF/cm^2")
)
DEVICES: dict[str, dict[str, float]] = {
    "film": {},
    "contacts": {"contact_resistance": 1.0, "attenuation": 0.0},
    "attenuated": {"attenuation": 0.1},
    "steep": {"attenuation": 0.0, "ideality": 1.5},
}
SHARES, FLOORS, POINTS, DRAINS = (0.003, 0.01, 0.03), (1e-12, 1e-10), (51, 101, 201, 401), (0.1, 20.0)
SHIFT = 0.4
NAMES = (
    "threshold_voltage_linear",
    "threshold_voltage_saturation",
    "threshold_voltage_constant_current",
    "threshold_voltage_second_derivative",
    "threshold_voltage_third_derivative",
    "threshold_voltage_ratio",
    "threshold_voltage_integral",
    "threshold_voltage_transition",
    "transconductance_max",
    "field_effect_mobility",
    "saturation_mobility",
    "gain_factor",
    "mobility_attenuation",
    "current_exponent",
    "subthreshold_swing",
    "mean_subthreshold_swing",
    "onset_voltage",
    "on_off_ratio",
    "gate_leakage",
    "hysteresis",
    "hysteresis_1_percent",
    "hysteresis_0.1_percent",
    "hysteresis_threshold",
)


FOLLOW_THE_FLOOR = ("mean_subthreshold_swing", "onset_voltage")
"""What is read from the floor on, whatever hides below it: compared where the floor hides nothing."""


@dataclass(frozen=True, kw_only=True)
class Told:
    """Errors of one parameter in one kind of curve, in units of the stated error, and values beside their truths."""

    name: str
    share: float
    error: np.ndarray
    off: np.ndarray
    of_model: float


@dataclass(frozen=True, kw_only=True)
class Case:
    """One kind of curve: device, points, noise, floor, drain voltage, type."""

    device: str
    points: int
    share: float
    floor: float
    drain: float
    sign: float


def cases(shares: Iterable[float] = SHARES) -> Iterator[Case]:
    """All kinds; every second one is p-type."""
    kinds = itertools.product(DEVICES, POINTS, shares, FLOORS, DRAINS)
    for at, (device, points, share, floor, drain) in enumerate(kinds):
        yield Case(
            device=device, points=points, share=share, floor=floor, drain=drain, sign=-1.0 if at % 2 else 1.0
        )


def _clean(case: Case, threshold: float) -> tuple[np.ndarray, np.ndarray]:
    gate = np.linspace(-5.0, 20.0 if case.drain < 1 else 15.0, case.points)
    design = TransistorDesign(
        width=GEOMETRY.width,  # type: ignore[arg-type]
        length=GEOMETRY.length,  # type: ignore[arg-type]
        areal_capacitance=GEOMETRY.areal_capacitance,  # type: ignore[arg-type]
        mobility=units.to_si(10, "cm^2/(V*s)"),
        threshold_voltage=threshold,
        off_current=1e-11,
        **({"ideality": 3.0, "attenuation": 0.02} | DEVICES[case.device]),  # type: ignore[arg-type]
    )
    return gate, drain_current(design, gate, case.drain)


def _sweep(
    case: Case, gate: np.ndarray, current: np.ndarray, leak: np.ndarray, pair: int, back: bool
) -> Sweep:
    order = slice(None) if case.sign > 0 else slice(None, None, -1)
    return Sweep(
        gate_voltage=case.sign * gate[order],
        drain_current=case.sign * current[order],
        gate_current=case.sign * leak[order],
        drain_voltage=case.sign * case.drain,
        rising=(case.sign > 0) != back,
        pair=pair,
        file=f"device {pair}",
    )


def study(case: Case, devices: int) -> list[Told]:
    """Both directions of so many devices of a kind, beside the same without noise."""
    random = np.random.default_rng(
        [case.points, round(case.share * 1e4), round(case.drain * 10), len(case.device)]
    )
    curves = [_clean(case, threshold) for threshold in (2.0, 2.0 + SHIFT)]
    gate = curves[0][0]
    leak = np.full(gate.size, 1e-11)
    true = extract_many(
        [_sweep(case, gate, clean + (case.floor * 1e-3) * random.standard_normal(gate.size), leak, 0, at == 1) for at, (_, clean) in enumerate(curves)],
        GEOMETRY, 1,
    )  # fmt: skip
    noisy = []
    for pair in range(devices):
        for at, (_, clean) in enumerate(curves):
            noise = random.standard_normal((4, gate.size))
            current = clean * (1 + case.share * noise[0]) + case.floor * noise[1]
            gate_current = leak * (1 + case.share * noise[2]) + 1e-13 * noise[3]
            noisy.append(_sweep(case, gate, current, gate_current, pair, at == 1))
    found = extract_many(noisy, GEOMETRY, 1)
    told = []
    for name in NAMES:
        if name in FOLLOW_THE_FLOOR and case.floor > 1e-12:
            continue
        value, std, valid = (each[::2] for each in found.values(name))
        truth, stands = true.values(name)[0][0], true.values(name)[2][0]
        good = valid & np.isfinite(std) & (std > 0)
        if stands and good.sum() >= devices / 2:
            off = value[good] - truth
            told.append(
                Told(name=name, share=case.share, error=off / std[good], off=np.abs(off), of_model=abs(truth))
            )
    return told


def held(told: Iterable[Told]) -> tuple[float, int]:
    """Share of 95 % intervals that hold the truth, and how many there were."""
    errors = np.concatenate([each.error for each in told])
    return float(np.mean(np.abs(errors) <= 1.96)), len(errors)


def digits(told: Iterable[Told]) -> tuple[float, float]:
    """−log₁₀ of the relative error of values (median) and of errors (scatter beside what was stated)."""
    kept = list(told)
    off = np.concatenate([each.off / each.of_model for each in kept])
    scatter = np.array([np.percentile(np.abs(each.error), 68.27) for each in kept])
    values = -np.log10(max(float(np.median(off)), 1e-15))
    return values, float(-np.log10(max(abs(float(np.median(scatter)) - 1.0), 1e-3)))
