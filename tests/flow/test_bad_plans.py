"""Files that are no plan, and plans with one thing wrong: refused at the line, with what to write instead."""

from importlib import resources
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from filmwright.errors import BadInput, Problem
from filmwright.flow import flow_from_text, lab_from_text, read_flow, read_lab
from filmwright.knowledge import Lab

NO_LAB = Lab(name="no lab file")
PLAN = """flow: two levels
wafer: {body: silicon, diameter: 100 mm}
masks:
  drawing: two.oas
  gate: {layer: 1/0, drawn: opaque}
cuts:
  across: {from: [0 um, 0 um], to: [100 um, 0 um]}
steps:
  - deposit: titanium
    method: electron-beam evaporation
    thickness: 60 nm
    witness: [W1]
  - pattern: gate
    resist: positive 1.3 um
  - etch: titanium
    in: dilute hydrogen peroxide and ammonia
    until: end point + 25 %
  - anneal: air
    temperature: 200 degC
    time: 60 min
expect:
  transistors: {count: 4, gate: G}
  keep: {titanium: 90 %}
  apart: [[G, S]]
"""


def refused(text: str) -> tuple[Problem, ...]:
    """The problems of a plan text."""
    with pytest.raises(BadInput) as bad:
        flow_from_text(text, "plan.yaml", NO_LAB)
    return bad.value.problems


@pytest.mark.analytic
def test_the_plan_itself_is_sound():
    assert len(flow_from_text(PLAN, "plan.yaml", NO_LAB).steps) == 11


WRONG: list[tuple[str, str, str, str]] = [
    # what is written, what is written instead, what stands on the line that is named, a word of the message
    ("layer: 1/0", "layer: one", "gate: {", "like 1/0"),
    ("layer: 1/0", "layer: ²/0", "gate: {", "like 1/0"),
    ("layer: 1/0", "layer: 1/2/3", "gate: {", "like 1/0"),
    ("drawn: opaque", "drawn: opake", "gate: {", 'did you mean "opaque"?'),
    ("  drawing: two.oas\n", "", "gate: {", 'add "drawing: name.oas"'),
    ("to: [100 um, 0 um]", "to: [100 um]", "across:", "two lengths"),
    ("to: [100 um, 0 um]", "to: [0 um, 0 um]", "across:", "one point"),
    ("{from: [0 um, 0 um], to: [100 um, 0 um]}", "{}", "across:", "one of: through, across, points, or from and to"),
    ("thickness: 60 nm", "thickness: 60,5 nm", "thickness:", "decimal point"),
    ("thickness: 60 nm", "thickness: 0 nm", "thickness:", "more than zero"),
    ("    thickness: 60 nm\n", "", "deposit: titanium", 'add "thickness: …"'),
    ("witness: [W1]", "witness: {W1: yes}", "witness:", "list of texts"),
    ("in: dilute hydrogen", "with: dilute hydrogen", "with: dilute", 'write "in: dilute hydrogen peroxide and ammonia"'),
    ("in: dilute hydrogen peroxide and ammonia", "in: oxygen plasma ash", "in: oxygen", 'write "with: oxygen plasma ash"'),
    ("in: dilute hydrogen peroxide and ammonia", "in: acetone", "in: acetone", "a solvent"),
    ("in: dilute hydrogen peroxide and ammonia", "in: acid", "in: acid", "alone"),
    ("until: end point + 25 %", "until: end point + lots", "until:", "over-etch"),
    ("until: end point + 25 %", "until: end point\n    time: 30 s", "until:", "remove the time"),
    ("until: end point + 25 %", "until: end point + -25 %", "until:", "zero or more"),
    ("  - anneal: air\n", "  - anneal: air\n    accept: {gate field: ''}\n", "accept:", "must know why"),
    ("temperature: 200 degC", "temperature: 200 degrees", "temperature:", "temperature"),
    ("resist: positive 1.3 um", "resist: positive 1.3 um\n    prime: perhaps", "prime:", "yes or no"),
    ("resist: positive 1.3 um", "resist: positive 1.3 um\n    developer: acetone", "developer:", "a solvent"),
    ("resist: positive 1.3 um", "resist: positiv 1.3", "resist:", "did you mean"),
    ("count: 4", "count: four", "transistors:", "whole number"),
    ("count: 4", "count: -4", "transistors:", "whole number"),
    ("count: 4", "count: ²", "transistors:", "whole number"),
    ("count: 4", "count: 4.0", "transistors:", "whole number"),
    ("gate: G", "gat: G", "transistors:", 'did you mean "gate"?'),
    ("titanium: 90 %", "titanium: 190 %", "keep:", "at most 100 %"),
    ("titanium: 90 %", "titanium: 90", "keep:", "90 %"),
    ("apart: [[G, S]]", "apart: [[G, S, D]]", "apart:", "pairs of terminals"),
    ("expect:\n", "expect: everything\nlast:\n", "expect:", "a block of keys"),
    ("wafer: {body: silicon, diameter: 100 mm}", "wafer: silicon", "wafer:", "a block of keys"),
    ("  - anneal: air\n", "  - anneal: air\n    accept: gladly\n", "accept:", "with a reason"),
    ("  - anneal: air\n", "  - anneal: [air, water]\n", "anneal:", "one name"),
    ("  - anneal: air\n", "  - measure: sheet resistence\n    of: titanium\n  - anneal: air\n", "measure: sheet", 'did you mean "sheet resistance"?'),
    ("  - anneal: air\n", "  - measure: step hight\n  - anneal: air\n", "measure: step", 'did you mean "step height"?'),
    ("  - anneal: air\n", "  - measure: step height\n  - anneal: air\n", "measure: step", "add of: with the material of the film"),
    ("  - anneal: air\n", "  - measure: thickness\n    of: titanum\n  - anneal: air\n", "of: titanum", 'did you mean "titanium"?'),
    ("  - anneal: air\n", "  - measure: line width\n    of: gat\n  - anneal: air\n", "of: gat", 'did you mean "gate"?'),
    ("  - anneal: air\n    temperature", "  - anneal: air\n    deposit: gold\n    temperature", "deposit: gold", 'begin a new step with "- deposit: …"'),
]  # fmt: skip


@pytest.mark.analytic
@pytest.mark.parametrize(("old", "new", "at", "word"), WRONG)
def test_what_is_wrong_is_told_at_its_line(old: str, new: str, at: str, word: str):
    assert old in PLAN
    text = PLAN.replace(old, new, 1)
    lines = text.splitlines()
    told = [each for each in refused(text) if word in str(each)]
    assert told, [str(each) for each in refused(text)]
    assert any(at in lines[(each.line or 0) - 1] for each in told), [str(each) for each in told]
    for each in told:
        assert each.what
        assert each.expected
        assert each.got
        assert each.why
        assert each.remedy


@pytest.mark.property
def test_cut_off_at_every_line_and_in_the_middle_of_it():
    text = (
        resources.files("filmwright.desk").joinpath("examples", "delay-line", "plan.yaml").read_text("utf-8")
    )
    lines = text.splitlines(keepends=True)
    for count in range(len(lines)):
        for rest in ("", lines[count][: len(lines[count]) // 2]):
            try:
                flow_from_text("".join(lines[:count]) + rest or " ", "plan.yaml", NO_LAB)
            except BadInput as bad:
                assert all(each.file == "plan.yaml" and each.line for each in bad.problems)


@pytest.mark.property
@settings(max_examples=80, deadline=None)
@given(st.text(max_size=60))
@example("a: &a [*a]")
@example("a: &a {b: *a}")
@example("? [x]\n: y")
@example("!!python/object:os.system x")
@example("--- 1\n--- 2")
@example("[" * 400)
@example("steps:\n\t- x")
@example("\x00")
@example("a: \ud800".encode("utf-8", "replace").decode())
def test_any_text_is_read_or_refused(text: str):
    for read in (lambda: flow_from_text(text, "plan.yaml", NO_LAB), lambda: lab_from_text(text, "lab.yaml")):
        with pytest.raises(BadInput) as bad:
            read()
        assert bad.value.problems


@pytest.mark.analytic
def test_references_that_multiply_are_read_in_no_time():
    """Ten references to ten references …: ten billion leaves when written out."""
    bomb = "a0: &a0 [x]\n" + "".join(
        f"a{k}: &a{k} [{', '.join([f'*a{k - 1}'] * 10)}]\n" for k in range(1, 11)
    )
    assert any("did you mean" in str(each) or "known key" in str(each) for each in refused(bomb))


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("content", "word"),
    [
        (b"", "empty"),
        (b" \n\n", "empty"),
        (b"# nothing but a remark\n", "only comments"),
        (b"\x89PNG\r\n\x1a\n\xff\xfe", "not UTF-8"),
        (b"[1, 2]", "a list"),
        (b"just words", '"just words"'),
        (b"flow: x\nsteps:\n  - clean: [so", "YAML"),
    ],
)
def test_a_file_that_is_none_is_refused(tmp_path: Path, content: bytes, word: str):
    file = tmp_path / "plan.yaml"
    file.write_bytes(content)
    for read in (lambda: read_flow(file, NO_LAB), lambda: read_lab(file)):
        with pytest.raises(BadInput) as bad:
            read()
        assert any(word in each.got + each.expected for each in bad.value.problems)
        assert all(each.file == str(file) and each.line for each in bad.value.problems)


@pytest.mark.analytic
def test_no_file_and_a_folder_are_told_apart(tmp_path: Path):
    for path, got in ((tmp_path / "none.yaml", "no file"), (tmp_path, "a folder")):
        with pytest.raises(BadInput) as bad:
            read_flow(path, NO_LAB)
        assert bad.value.problems[0].got == got


@pytest.mark.analytic
def test_a_byte_order_mark_does_no_harm(tmp_path: Path):
    file = tmp_path / "plan.yaml"
    file.write_bytes(b"\xef\xbb\xbf" + PLAN.encode())
    assert read_flow(file, NO_LAB).title == "two levels"


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("lab: x\ntools: [a, b]\n", "the tools"),
        ("lab: x\nlimits: 5\n", "the limits"),
        ("lab: x\nwaits: {after: prime}\n", "the waits"),
        ("lab: x\ncalibrations: none\n", "the calibrations"),
        ("lab: x\ntools: {oven: bake}\n", 'the tool "oven"'),
        ("lab: x\ntools: {oven: {}}\n", "does"),
    ],
)
def test_a_lab_file_of_the_wrong_shape_is_not_passed_over(text: str, word: str):
    with pytest.raises(BadInput) as bad:
        lab_from_text(text, "lab.yaml")
    assert any(word in each.what for each in bad.value.problems)
