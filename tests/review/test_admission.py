"""What a tool admits, by films, edge, back, baths and tools: each on a flow of a few steps, judged by hand."""

import pytest

from filmwright.emulate import walk
from filmwright.flow import flow_from_text, lab_from_text
from filmwright.knowledge import book
from filmwright.review import Finding, review

LAB = """lab: a lab
admission:
  metals:
    none: {otherwise: yes}
    clean: {families: [titanium]}
    gold: {families: [gold], cleared by: [piranha]}
  covered:
    gold inside: {families: [gold], also covered: yes}
  alkali:
    alkali: {baths: [alkali], cleared by: [SC-2]}
tools:
  evaporator: {does: [electron-beam evaporation]}
  reactor: {does: [atomic layer deposition], admits: {metals: [none, clean], alkali: []}}
  dirty reactor: {does: [oxidation by hand], admits: {metals: [none, clean, gold]}}
  wet bench: {does: [wet etch]}
  solvents: {does: [clean]}
  etcher: {does: [boron trichloride plasma], admits: {metals: [none]}}
  oven: {does: [anneal], admits: {covered: []}}
  tester: {does: [probe], leaves: {metals: gold}}
"""
HEAD = """flow: a few steps
wafer: {body: silicon, diameter: 100 mm, films: [{material: silicon dioxide, thickness: 300 nm}]}
steps:
"""
GOLD = "  - {deposit: titanium, method: electron-beam evaporation, thickness: 10 nm}\n  - {deposit: gold, method: electron-beam evaporation, thickness: 50 nm}\n"
CAP = "  - {deposit: titanium, name: cap, method: electron-beam evaporation, thickness: 20 nm}\n"
LAYER = "  - {deposit: aluminium oxide, method: atomic layer deposition, thickness: 20 nm}\n"


def told(steps: str, lab: str = LAB) -> list[Finding]:
    """Findings of the rule on a flow of some steps."""
    read = lab_from_text(lab, "lab.yaml")
    flow = flow_from_text(HEAD + steps, "plan.yaml", read)
    found = review(walk(flow, read, book(), None, on="2026-10-26", sections=False), book())
    return [each for each in found if "chamber refuses" in (each.rule, *each.also)]


@pytest.mark.analytic
def test_a_film_on_the_front_is_told_with_its_place_and_its_first_step():
    (found,) = told(GOLD + LAYER)
    assert found.severity == "stop"
    assert found.step == "3.1"
    assert found.what.endswith("(metals: gold)")
    assert "gold uncovered on the die, put down in step 2.1" in found.got
    assert "(line 5)" in found.got
    assert "none or clean" in found.expected
    assert found.source.endswith("lab.yaml:13")
    assert "cover the film" in found.remedy


@pytest.mark.analytic
def test_a_covered_film_counts_only_where_the_class_says_so():
    steps = GOLD + CAP
    assert told(steps + LAYER) == []
    (found,) = told(steps + "  - {anneal: nitrogen, temperature: 200 degC, time: 10 min}\n")
    assert "(covered: gold inside)" in found.what
    assert "gold on the die" in found.got


@pytest.mark.analytic
def test_what_comes_to_be_uncovered_in_the_step_counts():
    steps = "  - {deposit: titanium, method: electron-beam evaporation, thickness: 10 nm}\n" + LAYER
    steps += "  - {etch: aluminium oxide, with: boron trichloride plasma, until: end point + 10 %, power: 100 W, pressure: 10 mTorr}\n"
    (found,) = told(steps)
    assert found.what.startswith("the wafer at the end of step 3.1")
    assert "titanium uncovered on the die" in found.got


@pytest.mark.analytic
def test_edge_and_back_count_as_well():
    # A film from all sides reaches the back, and an etch from the front leaves it there.
    lab = LAB.replace("families: [titanium]", "materials: [zinc oxide]")
    lab = lab.replace("wet bench: {does: [wet etch]}", "other: {does: [plasma etch]}").replace(
        "atomic layer deposition], admits: {metals: [none, clean]",
        "atomic layer deposition], admits: {metals: [none]",
    )
    steps = (
        "  - {deposit: zinc oxide, method: atomic layer deposition, thickness: 20 nm, tool: other}\n" + CAP
    )
    (found,) = told(steps + LAYER, lab)
    assert "zinc oxide on the back" in found.got


@pytest.mark.analytic
def test_a_tool_makes_a_class_that_stays_until_a_bath_clears_it():
    probed = "  - {probe: film, gate: 1 V}\n"
    (found,) = told(probed + LAYER)
    assert "it was in tester in step 1.1" in found.got
    assert "clean it before in piranha" in found.remedy
    assert told(probed + "  - {clean: piranha, tool: wet bench}\n" + LAYER) == []
    assert told(LAYER + probed) == []


@pytest.mark.analytic
def test_a_bath_makes_a_class_too():
    bath = "  - {clean: %s, time: 10 s, tool: wet bench}\n"
    alkali = next(m.name for m in book().media.values() if "alkali" in m.families and m.kind == "wet etch")
    steps = f"  - {{etch: silicon dioxide, in: {alkali}, time: 5 s, tool: wet bench}}\n"
    assert [each.what for each in told(steps + LAYER) if "alkali" in each.what]
    assert [each.what for each in told(steps + bath % "SC-2" + LAYER) if "alkali" in each.what] == []


@pytest.mark.analytic
def test_another_tool_that_admits_it_is_the_first_remedy():
    lab = LAB.replace("does: [oxidation by hand]", "does: [atomic layer deposition]")
    steps = GOLD + LAYER.replace("thickness", "tool: reactor, thickness")
    (found,) = told(steps, lab)
    assert found.remedy.startswith("use dirty reactor")


@pytest.mark.analytic
def test_the_film_that_the_tool_itself_lays_down_does_not_shut_it():
    lab = LAB.replace(
        "evaporator: {does: [electron-beam evaporation]}",
        "evaporator: {does: [electron-beam evaporation], admits: {metals: [none, clean]}}",
    )
    assert [each.step for each in told(GOLD + CAP, lab)] == ["3.1"]


@pytest.mark.analytic
def test_refuses_is_judged_alike():
    lab = LAB.replace("admits: {metals: [none, clean], alkali: []}", "refuses: [gold]")
    (found,) = told(GOLD + LAYER, lab)
    assert "(material family: gold)" in found.what
