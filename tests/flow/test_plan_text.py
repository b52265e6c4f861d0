"""Plan and lab texts: every line kept, all problems at once, nothing guessed in silence."""

from importlib import resources

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from filmwright.errors import BadInput
from filmwright.flow import Done, Flow, as_run, flow_from_text, lab_from_text, plan_schema, step_of
from filmwright.knowledge import Lab

NAMES = ("humidity-switch", "delay-line", "platinum-thermometer")


def shipped(*names: str) -> str:
    """A shipped text."""
    return resources.files("filmwright.desk").joinpath("examples", *names).read_text("utf-8")


LAB = lab_from_text(shipped("lab.yaml"), "lab.yaml")
PLANS = {name: shipped(name, "plan.yaml") for name in NAMES}
SMALL = """flow: small
wafer: {body: silicon, diameter: 100 mm, films: [{material: silicon dioxide, thickness: 100 nm}]}
steps:
  - clean: solvent clean
  - deposit: titanium
    method: electron-beam evaporation
    thickness: 850 A
"""


def read(text: str, lab: Lab = LAB) -> Flow:
    """The flow of a text."""
    return flow_from_text(text, "plan.yaml", lab)


def problems(text: str) -> list[str]:
    """What is wrong with a text, one sentence each."""
    with pytest.raises(BadInput) as bad:
        read(text)
    assert all(each.file == "plan.yaml" and each.line for each in bad.value.problems)
    return [str(each) for each in bad.value.problems]


@pytest.mark.property
def test_a_text_that_was_read_before_is_told_with_its_own_file():
    """The tree is kept, the file is not: neither in what is read nor in what is refused, and a changed text is a new one."""
    for file in ("one.yaml", "other.yaml", "one.yaml"):
        flow = flow_from_text(SMALL, file, LAB)
        assert flow.file == file
        assert [step.kind for step in flow.steps] == ["clean", "deposit"]
        for spoiled in (SMALL + "flow: again\n", SMALL.replace("titanium", "unobtainium")):
            with pytest.raises(BadInput) as bad:
                flow_from_text(spoiled, file, LAB)
            assert {each.file for each in bad.value.problems} == {file}
    assert flow_from_text(SMALL.replace("850 A", "900 A"), "one.yaml", LAB).steps != flow.steps


@pytest.mark.property
@pytest.mark.parametrize("name", NAMES)
def test_steps_keep_their_line_and_have_names_of_their_own(name: str):
    flow, lines = read(PLANS[name]), PLANS[name].splitlines()
    assert (
        len({step.number for step in flow.steps})
        == len(flow.steps)
        == len({step.code for step in flow.steps})
    )
    for step in flow.steps:
        assert lines[step.line - 1].lstrip().startswith("- ")
        assert not set(step.code) & set("IOQSBZG")


@pytest.mark.analytic
def test_a_pattern_unfolds_into_what_one_person_does_at_one_tool():
    flow = read(PLANS["humidity-switch"])
    kinds = [step.kind for step in flow.steps if step.number.startswith("3.")]
    assert kinds == ["dehydrate", "prime", "coat", "bake", "expose", "develop", "inspect"]
    expose = step_of(flow, "3.5")
    assert (expose.tool, expose.mask) == ("mask aligner", "gate")
    assert step_of(flow, expose.code.lower()) is expose


@pytest.mark.analytic
def test_ascii_twins_read_the_same_and_a_bare_a_is_said():
    flow = read(SMALL)
    assert flow.steps[1].asked["thickness"].value == pytest.approx(85e-9)
    assert any("A read as ångström" in each for each in flow.readings)
    assert read(SMALL.replace("850 A", "850 ang")).steps[1].asked["thickness"].value == pytest.approx(85e-9)
    assert read(SMALL.replace("850 A", "85 nm +- 5 %")).steps[1].asked["thickness"].spread == pytest.approx(
        4.25e-9
    )


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("old", "new", "line", "word"),
    [
        ("850 A", "850 mTorr", 7, "length"), ("titanium", "titanum", 5, 'did you mean "titanium"?'), ("850 A", "-85 nm", 7, "more than zero"),
        ("    method:", "    methd:", 6, 'did you mean "method"?'), ("clean: solvent clean", "cleen: solvent clean", 4, 'did you mean "clean"?'),
        ("diameter: 100 mm", "diameter: 100", 2, "add the unit"), ("flow: small\n", "flow: small\nflow: again\n", 2, "second one"),
        ("electron-beam evaporation", "alchemy", 6, "known name"), ("  - clean: solvent clean\n", "  - clean: solvent clean\n    name: a\n  - park: box\n    name: a\n", 6, "rename"),
        ("thickness: 850 A", "thickness: [1, 2]", 7, "a list"), ("silicon,", "cheese,", 2, "known name"), ("clean: solvent clean", "etch: titanium", 4, "in: a bath, or with: a plasma"),
        ("clean: solvent clean", "etch: titanium\n    in: wet", 5, "named chemistry"), ("clean: solvent clean", "etch: titanium\n    in: oxygen plasma ash", 5, "wet etch"),
        ("clean: solvent clean", "pattern: gate\n    resist: positive 1.3 um", 4, "masks"), ("clean: solvent clean", "etch: titanium\n    in: piranha\n    until: dawn", 6, "end point"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_at_its_line(old: str, new: str, line: int, word: str):
    assert old in SMALL
    said = problems(SMALL.replace(old, new, 1))
    assert any(each.startswith(f"plan.yaml:{line}:") and word in each for each in said), said


@pytest.mark.analytic
def test_all_problems_come_at_once():
    text = SMALL.replace("850 A", "850").replace("solvent clean", "solvent cleen").replace("100 nm", "100 mW")
    assert len(problems(text)) == 3


@pytest.mark.property
@pytest.mark.parametrize("name", NAMES)
def test_a_text_cut_off_anywhere_is_read_or_refused(name: str):
    text = PLANS[name]
    for end in range(0, len(text), 97):
        try:
            read(text[:end] or "#")
        except BadInput as bad:
            assert all(each.line for each in bad.problems)


@pytest.mark.property
@settings(max_examples=60, deadline=None)
@given(st.data())
def test_a_mutated_text_is_read_or_refused(data: st.DataObject):
    lines = PLANS[data.draw(st.sampled_from(NAMES))].splitlines()
    for _ in range(data.draw(st.integers(1, 4))):
        place = data.draw(st.integers(0, len(lines) - 1))
        what = data.draw(st.sampled_from(["drop", "twice", "junk", "indent"]))
        if what == "drop":
            del lines[place]
        elif what == "twice":
            lines.insert(place, lines[place])
        elif what == "junk":
            lines[place] = lines[place][: len(lines[place]) // 2] + data.draw(st.text(max_size=8))
        else:
            lines[place] = " " * data.draw(st.integers(0, 6)) + lines[place].lstrip()
    try:
        read("\n".join(lines))
    except BadInput as bad:
        assert bad.problems


@pytest.mark.property
def test_the_schema_knows_every_key_of_the_examples():
    schema = plan_schema()
    assert schema["$schema"].endswith("2020-12/schema")
    verbs = {key for step in schema["properties"]["steps"]["items"]["oneOf"] for key in step["properties"]}
    for text in PLANS.values():
        for line in text.splitlines():
            if line.startswith("  - "):
                assert line[4:].partition(":")[0] in verbs


@pytest.mark.analytic
def test_a_history_is_a_flow_with_what_was_done_and_measured():
    flow = read(PLANS["humidity-switch"])
    record = [
        Done(step="2.1", what="set", name="time", value=610.0),
        Done(step="3.1", what="skip"),
        Done(step="6.1", what="measured", name="step height", value=58e-9),
        Done(step="7.1", what="start", happened="2026-10-26T12:00:00+01:00"),
        Done(step="7.1", what="repeat"),
    ]
    lived = as_run(flow, record)
    numbers = [step.number for step in lived.steps]
    assert "3.1" not in numbers
    assert numbers.count("7.1") == 2
    assert numbers[-1] == "7.1"
    gate = lived.steps[numbers.index("2.1")]
    # What was set, what was measured later and what was asked stand in three fields.
    assert gate.done == {"time": 610.0}
    assert gate.measured["thickness"] == 58e-9
    assert gate.asked["thickness"].value == pytest.approx(60e-9)


@pytest.mark.analytic
def test_a_line_width_tells_the_print_bias_of_its_level():
    flow = read(PLANS["humidity-switch"])
    inspect = next(step for step in flow.steps if step.kind == "inspect" and step.mask == "contact")
    record = [
        Done(step=inspect.number, what="set", name="drawn width", value=5e-6),
        Done(step=inspect.number, what="measured", name="line width", value=5.6e-6),
    ]
    develop = next(
        step for step in as_run(flow, record).steps if step.kind == "develop" and step.mask == "contact"
    )
    assert develop.measured["print bias"] == pytest.approx(0.3e-6)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("old", "new", "word"),
    [
        ("deposition rate: 0.10 nm/s ± 4 %", "deposition rate: 0.10 nm/s", "± one standard deviation"), ("date: 2026-10-19", "date: yesterday", "date like"),
        ("\nwaits:", "\nlimits:\n  organic heet: 100 degC\n\nwaits:", 'did you mean "organic heat"?'), ("tool: evaporator, material: gold", "tool: evaporatr, material: gold", "evaporator"),
        ("material: titanium, deposition rate", "material: titanium, etch rate: 1 nm/s ± 5 %, deposition rate", "exactly one of"), ("longest: 60 min", "longest: 60", "add the unit"),
    ],
)  # fmt: skip
def test_what_is_wrong_in_the_lab_file(old: str, new: str, word: str):
    text = shipped("lab.yaml")
    assert old in text
    with pytest.raises(BadInput) as bad:
        lab_from_text(text.replace(old, new, 1), "lab.yaml")
    assert any(word in str(each) and each.file == "lab.yaml" and each.line for each in bad.value.problems)
