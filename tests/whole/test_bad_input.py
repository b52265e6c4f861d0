"""Bad input ends with file and line, what was expected, what came and what to do; never with a traceback, never half-written."""

import json
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

SPOILED = [
    ("thickness: 90 nm ± 4 %", "thickness: 90 mTorr", "length"),
    ("- deposit: platinum", "- deposit: platinium", "platinum"),
    ("    thickness: 90 nm ± 4 %", "    thicknes: 90 nm ± 4 %", "thickness"),
    ("top:     {layer: 3/0, drawn: clear}", "top:     {layer: 9/0, drawn: clear}", "9/0"),
    ("{through: C1}", "{from: [1 mm, 1 mm], to: [90 mm, 1 mm]}", "90000"),
    ("    name: top lift-off", "    name: meander lift-off", "meander lift-off"),
    ("    with: boron trichloride plasma", "    in: wet", "wet"),
    ("    with: boron trichloride plasma\n", "", "in: a bath, or with: a plasma"),
    ("thickness: 6 nm ± 10 %", "thickness: 6,5 nm", "point"),
    ("- pattern: top", "- pattern: topp", "top"),
]


Run = Callable[..., Any]


@pytest.fixture
def run(filmwright: Run, monkeypatch: pytest.MonkeyPatch) -> Run:
    """A command typed in a folder; what it does not catch fails the test."""

    def typed(folder: Path, *words: str) -> Any:
        monkeypatch.chdir(folder)
        return filmwright(*words)

    return typed


def refused(done: Any) -> str:
    """What was said, after checking that it was said well."""
    assert done.code == 2, done.out + done.err
    return said_well(done.err, done.out)


def said_well(err: str, out: str) -> str:
    """The words of a refusal: what was expected, what came, what to do, and no traceback."""
    assert "Traceback" not in err + out
    assert " must be " in err
    assert "got " in err
    assert "; " in err
    return err


@pytest.mark.whole
def test_the_real_command_refuses_in_the_same_words(run: Run, thermometer: Path):
    plan = thermometer / "plan.yaml"
    plan.write_text(
        plan.read_text("utf-8").replace("thickness: 6 nm ± 10 %", "thickness: 6,5 nm", 1), "utf-8"
    )
    command = [sys.executable, "-c", "from filmwright.cli import main; main()", "review", "plan.yaml"]
    done = subprocess.run(command, cwd=thermometer, capture_output=True, text=True, timeout=600, check=False)
    assert done.returncode == 2
    said = said_well(done.stderr, done.stdout)
    assert said.split() == refused(run(thermometer, "review", "plan.yaml")).split()


@pytest.mark.whole
@pytest.mark.parametrize(("old", "new", "word"), SPOILED)
def test_a_spoiled_plan_is_refused_at_its_line(run: Run, thermometer: Path, old: str, new: str, word: str):
    plan = thermometer / "plan.yaml"
    text = plan.read_text("utf-8")
    assert old in text
    plan.write_text(text.replace(old, new, 1), "utf-8")
    said = refused(run(thermometer, "review", "plan.yaml"))
    assert "plan.yaml:" in said
    assert word in said


@pytest.mark.whole
def test_all_problems_come_at_once_and_as_fields(run: Run, thermometer: Path):
    plan = thermometer / "plan.yaml"
    text = (
        plan.read_text("utf-8")
        .replace("- deposit: platinum", "- deposit: unobtainium")
        .replace("350 degC", "350 nm")
    )
    plan.write_text(text, "utf-8")
    done = run(thermometer, "review", "plan.yaml", "--json")
    assert done.code == 2
    problems = json.loads(done.out)["problems"]
    assert len(problems) == 2
    assert {"what", "expected", "got", "why", "remedy", "file", "line"} <= set(problems[0])


@pytest.mark.whole
@pytest.mark.parametrize(
    "content",
    [b"", b"\x00\x01\xff\xfe" * 50, b"# only a comment\n", b"flow: x\nsteps:\n  - clean: [so", b"[1, 2]"],
)
def test_a_file_that_is_no_plan_is_refused(run: Run, tmp_path: Path, content: bytes):
    (tmp_path / "plan.yaml").write_bytes(content)
    refused(run(tmp_path, "review", "plan.yaml"))
    refused(run(tmp_path, "sheet", "plan.yaml", "--into", "sheet.pdf"))
    assert [each.name for each in tmp_path.iterdir()] == ["plan.yaml"]


@pytest.mark.whole
@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"VG,VD\n0,1\n1,1\n",
        b"VG,VD,ID\n0,0.1,1e-9\n",
        b"VG,VD,ID\n0,0.1,nan\n1,0.1,nan\n2,0.1,nan\n",
        bytes(range(256)) * 9,
    ],
)
def test_a_table_without_a_curve_is_refused(run: Run, tmp_path: Path, content: bytes):
    (tmp_path / "T01.csv").write_bytes(content)
    assert "T01.csv" in refused(run(tmp_path, "extract", "T01.csv"))


@pytest.mark.whole
def test_a_locked_record_is_refused_and_nothing_is_lost(run: Run, thermometer: Path):
    started = run(thermometer, "run", "plan.yaml", "--json")
    lot = json.loads(started.out)["lot"]
    holder = sqlite3.connect(thermometer / "record.sqlite")
    holder.execute("BEGIN IMMEDIATE")
    try:
        refused(run(thermometer, "log", lot, "01A", "--note", "while somebody else writes"))
    finally:
        holder.rollback()
        holder.close()
    written = run(thermometer, "log", lot, "01A", "--note", "afterwards", "--json")
    assert len(json.loads(written.out)["events"]) == 1


@pytest.mark.whole
@pytest.mark.parametrize("entry", ["time=-600 s", "time=0 s", "cycles=-5"])
def test_a_reading_that_cannot_be_is_not_written_down(run: Run, thermometer: Path, entry: str):
    lot = json.loads(run(thermometer, "run", "plan.yaml", "--json").out)["lot"]
    assert "more than zero" in refused(run(thermometer, "log", lot, "03A", "--set", entry))
    assert json.loads(run(thermometer, "log", lot, "--json").out)["events"] == []


@pytest.mark.whole
def test_the_drawing_is_checked_even_when_the_text_is_wrong(run: Run, thermometer: Path):
    plan = thermometer / "plan.yaml"
    text = (
        plan.read_text("utf-8")
        .replace("layer: 3/0", "layer: 9/0")
        .replace("- deposit: platinum", "- deposit: platinium")
    )
    plan.write_text(text, "utf-8")
    said = refused(run(thermometer, "review", "plan.yaml"))
    assert "9/0" in said
    assert "platinum" in said


@pytest.mark.whole
def test_what_is_accepted_must_be_a_rule(run: Run, thermometer: Path):
    plan = thermometer / "plan.yaml"
    text = plan.read_text("utf-8")
    plan.write_text(
        text.replace(
            "    temperature: 200 degC\n", "    temperature: 200 degC\n    accept: {gate feeld: known}\n", 1
        ),
        "utf-8",
    )
    assert 'did you mean "gate field"?' in refused(run(thermometer, "review", "plan.yaml"))


@pytest.mark.whole
def test_a_table_of_a_device_that_is_not_drawn_is_refused(run: Run, thermometer: Path):
    lot = json.loads(run(thermometer, "run", "plan.yaml", "--json").out)["lot"]
    (thermometer / "c.csv").write_text("VG,VD,ID\n0,0.1,1e-9\n1,0.1,2e-9\n")
    assert "named on the lot's drawing" in refused(
        run(thermometer, "log", lot, "--curves", "c.csv", "--device", "T99")
    )
