"""A wafer of a lot is drawn from what was really done to it."""

import json

import pytest

pytestmark = pytest.mark.whole


def test_a_wafer_is_drawn_after_a_step_and_says_what_its_films_lost(filmwright, tmp_path):
    filmwright("new", "run", "--example", "platinum-thermometer")
    lot = json.loads(filmwright("run", "run/plan.yaml", "--record", "r.sqlite", "--json").out)["lot"]
    record = ("--record", "r.sqlite")
    filmwright("log", lot, "04A", "--set", "time=1125 s", "--measured", "thickness=96 nm", *record)
    said = filmwright("draw", "--lot", lot, "--at", "04A", "--into", "seen", *record, "--json")
    assert said.code == 0, said.err
    fields = json.loads(said.out)
    (picture,) = fields["written"]
    assert picture.startswith(f"seen/{lot}-W1-")
    assert any(line.startswith("platinum: 96 nm") for line in fields["said"])
    every = json.loads(filmwright("draw", "--lot", lot, "--into", "all", *record, "--json").out)
    assert len(every["written"]) > 1
    before = json.loads(
        filmwright("draw", "--lot", lot, "--at", "01A", "--into", "first", *record, "--json").out
    )
    assert "not written down" in before["said"][0]


def test_what_is_no_moment_and_what_is_neither_plan_nor_lot_is_refused(filmwright):
    filmwright("new", "run", "--example", "platinum-thermometer")
    lot = json.loads(filmwright("run", "run/plan.yaml", "--record", "r.sqlite", "--json").out)["lot"]
    wrong = filmwright("draw", "--lot", lot, "--at", "soon", "--record", "r.sqlite")
    assert wrong.code == 2
    assert "a step that was done" in " ".join(wrong.err.split())
    for words in (("draw",), ("draw", "run/plan.yaml", "--lot", lot)):
        said = filmwright(*words)
        assert said.code == 2
        assert "leave one" in said.err or "name the plan" in " ".join(said.err.split())
