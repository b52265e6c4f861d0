"""The verb fit: families of a file, in words, fields and tables; what cannot be fitted says why."""

from __future__ import annotations

import csv
import io
import json

import numpy as np
import pytest

from filmwright.device import TransistorDesign, drain_current

DESIGN = TransistorDesign(
    width=100e-6,
    length=10e-6,
    areal_capacitance=62e-5,
    mobility=1e-3,
    threshold_voltage=1.2,
    ideality=3.0,
    contact_resistance=0.05,
    off_current=1e-12,
)
SIZES = ("--width", "100 um", "--length", "10 um", "--capacitance", "62 nF/cm^2")


@pytest.fixture
def table(tmp_path):
    """Transfer curves at three drain voltages with 0.5 % of noise."""
    rng = np.random.default_rng(4)
    gate = np.linspace(-3.0, 10.0, 66)
    lines = ["VG (V),VD (V),ID (A),IG (A)"]
    for drain in (0.1, 3.0, 10.0):
        current = drain_current(DESIGN, gate, np.full(66, drain))
        noisy = current * (1 + 0.005 * rng.normal(size=66)) + 1e-13 * rng.normal(size=66)
        lines += [f"{g:.6g},{drain},{i:.9g},1e-14" for g, i in zip(gate, noisy, strict=True)]
    path = tmp_path / "T07.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return path


@pytest.mark.whole
def test_the_parameters_of_a_family_are_told_with_intervals_that_hold_them(filmwright, table):
    said = filmwright("fit", str(table), *SIZES, "--json")
    assert said.code == 0
    (family,) = json.loads(said.out)["families"]
    assert len(family["curves"]) == 3
    truth = {"threshold_voltage": 1.2, "mobility": 10.0, "ideality": 3.0, "contact_resistance": 5.0}
    for name, value in truth.items():
        row = family["parameters"][name]
        ends = row["interval_95"]
        # Four intervals of 95 %, of which the outermost of one set of data may just miss: half a width is allowed.
        half = (ends["high"] - ends["low"]) / 2
        assert ends["low"] - half / 2 < value < ends["high"] + half / 2, name
        assert half < 0.2 * value, name
    assert family["parameters"]["mobility"]["unit"] == "cm^2/(V*s)"
    assert family["goodness"]["suggests"] == []


@pytest.mark.whole
def test_words_and_tables_say_the_same(filmwright, table, tmp_path):
    said = filmwright("fit", str(table), *SIZES)
    assert said.code == 0
    assert "threshold voltage" in said.out
    assert "the noise explains what is left" in " ".join(said.out.split())
    points = tmp_path / "points.csv"
    rows = list(
        csv.DictReader(
            io.StringIO(filmwright("fit", str(table), *SIZES, "--csv", "--points", str(points)).out)
        )
    )
    by_name = {row["parameter"]: row for row in rows}
    assert float(by_name["threshold_voltage"]["value"]) == pytest.approx(1.2, abs=0.02)
    assert float(by_name["threshold_voltage"]["low_95"]) < float(by_name["threshold_voltage"]["high_95"])
    written = list(csv.DictReader(io.StringIO(points.read_text("utf-8"))))
    assert len(written) == 3 * 66
    rest = np.array([float(row["residual_in_standard_deviations"]) for row in written])
    assert np.std(rest) == pytest.approx(1.0, abs=0.15)


@pytest.mark.whole
def test_a_device_that_is_none_and_a_file_that_is_none_are_told_with_the_reason(filmwright, table, tmp_path):
    dead, broken = tmp_path / "dead.csv", tmp_path / "broken.csv"
    rng = np.random.default_rng(1)
    rows = [
        f"{g:.3g},0.1,{i:.3g}"
        for g, i in zip(np.linspace(-5, 5, 41), 1e-13 * rng.normal(size=41), strict=True)
    ]
    dead.write_text("VG (V),VD (V),ID (A)\n" + "\n".join(rows) + "\n", "utf-8")
    broken.write_text("nothing\n", "utf-8")
    said = filmwright("fit", str(table), str(dead), str(broken), "--json")
    assert said.code == 0
    found = json.loads(said.out)
    refused = [each["refused"] for each in found["families"] if each["refused"]]
    assert len(refused) == 1
    assert refused[0].startswith("dead: ")
    assert any("broken.csv" in each for each in found["problems"])
    words = filmwright("fit", str(dead))
    assert "not fitted: dead" in words.out
    alone = filmwright("fit", str(broken))
    assert alone.code == 2
    assert "Traceback" not in alone.err
