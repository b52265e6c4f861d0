"""Tools by words: all of them, one with its numbers, and lines into the logbook."""

import json

import pytest

pytestmark = pytest.mark.whole

LAB = """\
lab: Test bay
invented: yes
tools:
  evaporator: {does: [electron-beam evaporation]}
calibrations:
  - {tool: evaporator, material: titanium, deposition rate: 0.10 nm/s ± 2 %, date: 2026-01-05, by: AB, evidence: stylus}
baths:
  titanium etch: {medium: dilute hydrofluoric acid, tool: evaporator, made: 2026-01-02}
"""


@pytest.fixture
def lab(tmp_path):
    path = tmp_path / "own.yaml"
    path.write_text(LAB, "utf-8")
    return str(path)


def test_a_line_is_written_and_told_again(filmwright, lab):
    said = filmwright(
        "tools",
        "evaporator",
        "--state",
        "limited: shutter sticks",
        "--check",
        "base pressure = 4e-5 Pa",
        "--who",
        "AB",
        "--lab",
        lab,
    )
    assert said.code == 0
    assert "Kept: evaporator is limited" in said.out
    assert "0.1 nm/s" in said.out
    told = json.loads(filmwright("tools", "evaporator", "--lab", lab, "--json").out)["tools"][0]
    assert (told["state"], told["why"]) == ("limited", "shutter sticks")
    assert told["checks"][0]["readings"][0]["value"] == pytest.approx(4e-5)
    assert "shutter sticks" in filmwright("tools", "--lab", lab).out


def test_a_point_of_the_month_and_a_bath(filmwright, lab):
    said = filmwright(
        "tools",
        "evaporator",
        "--qualify",
        "deposition rate = 0.101 nm/s +- 2 %",
        "--of",
        "titanium",
        "--sure",
        "--who",
        "AB",
        "--lab",
        lab,
    )
    assert said.code == 0, said.err
    assert filmwright("tools", "--bath", "titanium etch: used 4", "--who", "AB", "--lab", lab).code == 0
    told = json.loads(filmwright("tools", "evaporator", "--lab", lab, "--json").out)["tools"][0]
    assert told["numbers"][0]["readings"] == 2
    assert told["baths"][0]["wafers"] == 4


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--check", "base pressure = 4e-5 Pa", "--who", "AB"], "its name"),
        (["evaporator", "--check", "4e-5 Pa", "--who", "AB"], "a name, ="),
        (["evaporator", "--state", "up"], "name or initials"),
        (
            [
                "evaporator",
                "--qualify",
                "deposition rate = 0.9 nm/s +- 2 %",
                "--of",
                "titanium",
                "--who",
                "AB",
            ],
            "--sure",
        ),
        (["evaporater"], "evaporator"),
    ],
)
def test_what_cannot_be_kept_is_refused_in_words(filmwright, lab, words, said):
    filmwright("tools", "evaporator", "--state", "up", "--who", "AB", "--lab", lab)
    answer = filmwright("tools", *words, "--lab", lab)
    assert answer.code == 2
    assert said in answer.err + answer.out


def test_a_version_of_a_recipe_is_kept_with_what_is_set(filmwright, lab):
    common = ("tools", "evaporator", "--who", "AB", "--lab", lab)
    said = filmwright(*common, "--recipe-version", "slow titanium: power 80 W, was 75 W")
    assert said.code == 0
    assert "a new version of slow titanium" in said.out
    told = filmwright("tools", "evaporator", "--lab", lab)
    assert "power 80 W, was 75 W" in told.out
    assert filmwright(*common, "--recipe-version", "slow titanium").code == 2
