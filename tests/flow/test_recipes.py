"""Recipes of tools: what a step takes from one, and what contradicts it."""

import pytest

from filmwright.emulate import walk
from filmwright.errors import BadInput
from filmwright.flow import Flow, flow_from_text, lab_from_text
from filmwright.knowledge import book
from filmwright.units import convert

LAB = """lab: a lab
tools:
  sputter:
    does: [radio-frequency sputtering]
    recipes:
      slow: {material: indium gallium zinc oxide, pressure: 5 mTorr ± 10 %, power: 80 W, gases: {argon: 20 sccm, oxygen: 1 sccm}}
      fast: {pressure: 3 mTorr, power: 150 W}
  etcher:
    does: [boron trichloride plasma]
    recipes:
      gentle: {medium: boron trichloride plasma, power: 50 W, pressure: 10 mTorr, time: 90 s}
  spinner: {does: [coat]}
  aligner:
    does: [expose]
    recipes:
      contact: {dose: 90 mJ/cm^2}
  evaporator: {does: [electron-beam evaporation]}
calibrations:
  - {tool: sputter, material: indium gallium zinc oxide, deposition rate: 3.1 nm/min ± 5 %, date: 2026-10-12}
  - {tool: sputter, recipe: slow, deposition rate: 2.5 nm/min ± 5 %, date: 2026-10-01}
  - {tool: sputter, recipe: by hand, deposition rate: 2.0 nm/min ± 5 %, date: 2026-10-01}
"""
PLAN = """flow: a film
wafer: {body: silicon, diameter: 100 mm}
masks:
  drawing: x.oas
  gate: {layer: 1/0, drawn: opaque}
steps:
  - deposit: indium gallium zinc oxide
    method: radio-frequency sputtering
    thickness: 25 nm
    recipe: slow
  - etch: indium gallium zinc oxide
    with: boron trichloride plasma
    recipe: gentle
  - pattern: gate
    resist: positive 1.3 um
    recipe: contact
  - deposit: titanium
    method: electron-beam evaporation
    thickness: 10 nm
    recipe: whatever hangs at the tool
"""


def planned(plan: str = PLAN, lab: str = LAB) -> Flow:
    return flow_from_text(plan, "plan.yaml", lab_from_text(lab, "lab.yaml"))


@pytest.mark.analytic
def test_a_step_takes_the_settings_of_its_recipe():
    film, etch, *litho, metal = planned().steps
    assert {name: str(each) for name, each in film.asked.items() if name != "thickness"} == {
        "pressure": "5 mTorr ± 0.5 mTorr", "power": "80 W", "argon flow": "20 sccm", "oxygen flow": "1 sccm",
    }  # fmt: skip
    assert set(film.by_recipe) == {"pressure", "power", "argon flow", "oxygen flow"}
    assert set(film.by_recipe.values()) == {6}
    assert str(etch.asked["time"]) == "90 s"
    assert {step.kind: step.recipe for step in litho if step.recipe} == {"expose": "contact"}
    exposure = next(step for step in litho if step.kind == "expose")
    assert str(exposure.asked["dose"]) == "90 mJ/cm²"
    assert metal.recipe == "whatever hangs at the tool", "a lab file without recipes of a tool takes any name"


@pytest.mark.analytic
def test_the_calibration_of_the_recipe_is_believed_and_the_settings_say_where_they_stand():
    lab = lab_from_text(LAB, "lab.yaml")
    text = "\n".join(PLAN.splitlines()[:2] + PLAN.splitlines()[5:10])
    state = walk(flow_from_text(text, "plan.yaml", lab), lab, book(), None, on="2026-10-12").states[0]
    assert state.rate is not None
    assert convert(state.rate.value, "nm/min") == pytest.approx(2.5)
    pressure = next(each for each in state.settings if each.name == "pressure")
    assert pressure.evidence == 'recipe "slow" of sputter, lab file line 6'
    assert pressure.source.kind == "lab"
    argon = next(each for each in state.settings if each.name == "argon flow")
    assert argon.value == pytest.approx(20e-6 / 60)


@pytest.mark.analytic
def test_a_plan_may_say_the_same_within_the_spread_of_the_recipe():
    said = PLAN.replace("recipe: slow", "recipe: slow\n    pressure: 5.4 mTorr\n    power: 0.08 kW")
    film = planned(said).steps[0]
    assert str(film.asked["pressure"]) == "5.4 mTorr"
    assert "pressure" not in film.by_recipe


WRONG_PLAN = [
    ("recipe: slow", "recipe: slwo", 10, 'did you mean "slow"?'),
    ("recipe: slow", "recipe: slow\n    pressure: 6 mTorr", 11, "as the recipe"),
    ("recipe: slow", "recipe: slow\n    power: 81 W", 11, "80 W"),
    ("recipe: gentle", "recipe: gentle\n    until: end point + 10 %", 14, "90 s"),
    ("recipe: gentle", "recipe: contact", 13, 'use one of: gentle'),
    ("with: boron trichloride plasma", "with: boron trichloride and chlorine plasma\n    tool: etcher", 14, "which the recipe"),
    ("deposit: indium gallium zinc oxide", "deposit: zinc oxide", 10, "which the recipe"),
    ("recipe: contact", "recipe: contact\n    dose: 120 mJ/cm^2", 17, "as the recipe"),
]  # fmt: skip


@pytest.mark.analytic
@pytest.mark.parametrize(("old", "new", "line", "word"), WRONG_PLAN)
def test_a_plan_that_contradicts_its_recipe_is_told_at_its_line(old: str, new: str, line: int, word: str):
    assert old in PLAN
    with pytest.raises(BadInput) as bad:
        planned(PLAN.replace(old, new, 1))
    told = [each for each in bad.value.problems if word in str(each)]
    assert told, [str(each) for each in bad.value.problems]
    assert line in {each.line for each in told}, [str(each) for each in told]


@pytest.mark.analytic
def test_a_recipe_that_a_calibration_names_is_known():
    film = planned(PLAN.replace("recipe: slow", "recipe: by hand")).steps[0]
    assert film.recipe == "by hand"
    assert not film.by_recipe


WRONG_LAB = [
    ("      fast: {pressure: 3 mTorr, power: 150 W}", "      slow: {pressure: 3 mTorr}", 7, "written once"),
    ("power: 150 W}", "power: 150 eV}", 7, "power"),
    ("power: 150 W}", "gases: {argun: 20 sccm}}", 7, 'did you mean "argon"?'),
    ("power: 150 W}", "gases: {argon: 20 W}}", 7, "gas flow"),
    ("power: 150 W}", "gases: 20 sccm}", 7, "each with its flow"),
    ("{pressure: 3 mTorr, power: 150 W}", "{}", 7, "at least one setting"),
    ("{pressure: 3 mTorr, power: 150 W}", "quick", 7, "a block of keys"),
    ("medium: boron trichloride plasma,", "medium: boron plasm,", 11, "nothing is known"),
    ("material: indium gallium zinc oxide, pressure", "material: indigo, pressure", 6, "nothing is known"),
    ("      contact: {dose: 90 mJ/cm^2}", "      - contact", 16, "a block with names"),
    ("time: 90 s", "colour: red", 11, "a known key"),
]


@pytest.mark.analytic
@pytest.mark.parametrize(("old", "new", "line", "word"), WRONG_LAB)
def test_a_recipe_that_is_none_is_told_at_its_line(old: str, new: str, line: int, word: str):
    assert old in LAB
    with pytest.raises(BadInput) as bad:
        lab_from_text(LAB.replace(old, new, 1), "lab.yaml")
    told = [each for each in bad.value.problems if word in str(each)]
    assert told, [str(each) for each in bad.value.problems]
    assert line in {each.line for each in told}, [str(each) for each in told]
