"""The verb lab check: what a lab file lacks, its exit codes, fields and schema."""

import json

import pytest


def changed(folder, old, new):
    """The lab file with one thing replaced."""
    lab = folder / "lab.yaml"
    text = lab.read_text("utf-8")
    assert old in text, old
    lab.write_text(text.replace(old, new, 1), "utf-8")


@pytest.mark.whole
def test_the_example_is_told_with_every_number_and_lacks_nothing_grave(filmwright, switch):
    said = filmwright("lab", "check", str(switch / "lab.yaml"))
    assert said.code == 0, said.err
    text = " ".join(said.out.split())
    assert "an invented example" in text
    assert "deposition rate of titanium on evaporator 0.1 nm/s ±" in text
    assert "0 stop, 0 warn" in text
    assert "never a permission" in text


@pytest.mark.whole
def test_the_example_has_what_its_own_plan_needs(filmwright, switch):
    words = ("lab", "check", str(switch / "lab.yaml"), "--plan", str(switch / "plan.yaml"), "--json")
    found = filmwright(*words).fields
    assert found["counts"]["warn"] == 0
    assert not [each for each in found["findings"] if each["rule"] == "step without a number"]
    lines = (switch / "lab.yaml").read_text("utf-8").splitlines()
    changed(switch, next(line for line in lines if "0.20 nm/s" in line) + "\n", "")
    found = filmwright(*words).fields
    (missing,) = [each for each in found["findings"] if each["rule"] == "step without a number"]
    assert "Deposit gold" in missing["what"]
    assert missing["line"]


@pytest.mark.whole
def test_fields_carry_every_number_with_its_band_age_and_alternatives(filmwright, switch):
    found = filmwright("lab", "check", str(switch / "lab.yaml"), "--json").fields
    offset = [each for each in found["numbers"] if each["of"] == "hot-plate offset"]
    assert len(offset) == 3
    two = next(each for each in offset if len(each["lines"]) == 2)
    assert two["believed"]["value"] == -5.5
    assert any(
        "set aside, the thermocouple had come loose" in each for each in two["believed"]["alternatives"]
    )
    assert two["believed"]["unit"] == "kelvin"
    assert two["believed"]["age"]["unit"] == "day"
    assert found["on"]


@pytest.mark.whole
def test_findings_stand_at_lines_of_the_lab_file(filmwright, switch):
    changed(switch, "  stylus:\n", "  furnace:\n    does: [anneal]\n    refuses: [goldd]\n  stylus:\n")
    said = filmwright("lab", "check", str(switch / "lab.yaml"))
    assert said.code == 1, "a tool that is open to all, against its own rule, is a stop"
    at = 1 + (switch / "lab.yaml").read_text("utf-8").splitlines().index("  furnace:")
    assert f"lab.yaml:{at}" in said.out
    assert "goldd" in said.out


@pytest.mark.whole
@pytest.mark.parametrize(
    ("old", "new", "word"),
    [
        ("metals: [none, clean metals]", "metal: [none, clean metals]", 'did you mean "metals"?'),
        ("metals: [none, clean metals]", "metals: [none, clean metal]", 'did you mean "clean metals"?'),
        ("      piezo oxide: {", "      channel oxide: {", "written once"),
        ("plate: 120 degC", "plate: 90 degC", "given once for each temperature"),
    ],
)
def test_what_cannot_be_read_ends_with_2_and_its_line(filmwright, switch, old, new, word):
    changed(switch, old, new)
    said = filmwright("lab", "check", str(switch / "lab.yaml"))
    assert said.code == 2
    assert "lab.yaml:" in said.err
    assert word in said.err
    fields = filmwright("lab", "check", str(switch / "lab.yaml"), "--json").fields
    assert fields["problems"][0]["line"]


@pytest.mark.whole
def test_no_file_is_told(filmwright, tmp_path):
    said = filmwright("lab", "check", str(tmp_path / "lab.yaml"))
    assert said.code == 2
    assert "a lab file must be a readable file" in said.err


@pytest.mark.whole
def test_the_schema_takes_the_example_and_new_writes_it(filmwright, switch, tmp_path):
    into = tmp_path / "schema.json"
    said = filmwright("lab", "check", str(switch / "lab.yaml"), "--schema", str(into))
    assert said.code == 0
    schema = json.loads(into.read_text("utf-8"))
    assert schema == json.loads((switch / "lab.schema.json").read_text("utf-8"))
    first = (switch / "lab.yaml").read_text("utf-8").splitlines()[0]
    assert first == "# yaml-language-server: $schema=lab.schema.json"
    tool = schema["properties"]["tools"]["additionalProperties"]
    assert {"does", "admits", "leaves", "recipes", "maintenance", "open"} <= set(tool["properties"])
    assert tool["required"] == ["does"]
    assert schema["additionalProperties"] is False
