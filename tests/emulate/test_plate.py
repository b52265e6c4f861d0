"""What the plate is set to for a bake, from a lab file with a table of offsets."""

import pytest

from filmwright.emulate import walk
from filmwright.flow import flow_from_text, lab_from_text
from filmwright.knowledge import book
from filmwright.masks import chip, drawing_of
from filmwright.units import convert

PLAN = """flow: a level
wafer: {body: silicon, diameter: 100 mm}
masks:
  drawing: x.oas
  gate: {layer: 1/0, drawn: opaque}
steps:
  - {pattern: gate, resist: positive 1.3 um}
"""
LAB = """lab: a lab
tools: {plate: {does: [bake]}}
calibrations:
"""
READING = "  - {tool: plate, hot-plate offset: %g kelvin ± 0.5 kelvin, date: 2026-10-20%s}\n"
TABLE = (READING % (-1, ", plate: 90 degC"), READING % (-4, ", plate: 120 degC"))


def bake(lab: str):
    """The state after the soft-bake."""
    read = lab_from_text(lab, "lab.yaml")
    flow = flow_from_text(PLAN, "plan.yaml", read)
    trace = walk(
        flow, read, book(), drawing_of(chip("platinum-thermometer")), on="2026-10-20", sections=False
    )
    return next(state for state in trace.states if state.step.kind == "bake")


def plate(lab: str):
    """What the wafer of the soft-bake gets, and what the plate is set to; None where nobody read it."""
    settings = {each.name: each for each in bake(lab).settings}
    return settings["temperature"], settings.get("plate set to")


@pytest.mark.analytic
def test_between_two_readings():
    wafer, found = plate(LAB + "".join(TABLE))
    hot = convert(wafer.value, "degC")
    # T_p − 1 − (T_p − 90)/10 = T
    assert convert(found.value, "degC") == pytest.approx((hot + 1 - 9) / 0.9)
    assert "90 °C, 120 °C" in found.evidence


@pytest.mark.analytic
def test_one_reading_without_a_temperature_holds_for_all():
    wafer, found = plate(LAB + READING % (-3, ""))
    assert found.value == pytest.approx(wafer.value + 3)


@pytest.mark.analytic
def test_far_from_its_only_reading_it_says_so():
    far = LAB + READING % (-8, ", plate: 180 degC")
    _, found = plate(far)
    assert any("beyond the readings" in note for note in found.derived.notes)
    assert any("beyond the readings" in note for note in bake(far).warnings)
    assert bake(LAB + "".join(TABLE)).warnings == ()


@pytest.mark.analytic
def test_what_was_set_aside_or_makes_no_sense_is_not_used():
    spoiled = READING % (-9, ", plate: 100 degC, set aside: the probe lay loose")
    assert plate(LAB + "".join(TABLE) + spoiled)[1].value == pytest.approx(
        plate(LAB + "".join(TABLE))[1].value
    )
    colder = READING % (-1, ", plate: 90 degC"), READING % (-40, ", plate: 120 degC")
    assert plate(LAB + "".join(colder))[1] is None
