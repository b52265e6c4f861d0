"""Verbs on a plan, typed as a person types them: new, review, settings, draw, sheet."""

import json
import shutil
import subprocess
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest

from filmwright.sources import KINDS

FINDING = {"rule", "severity", "step", "line", "what", "expected", "got", "why", "remedy", "source"}
SETTING = {"name", "value", "unit", "spread", "source", "kind", "evidence"}
EXAMPLES = ("humidity-switch", "delay-line", "platinum-thermometer")


def listing(folder: Path) -> dict[str, bytes]:
    """Every file below a folder with its content."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.mark.whole
@pytest.mark.parametrize("example", EXAMPLES)
def test_new_writes_a_folder_that_review_takes_as_it_is(filmwright, example: str):
    said = filmwright("new", "my-run", "--example", example, "--json")
    assert said.code == 0
    assert {Path(path).name for path in said.fields["written"]} == {
        "plan.yaml",
        "lab.yaml",
        f"{example}.oas",
        "plan.schema.json",
        "lab.schema.json",
    }
    assert all(Path(path).is_file() for path in said.fields["written"])
    assert json.loads(Path("my-run/plan.schema.json").read_text("utf-8"))["title"] == "filmwright plan"
    assert filmwright("review", "my-run/plan.yaml").code == 0


@pytest.mark.whole
@pytest.mark.parametrize(
    "taken", ["plan.yaml", "lab.yaml", "humidity-switch.oas", "plan.schema.json", "lab.schema.json"]
)
def test_new_overwrites_nothing(filmwright, tmp_path: Path, taken: str):
    (tmp_path / "my-run").mkdir()
    (tmp_path / "my-run" / taken).write_text("mine", "utf-8")
    before = listing(tmp_path)
    said = filmwright("new", "my-run")
    assert said.code == 2
    assert taken in said.err
    assert listing(tmp_path) == before


@pytest.mark.whole
def test_new_offers_the_nearest_example(filmwright, tmp_path: Path):
    said = filmwright("new", "my-run", "--example", "humidty-switch")
    assert said.code == 2
    assert 'did you mean "humidity-switch"?' in said.err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.whole
def test_review_has_the_promised_fields(filmwright, switch: Path):
    said = filmwright("review", "my-run/plan.yaml", "--json")
    assert said.code == 0
    assert said.err == ""
    assert set(said.fields) == {"flow", "findings", "counts"}
    assert said.fields["flow"] == "my-run/plan.yaml"
    lines = (switch / "plan.yaml").read_text("utf-8").splitlines()
    for finding in said.fields["findings"]:
        assert set(finding) >= FINDING
        assert finding["severity"] in {"stop", "warn", "note"}
        assert all(finding[name] for name in FINDING - {"line", "step"})
        assert 1 <= finding["line"] <= len(lines)
    counts = said.fields["counts"]
    assert set(counts) == {"stop", "warn", "note"}
    assert sum(counts.values()) == len(said.fields["findings"])


@pytest.mark.whole
def test_review_lists_what_each_film_lost(filmwright, switch: Path):
    said = filmwright("review", "my-run/plan.yaml", "--losses", "--json").fields
    rows = said["losses"]
    assert {"film", "material", "place", "step", "kind", "title", "line"} <= set(rows[0])
    assert all(row["most_nm"] >= row["typical_nm"] >= 0 for row in rows)
    shown = filmwright("review", "my-run/plan.yaml", "--losses").out
    assert "under resist" in shown
    assert "together" in shown
    # 60 nm of titanium with 25 % over-etch: 45 nm sideways at the foot.
    assert any(
        row["place"] == "under resist" and row["typical_nm"] == pytest.approx(45, abs=0.1) for row in rows
    )


@pytest.mark.whole
def test_review_adds_up_the_heat(filmwright, switch: Path):
    heat = filmwright("review", "my-run/plan.yaml", "--heat", "--json").fields["heat"]
    # The anneal of an hour at 250 °C is the hottest, and four bakes of a minute count
    assert max(row["peak_degC"] for row in heat["steps"]) == pytest.approx(250)
    assert sum(row["kind"] == "bake" for row in heat["steps"]) == 4
    assert all(row["at_limit_min"] < 60 for row in heat["films"] if row["at_limit_min"] is not None)
    shown = filmwright("review", "my-run/plan.yaml", "--heat").out
    assert "Heat of the films" in shown
    assert "as long at it" in shown


@pytest.mark.whole
def test_review_shows_the_lines_to_change_and_writes_nothing(filmwright, switch: Path):
    plan = switch / "plan.yaml"
    text = plan.read_text("utf-8").replace("    until: end point + 25 %\n", "    time: 20 s  # enough\n", 1)
    plan.write_text(text, "utf-8")
    said = filmwright("review", plan, "--suggest", "--json")
    assert said.code == 1
    suggestion = said.fields["suggestion"]
    assert "-    time: 20 s  # enough\n+    until: end point + 25 %  # enough\n" in suggestion["difference"]
    assert suggestion["counts"]["stop"] == 0
    assert [each["rule"] for each in suggestion["followed"]] == ["film not cleared"]
    shown = filmwright("review", plan, "--suggest").out
    assert "+    until: end point + 25 %" in shown
    assert "Reviewed again with it: 0 stop" in shown
    assert plan.read_text("utf-8") == text


@pytest.mark.whole
def test_an_inverted_tone_ends_with_1_and_names_the_devices_that_are_gone(filmwright, switch: Path):
    plan = switch / "plan.yaml"
    plan.write_text(
        plan.read_text("utf-8").replace(
            "channel: {layer: 2/0, drawn: opaque}", "channel: {layer: 2/0, drawn: clear}"
        ),
        "utf-8",
    )
    fields = filmwright("review", plan, "--json")
    assert fields.code == 1
    stops = [each for each in fields.fields["findings"] if each["severity"] == "stop"]
    assert any("transistors" in told for each in stops for told in (each["what"], *each["follows"]))
    shown = filmwright("review", plan)
    assert shown.code == 1
    assert "stop" in shown.out
    assert "never a permission" in " ".join(shown.out.split())


@pytest.mark.whole
def test_a_finding_is_said_alike_on_screen_and_in_fields(filmwright, switch: Path):
    plan = switch / "plan.yaml"
    plan.write_text(plan.read_text("utf-8").replace("probe voltage: 6 V", "probe voltage: 40 V"), "utf-8")
    stop = filmwright("review", plan, "--json").fields["findings"][0]
    shown = " ".join(filmwright("review", plan).out.split())
    for name in ("what", "expected", "got", "why", "remedy", "source"):
        assert " ".join(stop[name].split()) in shown
    assert f"plan.yaml:{stop['line']}" in shown


@pytest.mark.whole
@pytest.mark.parametrize("example", EXAMPLES)
def test_settings_have_the_promised_fields(filmwright, shipped: Path, example: str):
    said = filmwright("settings", shipped / example / "plan.yaml", "--json")
    assert said.code == 0
    steps = said.fields["steps"]
    assert len(steps) > 20
    for step in steps:
        assert {"number", "line", "name", "tool", "settings", "duration_s", "cautions"} <= set(step)
        assert step["duration_s"] >= 0
        for setting in step["settings"]:
            assert set(setting) >= SETTING
            assert setting["kind"] in KINDS
            assert setting["source"]
            assert setting["evidence"]
            assert (setting["value"] is None) == bool(setting["text"])
            assert setting["value"] is None or setting["unit"] is not None
    wet = [step for step in steps if step["settings"] and step["name"].startswith("Etch")]
    assert wet
    assert all(step["cautions"] for step in wet)


@pytest.mark.whole
def test_settings_that_rest_on_the_lab_carry_its_date(filmwright, switch: Path):
    step = filmwright("settings", "my-run/plan.yaml", "--step", "02A", "--json").fields["steps"][0]
    time = next(each for each in step["settings"] if each["name"] == "time")
    # 60 nm at 0.10 nm/s, both from the example's own files; the lab is an invented one.
    assert time["value"] == pytest.approx(600)
    assert time["unit"] == "s"
    date = next(
        line
        for line in (switch / "lab.yaml").read_text("utf-8").splitlines()
        if "material: titanium, deposition" in line
    )
    assert date.split("date: ")[1][:10] in time["evidence"]


@pytest.mark.whole
def test_a_step_is_found_by_number_and_by_code_and_a_wrong_one_is_refused(filmwright, switch: Path):
    by_code = filmwright("settings", "my-run/plan.yaml", "--step", "04A", "--json").fields["steps"]
    by_number = filmwright("settings", "my-run/plan.yaml", "--step", "4.1", "--json").fields["steps"]
    assert by_code == by_number
    assert len(by_code) == 1
    said = filmwright("settings", "my-run/plan.yaml", "--step", "99Z")
    assert said.code == 2
    assert '"99Z"' in said.err


@pytest.mark.whole
def test_draw_writes_a_section_per_step_and_one_page(filmwright, thermometer: Path, tmp_path: Path):
    steps = filmwright("settings", "my-run/plan.yaml", "--json").fields["steps"]
    said = filmwright("draw", "my-run/plan.yaml", "--into", "pictures", "--json")
    assert said.code == 0
    sections = sorted((tmp_path / "pictures" / "sections").glob("*.svg"))
    assert len(sections) >= len(steps)
    for path in sections:
        assert ElementTree.parse(path).getroot().tag.endswith("svg")
    page = Path(said.fields["open"])
    assert page.name == "steps.html"
    text = page.read_text("utf-8")
    assert "invented" in text
    assert 'src="http' not in text
    assert 'href="http' not in text


@pytest.mark.whole
def test_draw_refuses_a_cut_that_the_plan_has_not(filmwright, thermometer: Path, tmp_path: Path):
    before = listing(tmp_path)
    said = filmwright("draw", "my-run/plan.yaml", "--cut", "across the moon")
    assert said.code == 2
    assert "across the moon" in said.err
    assert listing(tmp_path) == before


@pytest.mark.whole
def test_the_sheet_names_lot_wafers_codes_and_cautions(filmwright, thermometer: Path):
    steps = filmwright("settings", "my-run/plan.yaml", "--json").fields["steps"]
    said = filmwright(
        "sheet", "my-run/plan.yaml", "--lot", "K7M3", "--wafers", "3", "--into", "sheet.pdf", "--json"
    )
    assert said.code == 0
    pdf = Path(said.fields["open"])
    assert pdf.read_bytes().startswith(b"%PDF")
    if shutil.which("pdftotext") is None:
        pytest.skip("pdftotext (poppler-utils) is not installed")
    text = subprocess.run(
        ["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True
    ).stdout
    pages = text.split("\f")[:-1]
    assert all("K7M3" in page for page in pages)
    assert "W3" in text
    assert "W4" not in text
    for step in steps:
        assert step["code"] in text
    assert "invented" in text.lower()
    words = " ".join(text.split())
    assert any(caution.split(".")[0][:30] in words for step in steps for caution in step["cautions"])
