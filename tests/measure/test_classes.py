"""Each class found in its members and in no sound device, with evidence that quotes numbers."""

from __future__ import annotations

import re

import numpy as np
import pytest

from filmwright import units
from filmwright.device import TransistorDesign, drain_current
from filmwright.measure import CurveResult, Geometry, Sweep, extract

GATE = np.linspace(-10.0, 20.0, 121)
DRAIN = 0.5
MEMBERS, SOUND = 200, 2000
SILENT = {"floor-limited"}
"""Says what the instrument could not see, not that the device is bad."""


class Bench:
    """Devices of a random lot on a bench with relative noise and a floor."""

    def __init__(self, seed: int) -> None:
        self.random = np.random.default_rng(seed)

    def between(self, low: float, high: float) -> float:
        return float(np.exp(self.random.uniform(np.log(low), np.log(high))))

    def design(self, **changes: float) -> TransistorDesign:
        base = {
            "width": units.to_si(self.between(20, 200), "um"),
            "length": units.to_si(self.between(5, 50), "um"),
            "areal_capacitance": units.to_si(self.between(10, 100), "nF/cm^2"),
            "mobility": units.to_si(self.between(1, 30), "cm^2/(V*s)"),
            "threshold_voltage": self.random.uniform(0.5, 5.0),
            "ideality": self.random.uniform(1.5, 4.0),
            "attenuation": self.random.uniform(0.0, 0.01),
            "off_current": self.between(1e-13, 1e-12),
        }
        return TransistorDesign(**(base | changes))

    def channel(self, **changes: float) -> np.ndarray:
        return drain_current(self.design(**changes), GATE, DRAIN)

    def noise(self, size: float = 1.0) -> np.ndarray:
        return self.random.standard_normal(GATE.size) * size

    def measured(self, current: np.ndarray, gate: np.ndarray | None = None) -> Sweep:
        share = self.between(0.0005, 0.01)
        leak = self.noise(1e-14) if gate is None else gate * (1 + self.noise(0.01)) + self.noise(1e-14)
        return Sweep(
            gate_voltage=GATE,
            drain_current=current * (1.0 + self.noise(share)) + self.noise(2e-14),
            gate_current=leak,
            drain_voltage=DRAIN,
        )


def dead(bench: Bench) -> Sweep:
    return bench.measured(0.3 * bench.between(1e-15, 1e-14) + bench.noise(bench.between(1e-13, 1e-12)))


def shorted(bench: Bench) -> Sweep:
    return bench.measured(np.full(GATE.size, DRAIN / bench.between(10.0, 1e5)))


def shorted_gate(bench: Bench) -> Sweep:
    ohms = bench.between(1e2, 1e5)
    return bench.measured(bench.channel() + (DRAIN - GATE) / 2.0 / ohms, gate=GATE / ohms)


def leaky(bench: Bench) -> Sweep:
    current = bench.channel()
    gate = (
        bench.random.uniform(0.03, 0.8)
        * current.max()
        * np.exp((GATE - GATE[-1]) / bench.random.uniform(2.0, 10.0))
    )
    return bench.measured(current, gate=gate)


def broken(bench: Bench) -> Sweep:
    at = bench.random.uniform(5.0, 18.0)
    gate = np.where(at < GATE, bench.between(1e-8, 1e-5), 1e-13)
    return bench.measured(bench.channel(), gate=gate)


def never_off(bench: Bench) -> Sweep:
    current = bench.channel()
    return bench.measured(current + bench.random.uniform(0.02, 0.08) * current.max())


def never_on(bench: Bench) -> Sweep:
    return bench.measured(bench.channel(threshold_voltage=bench.random.uniform(19.5, 21.0)))


def clipped(bench: Bench) -> Sweep:
    sweep = bench.measured(bench.channel())
    limit = bench.random.uniform(0.2, 0.7) * sweep.drain_current.max()
    return Sweep(
        gate_voltage=GATE,
        drain_current=np.minimum(sweep.drain_current, limit),
        gate_current=sweep.gate_current,
        drain_voltage=DRAIN,
    )


def normally_on(bench: Bench) -> Sweep:
    return bench.measured(bench.channel(threshold_voltage=bench.random.uniform(-7.0, -2.0)))


def ambipolar(bench: Bench) -> Sweep:
    design = bench.design(threshold_voltage=bench.random.uniform(2.0, 4.0))
    # The other carriers have a gain of their own; their branch shows from some per cent of the first on.
    share = bench.random.uniform(0.3, 1.5)
    other = drain_current(design, -GATE, DRAIN)
    return bench.measured(drain_current(design, GATE, DRAIN) + share * other)


def contact_limited(bench: Bench) -> Sweep:
    design = bench.design(attenuation=0.0)
    # So many times the resistance that the channel has at the end of the sweep, in both contacts together.
    channel = 1.0 / (design.beta * (GATE[-1] - design.threshold_voltage))
    ohms = bench.random.uniform(3.0, 10.0) * channel / 2.0
    limited = bench.design(
        **{
            name: getattr(design, name)
            for name in ("width", "length", "areal_capacitance", "mobility", "ideality")
        },
        threshold_voltage=design.threshold_voltage,
        attenuation=0.0,
        contact_resistance=ohms * design.width,
    )
    return bench.measured(drain_current(limited, GATE, DRAIN))


def gate_set(bench: Bench) -> Sweep:
    leak = bench.between(1e-11, 1e-10)
    return bench.measured(bench.channel() + leak, gate=np.full(GATE.size, -leak))


CLASSES = {
    "dead": dead,
    "open": dead,
    "shorted": shorted,
    "gate shorted": shorted_gate,
    "leaky gate": leaky,
    "gate broke down": broken,
    "never off": never_off,
    "never on": never_on,
    "clipped at compliance": clipped,
    "depletion mode": normally_on,
    "ambipolar": ambipolar,
    "contacts may limit": contact_limited,
    "off current is that of the gate": gate_set,
}


@pytest.mark.property
@pytest.mark.parametrize("name", CLASSES)
def test_a_class_is_found_in_its_members_with_a_number_as_evidence(name: str) -> None:
    bench = Bench(len(name))
    told = extract([CLASSES[name](bench) for _ in range(MEMBERS)])
    found = [each for each in told if name in each.classes]
    assert len(found) >= 0.95 * MEMBERS
    assert all(re.search(r"\d", each.classes[name]) for each in found)


@pytest.mark.property
def test_sound_devices_raise_no_alarm() -> None:
    bench = Bench(1)
    told = extract([bench.measured(bench.channel()) for _ in range(SOUND)])
    alarms = {name for each in told for name in each.classes} - SILENT
    assert alarms == set()


@pytest.mark.property
def test_a_p_type_device_is_told_in_its_own_signs() -> None:
    bench = Bench(2)

    def mirrored(sweep: Sweep) -> CurveResult:
        assert sweep.gate_current is not None
        turned = Sweep(
            gate_voltage=-sweep.gate_voltage[::-1],
            drain_current=-sweep.drain_current[::-1],
            gate_current=-sweep.gate_current[::-1],
            drain_voltage=-DRAIN,
        )
        return extract([turned])[0]

    late = mirrored(never_on(bench))
    assert late.type == "p"
    assert "end of the sweep (-20 V)" in late.classes["never on"]
    jump = mirrored(broken(bench))
    assert (jump.parameters["gate_breakdown_voltage"].value or 0.0) < 0


@pytest.mark.analytic
def test_the_share_of_the_gate_is_told_where_it_is_asked_for() -> None:
    bench = Bench(3)
    current = bench.channel(threshold_voltage=2.0)
    leak = 1e-9 * np.exp(GATE / 5.0)
    (told,) = extract(
        [Sweep(gate_voltage=GATE, drain_current=current, gate_current=leak, drain_voltage=DRAIN)]
    )
    shares = {name: told.parameters[f"gate_share_{name}"].value for name in ("on", "threshold", "drain_bias")}
    assert shares["on"] == pytest.approx(leak[-1] / current[-1], rel=1e-6)
    at = told.parameters["threshold_voltage"].value or 0.0
    assert shares["threshold"] == pytest.approx(
        np.interp(at, GATE, leak) / np.interp(at, GATE, current), rel=1e-6
    )
    assert shares["drain_bias"] == pytest.approx(
        np.interp(DRAIN, GATE, leak) / np.interp(DRAIN, GATE, current), rel=1e-6
    )
    # e-fold in 5 V is a decade in 5·ln 10 volts.
    assert told.parameters["gate_leakage_slope"].value == pytest.approx(5.0 * np.log(10.0), rel=1e-6)
    assert "no jump" in told.parameters["gate_breakdown_voltage"].why_not


@pytest.mark.analytic
def test_a_gate_current_in_its_noise_gives_a_bound() -> None:
    bench = Bench(4)
    (told,) = extract([bench.measured(bench.channel())])
    share = told.parameters["gate_share_on"]
    assert (share.valid, share.bound) == (False, "at most")
    assert "noise" in share.why_not
    assert share.value is not None


@pytest.mark.analytic
def test_an_ionic_gate_is_a_class_of_its_own() -> None:
    bench = Bench(5)
    (told,) = extract([bench.measured(bench.channel())], Geometry(gate="ionic"))
    assert told.classes["ionic gate"] == "as stated"
