"""What to dial in on the example's tools, against the arithmetic of the numbers in its plan and lab file."""

import math
from collections.abc import Callable

import pytest

from filmwright.emulate import State, Trace
from filmwright.process import Setting

Walked = Callable[..., Trace]
SWITCH, DELAY, THERMOMETER = "humidity-switch", "delay-line", "platinum-thermometer"


def state(trace: Trace, number: str) -> State:
    """The state after a step."""
    return next(each for each in trace.states if each.step.number == number)


def setting(trace: Trace, number: str, name: str) -> Setting:
    """One setting of a step."""
    return next(each for each in state(trace, number).settings if each.name == name)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("example", "number", "name", "value"),
    [
        # thickness / rate, both as written in the example
        (SWITCH, "2.1", "time", 60 / 0.10),
        (SWITCH, "18.1", "time", 90 / 0.20),
        (SWITCH, "8.1", "time", 25 / 3.1 * 60),
        (DELAY, "6.1", "time", 280 / 14 * 60),
        (DELAY, "14.1", "time", 110 / 11 * 60),
        (THERMOMETER, "4.1", "time", 90 / 0.08),
        # 40 nm of 0.102 nm per cycle: 392.2 cycles, and only whole ones can be run
        (SWITCH, "7.1", "cycles", 393),
        # 50 nm: 490.2 cycles, and on platinum some 20 before growth sets in
        (THERMOMETER, "7.1", "cycles", 491 + 20),
        # 100 mJ/cm² of a lamp of 11.5 mW/cm²
        (SWITCH, "3.5", "time", 100 / 11.5),
        # a coat of 1.30 µm on a spin curve through 1.32 µm at 4000 rpm, thickness ∝ speed^-0.5
        (SWITCH, "3.3", "spin speed", 4000 / 60 * (1.32 / 1.30) ** 2),
        # the end point of a film: thickness / rate
        (SWITCH, "4.1", "expected end point", 60 / 20 * 60),
        (DELAY, "4.1", "expected end point", 70 / 100 * 60),
    ],
)
def test_a_setting_is_thickness_over_rate(walked: Walked, example: str, number: str, name: str, value: float):
    assert setting(walked(example), number, name).value == pytest.approx(value, rel=5e-3)


@pytest.mark.analytic
def test_an_end_point_is_a_condition_and_takes_its_over_etch_along(walked: Walked):
    trace = walked(SWITCH)
    assert setting(trace, "4.1", "time").text == "to the end point seen, then 25 % of that time"
    # 180 s to the end point, a quarter of it more, and 5 min around it at the acid bench.
    assert state(trace, "4.1").duration == pytest.approx(180 * 1.25 + 300, rel=5e-3)


@pytest.mark.analytic
def test_a_duration_counts_what_the_tool_needs_around_the_process(walked: Walked):
    trace = walked(SWITCH)
    assert state(trace, "2.1").duration == pytest.approx(600 + 75 * 60, rel=1e-3)
    # 393 cycles of two pulses of 0.06 s and two purges of 6 s in a reactor that takes 40 min around them.
    assert state(trace, "7.1").duration == pytest.approx(393 * 2 * (0.06 + 6) + 40 * 60)


@pytest.mark.analytic
def test_the_spread_of_a_film_adds_rate_and_unevenness_in_squares(walked: Walked):
    gate = state(walked(SWITCH), "2.1")
    assert gate.rate is not None
    relative = gate.rate.std / gate.rate.value
    # The 4 % of the reading a week ago, a little more for the week.
    assert 0.04 <= relative < 0.08
    # 3 % is the half width of the film over the wafer: as a rectangle, over √3 (GUM).
    assert gate.thickness == pytest.approx(60e-9)
    assert gate.thickness_std == pytest.approx(60e-9 * math.hypot(relative, 0.03 / math.sqrt(3)))


@pytest.mark.property
@pytest.mark.parametrize("example", [SWITCH, DELAY, THERMOMETER])
def test_every_setting_says_what_it_rests_on(walked: Walked, example: str):
    for each in walked(example).states:
        for found in each.settings:
            assert found.source.citation
            assert found.evidence
            assert (found.value is None) == bool(found.text)


@pytest.mark.property
@pytest.mark.parametrize("example", [SWITCH, DELAY, THERMOMETER])
def test_what_can_hurt_has_its_cautions(walked: Walked, example: str):
    for each in walked(example).states:
        if each.step.kind in {
            "clean",
            "deposit",
            "coat",
            "expose",
            "develop",
            "etch",
            "strip",
            "lift off",
            "anneal",
        }:
            assert each.safety.cautions, each.step.title


@pytest.mark.analytic
def test_without_a_rate_nothing_is_guessed(walked: Walked):
    plan = """flow: a metal that nobody timed
wafer: {body: glass, diameter: 100 mm}
steps:
  - deposit: vanadium
    method: direct-current sputtering
    thickness: 50 nm
    pressure: 5 mTorr
"""
    trace = walked(plan)
    time = setting(trace, "1.1", "time")
    assert time.value is None
    assert "measure the rate first" in time.text
    assert any("no deposition rate of vanadium on file" in each for each in state(trace, "1.1").warnings)


@pytest.mark.analytic
def test_a_time_that_the_plan_fixes_is_dialled_in_and_decides_the_film():
    from importlib import resources

    from filmwright.emulate import walk
    from filmwright.flow import flow_from_text, lab_from_text
    from filmwright.knowledge import book

    lab = lab_from_text(
        resources.files("filmwright.desk").joinpath("examples", "lab.yaml").read_text("utf-8"), "lab.yaml"
    )
    text = (
        "flow: small\nwafer: {body: silicon, diameter: 100 mm}\nsteps:\n  - deposit: titanium\n"
        "    method: electron-beam evaporation\n    thickness: 60 nm\n    time: 650 s\n"
        "  - etch: titanium\n    in: ferric chloride\n    time: 30 s\n"
    )
    trace = walk(flow_from_text(text, "plan.yaml", lab), lab, book(), None, on="2026-10-26")
    deposit, etch = trace.states[0], trace.states[1]
    times = [each.value for each in deposit.settings if each.name == "time"]
    # 650 s at the lab's 0.10 nm/s grow 65 nm, whatever the plan hoped for.
    assert times == [650.0]
    assert deposit.thickness == pytest.approx(65e-9, rel=1e-3)
    assert [each.value for each in etch.settings if each.name == "time"] == [30.0]
