"""extract: how curves are shown: short lines, reasons once, many curves in a table, definitions where asked for."""

import re
from pathlib import Path

import numpy as np
import pytest

from filmwright.device import TransistorDesign, drain_current
from filmwright.units import to_si

SIZES = ("--width", "100 um", "--length", "10 um", "--capacitance", "62 nF/cm^2")
GATE = np.linspace(-5, 20, 251)


def table(*thresholds: float) -> str:
    noise = np.random.default_rng(7)
    rows = []
    for name, threshold in enumerate(thresholds, 1):
        design = TransistorDesign(
            width=to_si(100, "um"),
            length=to_si(10, "um"),
            areal_capacitance=to_si(62, "nF/cm^2"),
            mobility=to_si(10, "cm^2/(V*s)"),
            threshold_voltage=threshold,
            ideality=1.5,
            off_current=to_si(1, "pA"),
        )
        current = drain_current(design, GATE, np.full_like(GATE, 0.1))
        current *= 1 + 1e-3 * noise.standard_normal(len(GATE))
        rows += [f"T{name:02d},{g:.2f},0.1,{i:.6e}" for g, i in zip(GATE, current, strict=True)]
    return "device,VG (V),VD (V),ID (A)\n" + "\n".join(rows) + "\n"


@pytest.fixture
def narrow(monkeypatch: pytest.MonkeyPatch) -> None:
    """A terminal of 80 columns."""
    monkeypatch.setattr("filmwright.cli.printing._console._width", 80)


@pytest.mark.whole
def test_one_curve_takes_a_line_a_parameter_and_a_reason_stands_once(filmwright, narrow, tmp_path: Path):
    (tmp_path / "T01.csv").write_text(table(2.0), "utf-8")
    shown = filmwright("extract", "T01.csv", *SIZES).out
    lines = shown.splitlines()
    assert max(map(len, lines)) <= 80
    # A value, its error, its unit and where it was read stand in one line, and the definition in none.
    mobility = next(line for line in lines if line.lstrip().startswith("field effect mobility, apparent"))
    assert re.search(r" 10\.\d+ ± [\d.]+ cm²/\(V·s\) +[\d.]+ … [\d.]+ V", mobility)
    assert shown.count("not saturated") == 1
    assert "largest transconductance" not in shown
    assert "--all" in shown
    refused = shown[shown.index("not given") :]
    assert "hysteresis" in refused
    assert "one direction only" in " ".join(refused.split())


@pytest.mark.whole
def test_many_curves_are_a_table_of_what_matters_most(filmwright, narrow, tmp_path: Path):
    (tmp_path / "many.csv").write_text(table(1.0, 1.5, 2.0, 2.5), "utf-8")
    shown = filmwright("extract", "many.csv", *SIZES).out
    lines = shown.splitlines()
    assert max(map(len, lines)) <= 80
    rows = [line.split() for line in lines if line.lstrip().startswith("T0")]
    assert [row[0] for row in rows] == ["T01", "T02", "T03", "T04"]
    # The thresholds that were put in, half a volt apart; the tangent lies above each by V_D/2 and the turn-on.
    read = [float(row[4].partition("±")[0]) for row in rows]
    assert np.diff(read) == pytest.approx([0.5] * 3, abs=0.15)
    assert len(lines) < 20
    bare = filmwright("extract", "many.csv").out
    assert "µ not given: 4 curves: not known: W, L, areal capacitance" in bare


@pytest.mark.whole
def test_all_lists_every_parameter_and_defines_each_once(filmwright, narrow, tmp_path: Path):
    (tmp_path / "many.csv").write_text(table(1.0, 1.5, 2.0, 2.5), "utf-8")
    shown = filmwright("extract", "many.csv", *SIZES, "--all").out
    assert shown.count("   transconductance max  ") == 4
    assert shown.count("largest dI_D/dV_G;") == 1
    one = filmwright("extract", "many.csv", *SIZES, "--json").fields
    assert "everything" not in one
