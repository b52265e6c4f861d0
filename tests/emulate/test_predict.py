"""Devices read off the wafer and what is predicted of them, against their formulas with the numbers put in by hand."""

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from filmwright.device import drain_current, fermi_integral, film_current, neutral_level
from filmwright.emulate import Trace, film_transistor, gate_of, predict
from filmwright.flow import Done
from filmwright.knowledge import Material, book

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
def test_without_traps_the_film_empties_at_the_voltage_of_full_depletion(walked: Walked):
    trace, facts = walked(SWITCH), book()
    device = trace.devices.named("T10")
    assert device is not None
    found = predict(device, facts, gate_of(trace, device))
    assert found is not None
    assert found.transistor is not None
    (_, insulator), (_, channel) = device.dielectric[0], device.semiconductor[0]
    film, gate = facts.material("indium gallium zinc oxide").values, facts.material("titanium").values
    capacitance = PERMITTIVITY * facts.material("aluminium oxide").values["permittivity"].value / insulator
    assert found.design.areal_capacitance == pytest.approx(capacitance, rel=1e-6)
    density, states = 1e24, film["effective density of states"].value
    bare = {"tail states": 0.0, "deep states": 0.0, "interface trap density": 0.0, "carrier density": density}
    made = film_transistor({**found.numbers, **bare}, found.dielectrics, found.temperature)
    made = replace(made, off_current=0.0, mobility_exponent=0.0, contact=None)
    depth = BOLTZMANN * 293.15 / CHARGE * math.log(states / density)
    flat = (gate["work function"].value - film["electron affinity"].value) / CHARGE - depth
    charge = CHARGE * density * channel
    emptied = flat - charge * (1 / capacitance + channel / (2 * PERMITTIVITY * film["permittivity"].value))
    # Far below it the film is empty and the swing thermal; above, the current rises on a line that meets zero there, but for
    # half the drain voltage, less what the electrons at the edge of the emptied part smear out (some kT/q).
    gates = emptied + np.linspace(-1.0, 0.6, 161)
    current = film_current(made, gates, 0.05)
    swing = np.diff(gates) / np.diff(np.log10(current))
    limit = BOLTZMANN * 293.15 / CHARGE * math.log(10)
    assert swing[:40] == pytest.approx(limit, rel=0.02)
    slope = np.gradient(current, gates)
    tangent = gates[-1] - current[-1] / slope[-1]
    assert tangent == pytest.approx(emptied, abs=0.06)


@pytest.mark.literature
def test_the_switch_is_a_sound_n_channel_transistor(walked: Walked):
    trace = walked(SWITCH)
    device = trace.devices.named("T10")
    assert device is not None
    found = predict(device, book(), gate_of(trace, device))
    assert found is not None
    # Ranges of annealed amorphous oxide transistors on 40 nm of aluminium oxide, Kamiya, Nomura and Hosono 2010 (from memory).
    assert -1.0 < found.design.threshold_voltage < 2.0
    assert 1.0 <= found.design.ideality < 4.0
    on, off = found.currents(6.0, 5.0), found.currents(-2.0, 5.0)
    squares = device.width / device.length
    assert 1e-6 < on / squares < 1e-4
    assert on / off > 1e7


@pytest.mark.analytic
def test_the_field_effect_mobility_on_file_comes_out_at_its_electrons(walked: Walked):
    trace = walked(SWITCH)
    device = trace.devices.named("T10")
    assert device is not None
    found = predict(device, book(), gate_of(trace, device))
    assert found is not None
    assert found.transistor is not None
    made = replace(found.transistor, mobility_exponent=0.0, off_current=0.0, contact=None)
    at = made.offset + CHARGE * found.numbers["electrons per area"] / made.film.areal_capacitance
    gates = at + np.array([-0.01, 0.01])
    gain = float(np.diff(film_current(made, gates, 1e-3))[0]) / 0.02
    mobility = gain * made.length / (made.width * made.film.areal_capacitance * 1e-3)
    assert mobility == pytest.approx(found.rests_on["mobility"].value, rel=5e-3)


@pytest.mark.analytic
def test_the_carriers_on_file_are_left_in_a_film_alone(walked: Walked):
    trace = walked(SWITCH)
    device = trace.devices.named("T10")
    assert device is not None
    found = predict(device, book(), gate_of(trace, device))
    assert found is not None
    assert found.transistor is not None
    states = found.transistor.film.states
    level = neutral_level(states)
    free = states.density_of_states * fermi_integral(0.5, level * CHARGE / (BOLTZMANN * 293.15))
    assert free == pytest.approx(found.rests_on["carrier density"].value, rel=1e-5)


@pytest.mark.analytic
def test_where_the_states_are_not_on_file_the_compact_law_predicts_and_says_so(walked: Walked):
    trace = walked(SWITCH)
    device = trace.devices.named("T10")
    assert device is not None
    facts = _Without("indium gallium zinc oxide", "tail states")
    found = predict(device, facts, gate_of(trace, device))
    assert found is not None
    assert found.transistor is None
    assert "tail states" in found.notes[0]
    swing = facts.material("indium gallium zinc oxide").values["subthreshold swing"].value
    assert found.design.ideality == pytest.approx(swing / (BOLTZMANN * 293.15 / CHARGE * math.log(10)))
    assert found.currents(6.0, 0.1) == drain_current(found.design, 6.0, 0.1)


class _Without:
    """The book without one value of one material."""

    def __init__(self, material: str, what: str) -> None:
        self.models, self._material, self._what = book().models, material, what

    def material(self, name: str) -> Material:
        found = book().material(name)
        if found.name != self._material:
            return found
        return replace(found, values={key: value for key, value in found.values.items() if key != self._what})


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
