"""What each measurement of a walked flow should find, against hand arithmetic and published constants."""

import math

import pytest

from filmwright.emulate import Trace, walk, with_readings
from filmwright.errors import BadInput
from filmwright.flow import flow_from_text, lab_from_text
from filmwright.knowledge import book, readings
from filmwright.masks import chip, drawing_of
from filmwright.units import to_si

from .conftest import shipped

SWITCH, THERMOMETER = "humidity-switch", "platinum-thermometer"


def measured(example: str, *steps: str, before: str) -> Trace:
    """An example with measurements put in before a line of its plan."""
    text = shipped(example, "plan.yaml")
    assert before in text
    text = text.replace(before, "".join(f"  - {each}\n" for each in steps) + before, 1)
    lab = lab_from_text(shipped("lab.yaml"), "lab.yaml")
    drawing = drawing_of(chip(example))
    flow = flow_from_text(text, "plan.yaml", lab)
    trace = walk(flow, lab, book(), drawing, on="2026-10-26", sections=False)
    return with_readings(trace, book(), drawing)


@pytest.fixture(scope="module")
def switch() -> Trace:
    return measured(
        SWITCH,
        "{measure: step height, of: gold, name: height}",
        "{measure: thickness, of: aluminium oxide, name: oxide, tolerance: 5 %}",
        "{measure: refractive index, of: aluminium oxide, name: index}",
        "{measure: sheet resistance, of: gold, name: sheet}",
        "{measure: reflectance, name: shine, wavelength: 600 nm}",
        "{measure: colour, of: gold, name: hue}",
        "{measure: bow, name: bow}",
        "{measure: stress, of: gold, name: pull}",
        "{measure: van der Pauw resistance, name: cross}",
        "{measure: areal capacitance, place: C2, name: plates}",
        "{measure: overlay, of: contact, name: shift}",
        "{measure: roughness, name: rough}",
        before="  - anneal: air",
    )


def told(trace: Trace, name: str):
    state = next(each for each in trace.states if each.step.name == name)
    return state, {each.name: each for each in state.follows}


@pytest.mark.analytic
def test_a_step_height_is_the_difference_of_two_stacks(switch: Trace):
    state, found = told(switch, "height")
    height = found["step height"]
    high, low = (each.value for each in height.derivation.inputs[:2])
    assert height.value == pytest.approx(high - low)
    # 10 nm of titanium and 90 nm of gold of the plan; under the gold lies what lies beside it too
    assert height.value == pytest.approx(to_si(100, "nm"), abs=to_si(20, "nm"))
    # Gold of 5 % and titanium of 10 % at the most, stylus 1 nm: never better than the stylus alone
    assert height.spread is not None
    assert height.spread > to_si(1, "nm")
    assert state.readings[0].times >= 2
    assert "up the edge" in state.readings[0].name


@pytest.mark.literature
def test_the_thickness_and_the_index_of_alumina(switch: Trace):
    state, found = told(switch, "oxide")
    # 40 nm of the plan less some tenths in developers and strippers
    assert 0.95 * 40e-9 < found["thickness"].value <= 40e-9
    assert "the plan accepts 38" in state.look[0] or "the plan accepts 37" in state.look[0]
    # Films by cycles at 200 °C: 1.64 at 633 nm (M. D. Groner et al., Chem. Mater. 16, 639 (2004), from memory)
    assert told(switch, "index")[1]["refractive index"].value == pytest.approx(1.64, abs=0.03)


@pytest.mark.literature
def test_a_sheet_of_gold_under_four_probes(switch: Trace):
    state, found = told(switch, "sheet")
    inputs = {each.symbol: each.value for each in found["sheet resistance"].derivation.inputs}
    # 2.2 µΩ·cm is solid gold (published); a film resists more, so 90 nm have more than 0.245 Ω a square
    assert found["sheet resistance"].value > 0.244
    assert inputs["d"] == pytest.approx(90e-9, rel=0.01)
    # F. M. Smits 1958: R_sheet = 4.532·V/I
    ratio = found["sheet resistance"].value / found["V/I of four probes"].value
    assert ratio == pytest.approx(4.532, rel=2e-3)
    assert any("witness" in warning for warning in state.warnings)


@pytest.mark.reference
def test_the_reflectance_of_the_field_by_another_program(switch: Trace):
    import numpy as np
    import tmm

    from filmwright.knowledge import optical

    state, found = told(switch, "shine")
    column = max(state.wafer.plan.areas().items(), key=lambda pair: pair[1])[0]
    wave = 600e-9
    # tmm has n + i·k
    index = [
        1.0,
        *(
            complex(optical(layer.material).index(np.array([wave]))[0]).conjugate()
            for layer in reversed(column.layers)
        ),
    ]
    depth = [math.inf, *(layer.thickness for layer in reversed(column.layers[1:])), math.inf]
    known = tmm.coh_tmm("s", index, depth, 0, wave)["R"]
    assert found["reflectance at 600 nm"].value == pytest.approx(known, abs=1e-6)


@pytest.mark.literature
def test_bow_by_stoney(switch: Trace):
    _, found = told(switch, "bow")
    inputs = {each.symbol: each.value for each in found["bow"].derivation.inputs}
    # 100 N/m (1 GPa × 100 nm) on 525 µm of (100) silicon, 180.5 GPa, bends 100 mm by 15.1 µm (published arithmetic)
    scale = (inputs["S"] / 100.0) * (180.5e9 / inputs["M"])
    assert found["bow"].value == pytest.approx(15.075e-6 * scale, rel=1e-3)
    _, alone = told(switch, "pull")
    low, high = alone["change of bow by gold"].derivation.band
    # However wide it is, a bow may have either sign
    assert low < 0 < high


@pytest.mark.analytic
def test_plates_crosses_and_marks(switch: Trace):
    _, found = told(switch, "plates")
    inputs = {each.symbol: each.value for each in found["areal capacitance"].derivation.inputs}
    assert found["areal capacitance"].value == pytest.approx(8.8541878e-12 * inputs["ε_1"] / inputs["d_1"])
    _, found = told(switch, "cross")
    cross = found["V/I of the cross"]
    inputs = {each.symbol: each.value for each in cross.derivation.inputs}
    assert cross.value == pytest.approx(inputs["ρ"] / inputs["d"] * math.log(2) / math.pi)
    state, _ = told(switch, "shift")
    assert "0 ± 1.4" in state.readings[0].expected  # 2·√2·0.5 µm: two alignments behind each other


@pytest.mark.analytic
def test_the_line_of_a_thermometer():
    trace = measured(
        THERMOMETER,
        "{measure: line resistance, name: ohms}",
        "{measure: contact angle, name: drop}",
        before="  - deposit: aluminium oxide",
    )
    state, found = told(trace, "ohms")
    line = found["line resistance"]
    inputs = {each.symbol: each.value for each in line.derivation.inputs}
    assert inputs["n"] == pytest.approx(trace.devices.named("R1").squares)
    # Titanium and platinum side by side, by hand
    through = sum(inputs[f"d_{k}"] / inputs[f"ρ_{k}"] for k in (1, 2))
    assert line.value == pytest.approx(inputs["n"] / through)
    assert "nothing to compare with" not in " ".join(state.warnings)
    assert told(trace, "drop")[0].readings[0].expected


@pytest.mark.analytic
def test_a_line_width_beside_the_drawn_one(switch: Trace):
    state, found = told(switch, "channel length check")
    inputs = {each.symbol: each.value for each in found["line width"].derivation.inputs}
    assert inputs["w_0"] == pytest.approx(5e-6)  # the shortest channel of the drawing
    assert found["line width"].value == pytest.approx(inputs["w_0"] + 2 * inputs["b"])
    assert "drawn 5 µm" in " ".join(state.look)


@pytest.mark.property
def test_whatever_is_measured_says_where_how_often_and_what_to_write_down(switch: Trace):
    for state in switch.states:
        if state.step.kind == "measure":
            said = " ".join(state.look)
            assert "where: " in said
            assert "place" in said
            assert len(state.readings) >= 1
            assert all(each.times >= 1 and each.name for each in state.readings)


@pytest.mark.property
def test_an_unknown_place_is_refused_with_the_nearest_at_its_line():
    with pytest.raises(BadInput) as caught:
        measured(SWITCH, "{measure: areal capacitance, place: C22}", before="  - anneal: air")
    (problem,) = caught.value.problems
    assert problem.line
    assert "C2" in problem.remedy


@pytest.mark.property
@pytest.mark.parametrize("name", list(readings()))
def test_every_quantity_names_an_instrument_that_is_on_file(name: str):
    kind = readings()[name]
    if kind.instrument:
        known = book().models[kind.instrument]
        assert {"relative", "floor"} <= set(known)
        assert known["floor"].unit == kind.unit or name == "stress"
