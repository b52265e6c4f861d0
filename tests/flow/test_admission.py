"""Admission axes of a lab file: read as written, and refused at the line of what is wrong."""

import pytest

from filmwright.errors import BadInput
from filmwright.flow import lab_from_text
from filmwright.knowledge import FAMILY_AXIS, book

LAB = """lab: a lab
admission:
  metals:
    none: {otherwise: yes}
    gold: {families: [gold], materials: [Cu], cleared by: [piranha]}
  alkali:
    alkali: {baths: [alkali], also covered: no}
tools:
  evaporator:
    does: [electron-beam evaporation]
    admits: {metals: [none, gold], alkali: []}
    leaves: {metals: gold}
  furnace:
    does: [anneal]
    refuses: [gold, organic]
  oven:
    does: [bake]
    refuses: [zinc]
"""


@pytest.mark.analytic
def test_axes_and_tools_as_read():
    lab = lab_from_text(LAB, "lab.yaml")
    none, gold = lab.admission["metals"]
    assert none.otherwise
    assert (gold.families, gold.materials, gold.line) == ({"gold"}, {"copper"}, 5)
    assert gold.cleared_by == {"piranha"}
    media = book().media.values()
    assert lab.admission["alkali"][0].baths == {each.name for each in media if "alkali" in each.families}
    assert lab.tools["evaporator"].admits == {"metals": {"none", "gold"}, "alkali": frozenset()}
    assert lab.tools["evaporator"].leaves == {"metals": "gold"}


@pytest.mark.analytic
def test_refuses_is_one_more_axis():
    lab = lab_from_text(LAB, "lab.yaml")
    assert {each.name for each in lab.admission[FAMILY_AXIS]} == {"gold", "organic", "zinc"}
    assert lab.tools["furnace"].admits == {FAMILY_AXIS: {"zinc"}}
    assert lab.tools["oven"].admits == {FAMILY_AXIS: {"gold", "organic"}}
    assert FAMILY_AXIS not in lab.tools["evaporator"].admits


WRONG = [
    # what is written, what is written instead, line that is named, a word of the message
    ("admits: {metals:", "admits: {metalls:", 11, 'did you mean "metals"?'),
    ("[none, gold]", "[none, golden]", 11, 'did you mean "gold"?'),
    ("[none, gold]", "{none: yes}", 11, "one of none, gold"),
    ("leaves: {metals: gold}", "leaves: {metals: dirt}", 12, "one of none, gold"),
    ("leaves: {metals: gold}", "leaves: gold", 12, "a block with names"),
    ("families: [gold]", "families: [golds]", 5, 'did you mean "gold"?'),
    ("materials: [Cu]", "materials: [goldd]", 5, 'did you mean "gold"?'),
    ("cleared by: [piranha]", "cleared by: [pirana]", 5, "piranha"),
    ("baths: [alkali]", "baths: [alkalis]", 7, "baths"),
    ("none: {otherwise: yes}", "none: {otherwise: yes, families: [zinc]}", 4, "the only key"),
    ("materials: [Cu]", "otherwise: yes", 5, "the only key"),
    ("alkali: {baths: [alkali], also covered: no}", "{}", 7, "an empty one"),
    ("  metals:\n", "  material family:\n    x: {otherwise: yes}\n  metals:\n", 3, "one of your own"),
    ("    gold: {families", "    rest: {otherwise: yes}\n    gold: {families", 5, "the only one"),
    ("    gold: {families", "    none: {}\n    gold: {families", 5, "written once"),
    ("also covered: no", "also covered: perhaps", 7, "yes or no"),
    ("also covered: no", "colour: no", 7, "a known key"),
]


@pytest.mark.analytic
@pytest.mark.parametrize(("old", "new", "line", "word"), WRONG)
def test_what_is_wrong_is_told_at_its_line(old: str, new: str, line: int, word: str):
    assert old in LAB
    with pytest.raises(BadInput) as bad:
        lab_from_text(LAB.replace(old, new, 1), "lab.yaml")
    told = [each for each in bad.value.problems if word in str(each)]
    assert told, [str(each) for each in bad.value.problems]
    assert line in {each.line for each in told}
