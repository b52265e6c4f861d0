"""A rate at settings that were never run, from the lab's own runs at others."""

from collections.abc import Callable
from importlib import resources

import pytest

from filmwright.emulate import State, Trace
from filmwright.units import convert

Walked = Callable[..., Trace]

PLAN = """flow: a nitride
wafer: {body: silicon, diameter: 100 mm}
steps:
  - deposit: silicon nitride
    method: plasma-enhanced chemical vapour deposition
    thickness: 140 nm
    power: POWER
    pressure: 120 Pa
    temperature: 300 degC
"""


def lab_with_runs(powers: tuple[int, ...] = (30, 40, 50, 60, 80)) -> str:
    """The example's lab with runs whose rate goes as the square root of the power: 14 nm/min at 40 W."""
    text = resources.files("filmwright.desk").joinpath("examples", "lab.yaml").read_text("utf-8")
    rows = "".join(
        f"  - {{tool: nitride reactor, material: silicon nitride, date: 2026-09-{10 + place:02d}, power: {power} W, "
        f"pressure: 120 Pa, temperature: 300 degC, deposition rate: {14 * (power / 40) ** 0.5:.4f} nm/min ± 2 %}}\n"
        for place, power in enumerate(powers)
    )
    return text + "\nruns:\n" + rows


def deposited(trace: Trace) -> State:
    return trace.states[0]


@pytest.mark.analytic
def test_the_rate_at_a_power_between_the_runs(walked: Walked):
    state = deposited(walked(PLAN.replace("POWER", "55 W"), lab=lab_with_runs()))
    # 14 nm/min·√(55/40)
    assert convert(state.rate.value, "nm/min") == pytest.approx(14 * (55 / 40) ** 0.5, rel=1e-3)
    assert state.rate.std / state.rate.value < 0.02
    time = next(each for each in state.settings if each.name == "time")
    assert time.value == pytest.approx(140 / (14 * (55 / 40) ** 0.5) * 60, rel=1e-3)
    assert "5 runs" in time.evidence
    assert "power^0.5" in time.evidence
    assert any("14 nm/min" in each for each in state.rate.alternatives)
    assert state.warnings == ()


@pytest.mark.analytic
def test_a_power_outside_the_runs_is_said_to_be(walked: Walked):
    state = deposited(walked(PLAN.replace("POWER", "200 W"), lab=lab_with_runs()))
    inside = deposited(walked(PLAN.replace("POWER", "55 W"), lab=lab_with_runs()))
    assert any("power of 200 W lies outside" in each for each in state.warnings)
    assert state.rate.std / state.rate.value > 2 * inside.rate.std / inside.rate.value


@pytest.mark.analytic
def test_one_run_is_no_response(walked: Walked):
    state = deposited(walked(PLAN.replace("POWER", "55 W"), lab=lab_with_runs((40,))))
    assert convert(state.rate.value, "nm/min") == pytest.approx(14.0)
    assert "5 runs" not in state.rate.evidence


@pytest.mark.analytic
def test_a_run_without_a_spread_is_refused():
    from filmwright.errors import BadInput
    from filmwright.flow import lab_from_text

    with pytest.raises(BadInput, match="one standard deviation"):
        lab_from_text(lab_with_runs().replace(" nm/min ± 2 %", " nm/min"), "lab.yaml")
