"""The verb that predicts curves: for people, for spreadsheets, for programs."""

import csv
import io
from pathlib import Path

import numpy as np
import pytest


@pytest.fixture
def switch(filmwright, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    assert filmwright("new", "my-run").code == 0
    return tmp_path / "my-run"


@pytest.mark.whole
def test_predicted_curves_with_parameters_bands_and_what_they_rest_on(filmwright, switch: Path):
    fields = filmwright("predict", "my-run/plan.yaml", "--device", "T07", "--json").fields
    assert (fields["device"], fields["which"], fields["model"]) == ("T07", "as planned", "states of the film")
    found = fields["parameters"]
    # A sound transistor: thermal limit of 58 mV a decade at 20 °C, a threshold within two volts of zero.
    assert 0.058 < found["subthreshold_swing"]["value"] < 0.4
    assert -1 < found["threshold_voltage"]["value"] < 2.5
    for each in found.values():
        assert each["low"] < each["value"] < each["high"]
        assert sum(one["share"] for one in each["from"]) <= 1.001
    transfer = fields["transfer"]
    assert np.shape(transfer["drain_current"]) == (2, 201)
    assert np.shape(fields["output"]["drain_current"]) == (5, 101)
    assert len(fields["capacitance"]["capacitance"]) == 201
    assert {"tail states", "specific contact resistance"} <= set(fields["rests_on"])
    assert all(each["source"] for each in fields["rests_on"].values())
    # Off, the drain carries less than it does on by six decades; the gate less than the drain.
    currents = np.array(transfer["drain_current"])
    assert np.all(currents[:, -1] > 1e6 * currents[:, 0])
    assert np.all(np.abs(transfer["gate_current"]) < currents[:, -1:])


@pytest.mark.whole
def test_a_table_for_spreadsheets_and_words_for_people(filmwright, switch: Path):
    said = filmwright("predict", "my-run/plan.yaml", "--device", "T07", "--csv").out
    assert said.startswith("# predicted, not measured: T07")
    rows = list(csv.DictReader(io.StringIO(said.split("\n", 1)[1])))
    assert [sum(row["curve"] == name for row in rows) for name in ("transfer", "output", "capacitance")] == [
        402,
        505,
        201,
    ]
    told = " ".join(filmwright("predict", "my-run/plan.yaml", "--temperature", "60 degC").out.split())
    assert "60 °C" in told
    assert "nothing was measured" in told
    assert "threshold voltage" in told


@pytest.mark.whole
def test_a_wafer_as_run_is_predicted_with_what_was_measured_on_it(filmwright, switch: Path):
    lot = filmwright("run", "my-run/plan.yaml", "--json").fields["lot"]
    early = filmwright("predict", "my-run/plan.yaml", "--lot", lot)
    assert early.code == 2
    assert "as run" in early.err
    assert filmwright("log", lot, "07A", "--measured", "thickness=20 nm").code == 0
    assert filmwright("log", lot, "22A", "--mark", "start").code == 0
    planned = filmwright("predict", "my-run/plan.yaml", "--device", "T07", "--json").fields
    lived = filmwright("predict", "my-run/plan.yaml", "--device", "T07", "--lot", lot, "--json").fields
    assert lived["which"].startswith("as run on wafer")
    # Half the insulator of 40 nm: twice the capacitance.
    ratio = lived["areal_capacitance"]["value"] / planned["areal_capacitance"]["value"]
    assert ratio == pytest.approx(2.0, rel=0.02)
    assert lived["parameters"]["on_current"]["value"] > 1.5 * planned["parameters"]["on_current"]["value"]
    assert filmwright("predict", "my-run/plan.yaml", "--lot", lot, "--wafer", "W9").code == 2


@pytest.mark.whole
def test_what_cannot_be_predicted_says_why(filmwright, switch: Path):
    wrong = filmwright("predict", "my-run/plan.yaml", "--device", "T99")
    assert wrong.code == 2
    assert "did you mean" in wrong.err
    assert filmwright("predict", "my-run/plan.yaml", "--temperature", "hot").code == 2
    assert filmwright("predict", "my-run/plan.yaml", "--temperature", "900 degC").code == 2
    assert filmwright("new", "line", "--example", "delay-line").code == 0
    none = filmwright("predict", "line/plan.yaml")
    assert none.code == 2
    assert "holds none" in none.err


@pytest.mark.whole
def test_a_transistor_is_solved_on_its_own_section_when_asked(filmwright, switch: Path, monkeypatch):
    monkeypatch.setattr("filmwright.desk.predicting._POINTS", 5)
    monkeypatch.setattr("filmwright.emulate.section_currents._COLUMNS", 160)
    section = filmwright("predict", "my-run/plan.yaml", "--device", "T07", "--section", "--json").fields[
        "section"
    ]
    assert section["contact"] == "titanium"
    assert section["length"]["value"] == pytest.approx(4.75, rel=0.01)
    current, even = np.array(section["drain_current"]), np.array(section["drain_current_of_even_film"])
    assert current.shape == (2, 5)
    np.testing.assert_allclose(current[:, 1:], even[:, 1:], rtol=0.2)
