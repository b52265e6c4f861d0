"""Devices read off the wafer and what is predicted of them, against their formulas with the numbers put in by hand."""

import math
from collections.abc import Callable

import pytest

from filmwright.emulate import Trace, gate_of, predict
from filmwright.flow import Done
from filmwright.knowledge import book

Walked = Callable[..., Trace]
SWITCH = "humidity-switch"
TERMINALS = {"gate": "G", "source": "S", "drain": "D"}
CHARGE, PERMITTIVITY, BOLTZMANN = 1.602176634e-19, 8.8541878128e-12, 1.380649e-23
"""SI 2019 (exact) and CODATA 2018."""


@pytest.mark.analytic
def test_the_switch_has_its_48_transistors_with_their_labels(walked: Walked):
    devices = walked(SWITCH).devices.working("transistor", TERMINALS)
    assert sorted(device.name for device in devices) == [f"T{number:02d}" for number in range(1, 49)]
    for device in devices:
        assert device.terminals == TERMINALS
        assert [material for material, _ in device.semiconductor] == ["indium gallium zinc oxide"]
        assert [material for material, _ in device.dielectric] == ["aluminium oxide"]
        assert not device.gate_above


@pytest.mark.analytic
def test_width_and_length_are_those_of_the_print(walked: Walked):
    device = walked(SWITCH).devices.named("T01")
    assert device is not None
    # Drawn 5 µm; the resist line prints 0.1 µm narrower at each side, and the lifted contacts come that much nearer.
    assert device.length == pytest.approx(4.8e-6, rel=1e-3)


@pytest.mark.analytic
def test_the_gate_is_the_metal_beneath_the_insulator(walked: Walked):
    trace = walked(SWITCH)
    device = trace.devices.named("T01")
    assert device is not None
    assert gate_of(trace, device) == "titanium"


@pytest.mark.analytic
def test_areal_capacitance_and_threshold_follow_their_formulas(walked: Walked):
    trace, facts = walked(SWITCH), book()
    device = trace.devices.named("T10")
    assert device is not None
    found = predict(device, facts, gate_of(trace, device))
    assert found is not None
    (_, insulator), (_, channel) = device.dielectric[0], device.semiconductor[0]
    film, gate = facts.material("indium gallium zinc oxide").values, facts.material("titanium").values
    capacitance = PERMITTIVITY * facts.material("aluminium oxide").values["permittivity"].value / insulator
    assert found.design.areal_capacitance == pytest.approx(capacitance, rel=1e-6)
    density, states = film["carrier density"].value, film["effective density of states"].value
    depth = BOLTZMANN * 293.15 / CHARGE * math.log(states / density)
    flat = (gate["work function"].value - film["electron affinity"].value) / CHARGE - depth
    charge = CHARGE * density * channel
    expected = flat - charge * (1 / capacitance + channel / (2 * PERMITTIVITY * film["permittivity"].value))
    # At 20 °C.
    assert found.design.threshold_voltage == pytest.approx(expected, abs=1e-6)


@pytest.mark.analytic
def test_a_thinner_insulator_holds_more(walked: Walked):
    flow = walked(SWITCH).flow
    insulator = next(
        step for step in flow.steps if step.material == "aluminium oxide" and step.kind == "deposit"
    )
    record = (
        Done(step=insulator.number, what="measured", name="thickness", value=20e-9),
        Done(step=flow.steps[-1].number, what="start", happened="2026-10-26T09:00:00+01:00"),
    )
    designs = []
    for trace in (walked(SWITCH), walked(SWITCH, record)):
        device = trace.devices.named("T10")
        assert device is not None
        found = predict(device, book(), gate_of(trace, device))
        assert found is not None
        designs.append((found.design, device.dielectric[0][1]))
    (planned, thick), (lived, thin) = designs
    assert lived.areal_capacitance * thin == pytest.approx(planned.areal_capacitance * thick, rel=1e-9)
    assert lived.areal_capacitance > 1.9 * planned.areal_capacitance


@pytest.mark.analytic
def test_what_is_not_on_file_is_not_predicted(walked: Walked):
    trace = walked(SWITCH)
    device = trace.devices.named("T01")
    assert device is not None
    assert "work function" not in book().material("silicon dioxide").values
    assert predict(device, book(), "silicon dioxide") is None
