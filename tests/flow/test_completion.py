"""What is offered while a plan is written: keys, names and units that the reader then takes."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.flow import Names, complete, flow_from_text, lab_from_text
from filmwright.flow.grammar import PLAN, STEPS
from filmwright.knowledge import Lab, book

LAB = (
    "lab: invented\ntools:\n  furnace:\n    does: anneal\n    recipes:\n      slow: {temperature: 300 degC}\n"
)
TEXT = """flow: a plan
wafer:
  body: silicon
  diameter: 100 mm
  films:
    - {material: silicon dioxide, thickness: 300 nm}
masks:
  drawing: some.oas
  gate: {layer: 1/0, drawn: opaque}
steps:
  - deposit: titanium
    name: gate metal
    method: electron-beam evaporation
    thickness: 60 nm ± 5 %
  - pattern: gate
    resist: positive 1.3 um
  - etch: titanium
    in: dilute hydrogen peroxide and ammonia
    until: end point + 25 %
expect:
  keep:
    titanium: 90 %
"""


def offered(marked: str, names: Names | None = None) -> list[str]:
    """The offers at the | of a text."""
    place = marked.index("|")
    text = marked[:place] + marked[place + 1 :]
    line, column = marked[:place].count("\n") + 1, place - marked.rfind("\n", 0, place)
    found = complete(text, line, column, names or Names(lab=lab_from_text(LAB, "lab.yaml")))
    return [each.text for each in found.offers]


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("was", "becomes", "first", "never"),
    [
        ("    name: gate metal\n", "    name: gate metal\n    to|\n", "tool: ", "resist: "),
        ("  - deposit: titanium\n", "  - deposit: tit|\n", "titanium", "gold"),
        ("- pattern: gate", "- pattern: |", "gate", "drawing"),
        ("60 nm ± 5 %", "60 |", "nm", "min"),
        ("60 nm ± 5 %", "60 nm ± 5 |", "%", "min"),
        ("{material: silicon dioxide", "{material: silicon d|", "silicon dioxide", "gold"),
        ("drawn: opaque}", "drawn: |", "opaque", "yes"),
        ("drawn: opaque}", "dr|", "drawn: ", "layer: "),
        ("    until: end point + 25 %", "    until: |", "end point + 25 %", "yes"),
        ("  keep:\n", "  keep:\n    go|\n", "gold: ", "titanium"),
        ("expect:\n", "expect:\n  |\n", "transistors: ", "keep: "),
        ("  - etch: titanium\n", "  - p|\n  - etch: titanium\n", "pattern: ", "flow: "),
    ],
)
def test_what_stands_first_at_a_place(was, becomes, first, never):
    found = offered(TEXT.replace(was, becomes, 1))
    assert found[0] == first
    assert never not in found


@pytest.mark.analytic
def test_a_list_may_stand_as_far_left_as_its_key():
    assert "thickness: " in offered("flow: x\nsteps:\n- deposit: titanium\n  th|\n")


@pytest.mark.analytic
def test_baths_that_attack_the_film_come_first():
    found = offered(TEXT.replace("in: dilute hydrogen peroxide and ammonia", "in: |"))
    verdicts = [book().medium(each).rate("titanium").verdict for each in found]
    order = {"attacks": 0, "unknown": 1, "does not attack": 2}
    assert verdicts == sorted(verdicts, key=order.get)
    assert verdicts[0] == "attacks"


@pytest.mark.analytic
def test_tools_and_recipes_are_those_of_the_lab_file():
    step = TEXT.replace("expect:", "  - anneal: air\n    tool: furnace\n    recipe: |\nexpect:")
    assert offered(step) == ["slow"]


@pytest.mark.analytic
def test_nothing_is_offered_in_a_comment():
    assert offered("# fl|") == []


@pytest.mark.property
@given(st.integers(1, 30), st.integers(1, 60), st.text("-:{}[]# \n\"'abc", max_size=6))
def test_anything_may_stand_anywhere(line, column, typed):
    lines = TEXT.splitlines()
    at = min(line, len(lines)) - 1
    lines[at] = lines[at][:column] + typed + lines[at][column:]
    found = complete("\n".join(lines), line, column, Names(lab=Lab(name="")))
    assert found.start <= found.end == column


@pytest.mark.reference
@pytest.mark.parametrize("verb", STEPS)
def test_every_key_that_is_offered_is_one_that_the_reader_knows(verb):
    """Checked against the reader: a key that it does not know it would refuse by name."""
    from filmwright.errors import BadInput

    head = TEXT.partition("steps:")[0]
    keys = offered(f"{head}steps:\n  - {verb}: gate\n    |\n")
    assert keys
    for key in keys:
        try:
            flow_from_text(f"{head}steps:\n  - {verb}: gate\n    {key}x\n", "plan.yaml", Lab(name=""))
        except BadInput as bad:
            assert not [each for each in bad.problems if each.expected == "a known key"]


@pytest.mark.analytic
def test_an_empty_text_begins_with_what_a_plan_needs():
    found = offered("|")
    assert found[:3] == ["flow: ", "wafer: ", "steps: "]
    assert len(found) == len(PLAN)
