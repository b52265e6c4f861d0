"""Many devices on the command line: files with a table, real sets, and a lot with devices left out."""

from pathlib import Path

import numpy as np
import pytest

from filmwright.device import TransistorDesign, drain_current
from filmwright.units import to_si

DATA = Path(__file__).resolve().parents[2].parent / "shared" / "data"
PATTERN = "{device} chip{wafer}"
GATE = np.round(np.arange(-2.0, 6.001, 0.2), 3)


def curve(threshold: float, drain: float = 0.1, noise: float = 0.0, seed: int = 0) -> str:
    """An invented table of a probe station: one device at one drain voltage."""
    design = TransistorDesign(
        width=to_si(100, "um"),
        length=to_si(10, "um"),
        areal_capacitance=to_si(180, "nF/cm^2"),
        mobility=to_si(8, "cm^2/(V*s)"),
        threshold_voltage=threshold,
        ideality=2.0,
        off_current=to_si(1, "pA"),
    )
    current = drain_current(design, GATE, np.full_like(GATE, drain))
    scatter = 1 + np.random.default_rng(seed).normal(0, 0.002, GATE.size)
    rows = ["VG [V],VD [V],ID [A],IG [A]"]
    rows += [f"{g:.3f},{drain:g},{i:.6e},1e-12" for g, i in zip(GATE, current * scatter, strict=True)]
    return "\n".join(rows) + "\n"


def folder(place: Path, drains=(0.1, 0.1)) -> None:
    """Eight wafers of nine devices: wafers scatter by 0.1 V, devices by 0.01 V, split B lies 1 V higher."""
    draw = np.random.default_rng(5)
    rows = ["file,device,wafer,W [um],L [um],x [mm],y [mm],split"]
    (place / "curves").mkdir()
    for w in range(8):
        level = 1.0 + (w % 2) + float(draw.normal(0, 0.1))
        for k in range(9):
            x, y = (k % 3 - 1) * 15.0, (k // 3 - 1) * 15.0
            name = f"{w}-{k}.csv"
            threshold = level + 0.004 * x + float(draw.normal(0, 0.01))
            text = curve(threshold, drains[w % 2], seed=10 * w + k)
            (place / "curves" / name).write_text(text, "utf-8")
            rows.append(f"{name},T{k},N{w},100,10,{x},{y},{'AB'[w % 2]}")
    (place / "devices.csv").write_text("\n".join(rows) + "\n", "utf-8")


@pytest.mark.whole
def test_files_and_a_table_tell_splits_by_wafer_and_a_gradient(filmwright, tmp_path: Path):
    folder(tmp_path)
    said = filmwright("statistics", "curves", "--table", "devices.csv", "--radius", "25 mm", "--json")
    assert said.code == 0
    told = said.fields
    assert (told["devices"], told["wafers"]) == (72, 8)
    assert told["yield"][0]["count"] == 72
    pair = next(each for each in told["splits"]["pairs"] if each["parameter"] == "threshold_voltage")
    assert pair["wafers"] == [4, 4]
    assert pair["differs"] is True
    assert pair["low"] < 1.0 < pair["high"]
    gradient = told["maps"][-8]["parts"][0]
    assert told["maps"][-8]["parameter"] == "threshold_voltage"
    # 4 mV/mm over 25 mm.
    assert gradient["low"] < 0.1 < gradient["high"]
    words = filmwright("statistics", "curves", "--table", "devices.csv", "--parameter", "threshold_voltage")
    assert words.code == 0
    assert "Splits, compared by wafer" in words.out
    table = filmwright("statistics", "curves", "--table", "devices.csv", "--csv").out.splitlines()
    assert len(table) == 73
    assert table[0].startswith("wafer,device,kind,split,W [um]")


@pytest.mark.whole
def test_splits_measured_at_other_drain_voltages_are_not_compared(filmwright, tmp_path: Path):
    folder(tmp_path, drains=(0.1, 0.2))
    told = filmwright("statistics", "curves", "--table", "devices.csv", "--json").fields
    pair = next(each for each in told["splits"]["pairs"] if each["parameter"] == "threshold_voltage")
    assert (pair["difference"], pair["differs"]) == (None, None)
    assert "drain voltage: 0.1 V against 0.2 V" in pair["warnings"][0]
    assert told["conditions"][0]["comparable"] is False


@pytest.mark.whole
def test_nothing_to_tell_of_is_said(filmwright, tmp_path: Path):
    (tmp_path / "a.csv").write_text(curve(1.0), "utf-8")
    assert "at least one" in filmwright("statistics").err
    assert "more than zero" in filmwright("statistics", "a.csv", "--radius", "-5 mm").err
    assert "some that were extracted" in filmwright("statistics", "a.csv", "--parameter", "colour").err
    assert filmwright("statistics", "a.csv", "--split", "A").code == 2
    assert "readable" in filmwright("statistics", "a.csv", "--table", "none.csv").err


@pytest.mark.whole
@pytest.mark.skipif(not DATA.is_dir(), reason="the measured data are not on this machine")
def test_chips_of_students_are_told_by_cause_first(filmwright):
    told = filmwright("statistics", DATA / "student-nmos", "--name-pattern", PATTERN, "--json").fields
    assert (told["devices"], told["wafers"]) == (94, 2)
    assert sum(each["count"] for each in told["yield"]) == 94
    assert told["yield"][0]["cause"] == "works"
    # A third of the devices and more is leaky or never off (the origin says several are bad).
    assert told["yield"][0]["count"] < 70
    assert {each["name"] for each in told["groups"]} == {"19", "50"}
    assert "field_effect_mobility" not in told["medians"]


@pytest.mark.whole
def test_a_device_is_left_out_with_a_reason_and_taken_back(filmwright, switch: Path, tmp_path: Path):
    lot = filmwright("run", "my-run/plan.yaml", "--wafers", "2", "--who", "AB", "--json").fields["lot"]
    for k, device in enumerate(("T01", "T02", "T03")):
        (tmp_path / f"{device}.csv").write_text(curve(1.0 + k), "utf-8")
        kept = filmwright("log", lot, "--curves", f"{device}.csv", "--device", device, "--wafer", "W1")
        assert kept.code == 0
    assert "given" in filmwright("log", lot, "--exclude", "T03", "--wafer", "W1").err
    unknown = filmwright("log", lot, "--exclude", "T99", "--wafer", "W1", "--note", "torn", "--who", "AB")
    assert "drawing" in unknown.err
    words = ("log", lot, "--wafer", "W1", "--who", "AB", "--json")
    assert filmwright(*words, "--exclude", "T03", "--note", "probe slipped").code == 0
    assert filmwright("log", lot, "--split", "hot=W1", "--split", "cold=W2", "--json").code == 0
    told = filmwright("statistics", "--lot", lot, "--json").fields
    assert told["devices"] == 2
    assert told["excluded"]["devices"][0]["reason"].startswith("probe slipped (AB, ")
    without, with_it = (
        told["medians"]["threshold_voltage"]["median"],
        told["excluded"]["medians_with_them"]["threshold_voltage"]["median"],
    )
    assert with_it - without == pytest.approx(0.5, abs=0.1)
    report = filmwright("report", lot, "--into", "report.html")
    assert report.code == 0
    page = (tmp_path / "report.html").read_text("utf-8")
    assert "probe slipped (AB, " in page
    assert filmwright(*words, "--include", "T03", "--note", "measured again").code == 0
    assert filmwright("statistics", "--lot", lot, "--json").fields["devices"] == 3
