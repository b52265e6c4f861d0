"""Test structures as a person types them: tables by hand, file names with sizes, slips."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from filmwright.units import to_si

UM = to_si(1, "um")


@pytest.fixture
def gaps(tmp_path: Path) -> Path:
    path = tmp_path / "gaps.csv"
    path.write_text(
        "gap (um), resistance (ohm), ± (ohm), name\n5,1530,10,A\n10,2040,12,B\n20,3010,20,C\n40,5060,30,D\n80,9010,50,E\n",
        "utf-8",
    )
    return path


@pytest.mark.whole
def test_a_typed_table_of_gaps(filmwright, gaps: Path):
    said = filmwright(
        "lengths", gaps, "--width", "100 um", "--contact-length", "5 um", "--end-resistance", "100 ohm +- 5"
    )
    assert said.code == 0
    assert "sheet resistance" in said.out
    assert "below" in said.out
    assert "share of the contacts at 5 µm: 67 %" in said.out
    assert 'filmwright log LOT STEP --measured "sheet resistance=' in said.out
    told = filmwright("lengths", gaps, "--width", "100 um", "--json").fields["parts"][0]
    assert told["parameters"]["sheet_resistance"]["value"] == pytest.approx(1e4, rel=0.01)
    assert len(told["parameters"]["contact_resistance"]["interval_95"]) == 2
    assert told["arrays"]["line"]["unit"] == "ohm*cm"


@pytest.mark.whole
def test_transistors_by_pattern_and_by_a_table_of_sizes(filmwright, tmp_path: Path):
    # 10 cm²/(V·s), 2 Ω·cm a contact: R = L/(W·µ·C·(V_G − V_T − V_D/2)) + 2·R_c
    chance, gate = np.random.default_rng(7), np.linspace(-2, 20, 221)
    files, rows = [], ["file,length (um),width (um)"]
    for length in (5, 10, 20, 40, 80):
        over = 0.1 * np.log1p(np.exp((gate - 2.05) / 0.1))
        beta = 10e-4 * 6e-4 * 100 / length
        current = 0.1 / (1 / (beta * np.maximum(over, 1e-12)) + 2 * to_si(2, "ohm*cm") / (100 * UM))
        current = current * (1 + 0.001 * chance.normal(size=gate.size)) + 1e-12 * chance.normal(
            size=gate.size
        )
        path = tmp_path / f"T{length:02d}_w100u_l{length}u.csv"
        lines = "".join(f"{v:.3f},0.1,{i:.6e}\n" for v, i in zip(gate, current, strict=True))
        path.write_text("VG (V),VD (V),ID (A)\n" + lines, "utf-8")
        files.append(path)
        rows.append(f"{path.name},{length},100")
    sizes = tmp_path / "sizes.csv"
    sizes.write_text("\n".join(rows), "utf-8")
    by_name = filmwright(
        "lengths",
        *files,
        "--name-pattern",
        "{*}_w{width:um}u_l{length:um}u",
        "--capacitance",
        "60 nF/cm^2",
        "--json",
    )
    by_table = filmwright("lengths", *files, "--lengths-from", sizes, "--capacitance", "60 nF/cm^2", "--json")
    for said in (by_name, by_table):
        told = said.fields["parts"][0]["parameters"]
        assert told["mobility_free_of_contacts"]["value"] == pytest.approx(10, rel=0.03)
        assert told["contact_resistance_as_drawn"]["value"] == pytest.approx(2, abs=0.3)
    alone = filmwright("lengths", *files)
    assert alone.code == 2
    assert "--lengths-from" in alone.err


@pytest.mark.whole
def test_four_contacts(filmwright, tmp_path: Path):
    cross, pins = tmp_path / "cross.csv", tmp_path / "pins.csv"
    cross.write_text("I+;I-;V+;V-;resistance (ohm);± (ohm)\n1;2;4;3;100,0;0,3\n2;3;1;4;40,0;0,2\n", "utf-8")
    pins.write_text("I+,I-,V+,V-,R (kohm)\n1,4,2,3,1.0\n", "utf-8")
    # 100 Ω and 40 Ω: 295.972 Ω per square (L. J. van der Pauw 1958, from memory, arithmetic recomputed)
    sheet = filmwright("sheet-resistance", cross, "--json").fields["parts"][0]["parameters"][
        "sheet_resistance"
    ]
    assert sheet["value"] == pytest.approx(295.972, abs=1e-3)
    # S/D = 0.02: 4.517 (SEMI MF84, from memory, arithmetic recomputed)
    said = filmwright("sheet-resistance", pins, "--spacing", "1 mm", "--shape", "round 50 mm")
    assert "4517" in said.out
    off = filmwright("sheet-resistance", pins, "--spacing", "1 mm", "--shape", "round 2 mm")
    assert off.code == 2
    assert "outside" in off.err
    assert filmwright("sheet-resistance", pins, "--spacing", "1 mm", "--shape", "oval 2 mm").code == 2
    assert filmwright("sheet-resistance", pins).code == 2


@pytest.mark.whole
def test_a_stylus_trace_and_a_capacitance_curve(filmwright, tmp_path: Path):
    chance, x = np.random.default_rng(4), np.linspace(0, 1000, 800)
    z = np.where((x > 400) & (x < 600), -600.0, 0.0) + 0.5 * x + chance.normal(size=800)
    path = tmp_path / "trace.csv"
    rows = "".join(f"{a:.3f},{b:.3f}\n" for a, b in zip(x, z, strict=True))
    path.write_text("Scan 3\nLateral (um),Raw height (ang)\n" + rows, "utf-8")
    said = filmwright("step-height", path)
    assert said.code == 0
    assert "groove" in said.out
    assert "-60" in said.out
    assert filmwright("step-height", path, "--edges", "2 mm").code == 2
    volts = np.linspace(-5, 5, 201)
    farads = 60 / np.sqrt(1 + np.maximum(1 - volts, 0))
    curve = tmp_path / "curve.csv"
    curve.write_text(
        "V (V),C (pF)\n" + "".join(f"{v:.3f},{c:.5f}\n" for v, c in zip(volts, farads, strict=True)), "utf-8"
    )
    told = filmwright(
        "capacitance", curve, "--area", "0.1 mm^2", "--semiconductor", "zinc oxide", "--json"
    ).fields
    found = told["parts"][0]["parameters"]
    assert found["areal_capacitance"]["value"] == pytest.approx(60, rel=1e-3)
    # 1/C² rises by (area/60 pF)² per volt: N = 2/(q·ε·slope)
    slope = (to_si(0.1, "mm^2") / to_si(60, "pF")) ** 2
    density = 2 / (1.602176634e-19 * 8.8541878128e-12 * 8.5 * slope)
    assert math.isclose(to_si(found["carrier_density"]["value"], "1/cm^3"), density, rel_tol=0.01)
    assert filmwright("capacitance", curve, "--semiconductor", "zinc oxyde").code == 2


SLOPE = "gap (um), resistance (ohm)\n" + "".join(f"{gap},{{}}\n" for gap in (5, 10, 20, 40))


@pytest.mark.whole
@pytest.mark.parametrize(
    ("words", "text", "code", "said"),
    [
        (("lengths", "--width", "100 um"), SLOPE.format(100, 100, 100, 100), 0, "does not rise"),
        (("lengths", "--width", "100 um"), SLOPE.format(100, 90, 80, 70), 0, "does not rise"),
        (
            ("lengths", "--width", "100 um"),
            SLOPE.format(50, 100, 200, 400),
            0,
            "not distinguishable from zero",
        ),
        (("lengths", "--width", "100 um"), SLOPE.format(0, 100, 200, 400), 2, "above zero"),
        (("lengths",), SLOPE.format(100, 150, 250, 450), 2, "width is not known"),
        (
            ("step-height",),
            "x (um), z (nm)\n" + "".join(f"{k},{60 * (k > 50)}\n" for k in range(100)),
            0,
            "60",
        ),
        (("step-height",), "x (um), z (nm)\n" + "".join(f"{k},0\n" for k in range(100)), 2, "no step"),
        (("capacitance",), "V (V),C (pF)\n" + "".join(f"{k},0\n" for k in range(30)), 2, "open correction"),
        (("capacitance",), "V (V),C (pF)\n" + "".join(f"{k},nan\n" for k in range(30)), 2, "12 different"),
        (("sheet-resistance",), "I+,I-,V+,V-,R (ohm)\n1,2,3,7,5\n", 2, "once each"),
        (
            ("sheet-resistance",),
            "I+,I-,V+,V-,V (mV),I (mA)\n1,2,4,3,5,1\n2,3,1,4,5,0\n",
            2,
            "current of zero",
        ),
    ],
)
def test_what_cannot_be_read_is_said_and_what_cannot_be_told_too(
    filmwright, tmp_path: Path, words, text, code, said
):
    path = tmp_path / "table.csv"
    path.write_text(text, "utf-8")
    answer = filmwright(*words, path)
    assert answer.code == code
    assert said in " ".join((answer.out + answer.err).split())
