"""The derivation of etches of the examples, and of baths that are warmer, older or used up."""

import math
from collections.abc import Callable

import pytest

from filmwright.emulate import State, Trace

Walked = Callable[..., Trace]

SWITCH, DELAY = "humidity-switch", "delay-line"

PLAN = """\
flow: Zinc oxide off
wafer:
  body: silicon
  diameter: 100 mm
  films:
    - {material: silicon dioxide, thickness: 300 nm}

steps:
  - deposit: zinc oxide
    method: radio-frequency sputtering
    thickness: 200 nm

  - etch: zinc oxide
    name: off
    in: ammonium chloride zinc oxide etch
    temperature: TEMPERATURE
    until: end point + 20 %
"""

LAB = """\
lab: A lab
tools:
  acid bench: {does: [wet etch]}
"""


def etch(trace: Trace, material: str) -> State:
    return next(s for s in trace.states if s.step.kind == "etch" and s.step.material == material)


def number(state: State, name: str) -> float:
    return next(each.value for each in (*state.settings, *state.follows) if each.name == name)


@pytest.mark.literature
def test_ammonium_chloride_at_two_temperatures(walked: Walked):
    # Chang et al. 1992 (published, quoted): zinc oxide 100 nm/min at 25 °C and 300 nm/min at 55 °C in 5 % ammonium chloride.
    # The energy on file is read off that pair, rounded to 0.31 eV: hence 10 %.
    cold, warm = (
        etch(walked(PLAN.replace("TEMPERATURE", at), lab=LAB), "zinc oxide") for at in ("25 degC", "55 degC")
    )
    assert cold.rate.value == pytest.approx(100e-9 / 60)
    assert warm.rate.value == pytest.approx(300e-9 / 60, rel=0.1)
    assert warm.rate.std / warm.rate.value > cold.rate.std / cold.rate.value
    assert "rate in this bath" in {each.name for each in warm.settings}
    assert number(warm, "expected end point") == pytest.approx(200e-9 / warm.rate.value)


@pytest.mark.analytic
def test_a_pair_without_an_energy_says_so_and_widens(walked: Walked):
    plan = (
        PLAN.replace("TEMPERATURE", "40 degC")
        .replace("ammonium chloride zinc oxide etch", "phosphoric, acetic and nitric aluminium etch")
        .replace("zinc oxide", "molybdenum")
        .replace("radio-frequency", "direct-current")
    )
    state = etch(walked(plan, lab=LAB), "molybdenum")
    assert any("no activation energy of molybdenum" in each for each in state.warnings)


@pytest.mark.analytic
def test_loss_and_undercut_of_the_gate_etch_by_hand(walked: Walked):
    # 60 nm at 20 nm/min, a quarter more: 45 s of 0.05 nm/min on oxide; 60·1.25 at the top, 60·√(1.25² − 1) = 45 nm at the foot
    gate = etch(walked(SWITCH), "titanium")
    assert number(gate, "loss of silicon dioxide beneath") == pytest.approx(0.05e-9 * 45 / 60)
    assert number(gate, "undercut at the top") == pytest.approx(75e-9)
    assert number(gate, "undercut at the foot") == pytest.approx(45e-9)
    assert number(gate, "selectivity over silicon dioxide") == pytest.approx(400)
    assert number(gate, "loss of silicon dioxide beneath, worst place") > number(
        gate, "loss of silicon dioxide beneath"
    )


@pytest.mark.analytic
def test_the_worst_place_of_the_finger_etch_by_hand(walked: Walked):
    # film ±4 %, etch ±6 %, the end read to 2 % by an instrument: 1.04/0.94·exp(1.645·0.02) − 1
    fingers = etch(walked(DELAY), "molybdenum")
    found = number(fingers, "over-etch that clears the worst place at 95%")
    assert found == pytest.approx(1.04 / 0.94 * math.exp(1.645 * 0.02) - 1, rel=1e-3)


@pytest.mark.analytic
def test_an_aged_and_used_bath_is_slower(walked: Walked):
    lab = (
        LAB
        + """\
baths:
  peroxide: {medium: ammonium persulfate copper etch, made: 2026-10-22, volume: 1 L, temperature: 22 degC}
"""
    )
    plan = (
        PLAN.replace("    temperature: TEMPERATURE\n", "")
        .replace("ammonium chloride zinc oxide etch", "ammonium persulfate copper etch")
        .replace("zinc oxide", "copper")
        .replace("radio-frequency", "direct-current")
    )
    fresh, old = etch(walked(plan, lab=LAB), "copper"), etch(walked(plan, lab=lab), "copper")
    # four days of a bath that fades to 1/e in four days
    assert old.rate.value == pytest.approx(fresh.rate.value / math.e, rel=1e-6)


@pytest.mark.whole
def test_the_waste_follows_the_film(walked: Walked):
    assert "chromium in it: heavy-metal waste" in etch(walked(DELAY), "chromium").safety.waste
    assert "down the drain" in etch(walked(SWITCH), "indium gallium zinc oxide").safety.waste
