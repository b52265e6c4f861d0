"""The test plan of a probe step: voltages, currents, steps and devices, against hand arithmetic."""

import math
from collections.abc import Callable

import pytest

from filmwright.emulate import Trace, walk, with_probing
from filmwright.flow import flow_from_text, lab_from_text
from filmwright.knowledge import book
from filmwright.masks import chip, drawing_of

from .conftest import shipped

Walked = Callable[..., Trace]
SWITCH = "humidity-switch"


@pytest.fixture(scope="module")
def probed(walked: Walked):
    trace = with_probing(walked(SWITCH), book())
    return trace, next(state for state in trace.states if state.step.kind == "probe")


def numbers(state):
    return {each.name: each for each in state.follows}


def inputs(setting):
    return {each.symbol: each.value for each in setting.derivation.inputs}


@pytest.mark.analytic
def test_the_current_to_expect_by_hand(probed):
    _, state = probed
    found = numbers(state)["drain current, linear"]
    given = inputs(found)
    # Linear region with two contacts in series: I = V_D/(L/(W·µ·C·(V_G − V_T − V_D/2)) + 2·r/W)
    drive = given["V_G"] - given["V_T"] - given["V_D"] / 2
    channel = given["L"] / (given["W"] * given["µ"] * given["C"] * drive)
    by_hand = given["V_D"] / (channel + 2 * given["r"] / given["W"])
    assert found.value == pytest.approx(by_hand, rel=0.02)
    full = numbers(state)["drain current, saturation"]
    # Square law without contacts is an upper bound: µ·C·W/(2·L)·(V_G − V_T)²
    over = given["V_G"] - given["V_T"]
    assert full.value < given["W"] / given["L"] * given["µ"] * given["C"] * over**2 / 2
    assert full.value > found.value


@pytest.mark.analytic
def test_steps_waits_and_the_weakest_by_hand(probed):
    trace, state = probed
    found = numbers(state)
    finest = found["finest step of the gate"]
    swing = inputs(finest)["S"]
    # Between the limit of 58.2 mV at 20 °C and the 0.6 V of the worst films on file; five points in each decade.
    assert 0.0582 < swing < 0.6
    assert finest.value == pytest.approx(swing / 5)
    charging = found["current that charging hides"]
    given = inputs(charging)
    assert charging.value == pytest.approx(given["C"] * given["V_s"] / given["t"])
    count = len(trace.devices.transistors) + len(trace.devices.capacitors)
    weakest = found[f"breakdown of the weakest of {count}"]
    given = inputs(weakest)
    assert weakest.value == pytest.approx(given["V"] * math.exp(-math.log(count) / given["β"]))
    # 29 devices without a failure show 90 % at 95 % (published: 0.9^29 = 0.047)
    assert found["devices that show the yield"].value == 29


@pytest.mark.property
def test_the_table_spares_the_insulator_and_names_devices_of_the_die(probed):
    trace, state = probed
    (table,) = state.tables
    safe = numbers(state)["voltage that spares the insulator"].derivation.band[0]
    names = {device.name for device in trace.devices.found}
    for row in (dict(zip(table.columns, each, strict=True)) for each in table.rows):
        volts = [
            float(word)
            for word in row["gate"].replace("±", "").replace(",", "").split()
            if word.lstrip("-").replace(".", "").isdigit()
        ]
        assert all(abs(volt) <= safe for volt in volts)
        assert row["what, on which device"]
    said = " ".join(row[1] for row in table.rows)
    assert any(f"transfer: {name} " in said for name in names)
    lengths = next(row[1] for row in table.rows if row[1].startswith("one of each length"))
    assert lengths.count("µm") >= 4  # four lengths at least to tell contacts from channel
    lost = next(row[1] for row in table.rows if "may be lost" in row[1])
    main = next(row[1] for row in table.rows if row[1].startswith("transfer"))
    assert lost.split(": ")[1].split()[0] != main.split(": ")[1].split()[0]


@pytest.mark.property
def test_a_plan_that_asks_for_too_much_is_held_back():
    text = shipped(SWITCH, "plan.yaml").replace("    gate: 6 V", "    gate: 40 V")
    lab = lab_from_text(shipped("lab.yaml"), "lab.yaml")
    flow = flow_from_text(text, "plan.yaml", lab)
    trace = walk(flow, lab, book(), drawing_of(chip(SWITCH)), on="2026-10-26", sections=False)
    state = next(s for s in with_probing(trace, book()).states if s.step.kind == "probe")
    safe = numbers(state)["voltage that spares the insulator"].derivation.band[0]
    assert safe < 40
    assert any("more than spares the insulator" in line for line in state.look)
    assert "40 V" not in " ".join(cell for row in state.tables[0].rows for cell in row)


@pytest.mark.property
def test_edges_count_where_they_were_walked():
    lab = lab_from_text(shipped("lab.yaml"), "lab.yaml")
    flow = flow_from_text(shipped(SWITCH, "plan.yaml"), "plan.yaml", lab)
    trace = with_probing(walk(flow, lab, book(), drawing_of(chip(SWITCH)), on="2026-10-26"), book())
    state = next(s for s in trace.states if s.step.kind == "probe")
    found = numbers(state)["voltage that spares the insulator"]
    assert not any("edges were not looked at" in note for note in found.derivation.notes)
    flat = min(depth for device in trace.devices.transistors for _, depth in device.dielectric)
    assert inputs(found)["d"] <= flat
