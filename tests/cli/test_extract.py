"""extract: the promised fields, refusals with a reason, and measured devices through the command line."""

import os
from pathlib import Path

import numpy as np
import pytest

from filmwright.device import TransistorDesign, drain_current
from filmwright.units import convert, to_si

DATA = Path(os.environ.get("FILMWRIGHT_SHARED_DATA", Path(__file__).parents[3] / "shared" / "data"))
measured = pytest.mark.skipif(not DATA.is_dir(), reason=f"measured data are not at {DATA}")
CURVE = {"file", "sweep", "drain_voltage", "direction", "type", "parameters", "warnings"}
PARAMETER = {"value", "std", "unit", "method", "window", "valid", "why_not"}
NAMES = {
    "threshold_voltage", "field_effect_mobility", "saturation_mobility", "subthreshold_swing", "on_off_ratio", "onset_voltage",
    "hysteresis", "gate_leakage",
}  # fmt: skip
SIZES = ("--width", "100 um", "--length", "10 um", "--capacitance", "62 nF/cm^2")
DESIGN = TransistorDesign(
    width=to_si(100, "um"),
    length=to_si(10, "um"),
    areal_capacitance=to_si(62, "nF/cm^2"),
    mobility=to_si(10, "cm^2/(V*s)"),
    threshold_voltage=2.0,
    ideality=1.5,
    off_current=to_si(1, "pA"),
)


def table(sign: int = 1, comma: bool = False) -> str:
    """A table of an invented device, n-type or its mirror image, in the notation of either side of the sea."""
    gate = np.linspace(-5, 20, 251)
    rows = []
    for drain in (0.1, 25.0):
        current = drain_current(DESIGN, gate, np.full_like(gate, drain))
        rows += [
            f"{sign * g:.3f};{sign * drain:g};{sign * i:.6e};1e-12"
            for g, i in zip(gate, current, strict=True)
        ]
    text = "VG (V);VD (V);ID (A);IG (A)\n" + "\n".join(rows) + "\n"
    return text.replace(".", ",") if comma else text.replace(";", ",")


@pytest.mark.whole
def test_a_curve_has_the_promised_fields(filmwright, tmp_path: Path):
    (tmp_path / "T07.csv").write_text(table(), "utf-8")
    said = filmwright("extract", "T07.csv", *SIZES, "--json")
    assert said.code == 0
    assert len(said.fields["curves"]) == 2
    for curve in said.fields["curves"]:
        assert set(curve) >= CURVE
        assert curve["file"].endswith("T07.csv")
        assert curve["type"] == "n"
        assert set(curve["parameters"]) >= NAMES
        for name, row in curve["parameters"].items():
            assert set(row) >= PARAMETER, name
            assert row["valid"] != bool(row["why_not"]), name
            assert not row["valid"] or (row["value"] is not None and row["method"]), name
    linear = said.fields["curves"][0]["parameters"]
    # What was put in. The tangent sits V_D/2 and some thermal voltages of turn-on above the threshold; the model's own
    # transconductance exceeds its strong-inversion value by 3 % just above threshold at this ideality, and the largest one counts.
    assert linear["threshold_voltage"]["value"] == pytest.approx(2.0, abs=0.15)
    assert linear["field_effect_mobility"]["value"] == pytest.approx(10, rel=0.04)
    assert linear["field_effect_mobility"]["unit"] in {"cm²/(V·s)", "cm^2/(V*s)"}
    assert convert(DESIGN.mobility, "cm^2/(V*s)") == pytest.approx(10)


@pytest.mark.whole
def test_the_mirror_image_is_p_type_with_mirrored_threshold_and_the_same_mobility(filmwright, tmp_path: Path):
    (tmp_path / "n.csv").write_text(table(), "utf-8")
    (tmp_path / "p.csv").write_text(table(sign=-1), "utf-8")
    curves = filmwright("extract", "n.csv", "p.csv", *SIZES, "--json").fields["curves"]
    n, p = curves[0], curves[2]
    assert (n["type"], p["type"]) == ("n", "p")
    assert p["parameters"]["threshold_voltage"]["value"] == pytest.approx(
        -n["parameters"]["threshold_voltage"]["value"]
    )
    for name in ("field_effect_mobility", "subthreshold_swing", "on_off_ratio"):
        assert p["parameters"][name]["value"] == pytest.approx(n["parameters"][name]["value"]), name


@pytest.mark.whole
def test_decimal_commas_change_nothing(filmwright, tmp_path: Path):
    (tmp_path / "point.csv").write_text(table(), "utf-8")
    (tmp_path / "comma.csv").write_text(table(comma=True), "utf-8")
    curves = filmwright("extract", "point.csv", "comma.csv", *SIZES, "--json").fields["curves"]
    assert len(curves) == 4
    for one, other in zip(curves[:2], curves[2:], strict=True):
        assert one["parameters"] == other["parameters"]


@pytest.mark.whole
def test_what_the_data_cannot_give_is_refused_with_the_reason(filmwright, tmp_path: Path):
    (tmp_path / "T07.csv").write_text(table(), "utf-8")
    bare = filmwright("extract", "T07.csv", "--json").fields["curves"][0]["parameters"]
    assert bare["threshold_voltage"]["valid"]
    assert not bare["field_effect_mobility"]["valid"]
    assert bare["field_effect_mobility"]["value"] is None
    for word in ("W", "L", "areal capacitance"):
        assert word in bare["field_effect_mobility"]["why_not"]
    shown = filmwright("extract", "T07.csv").out
    assert "not given" in shown


@measured
@pytest.mark.literature
@pytest.mark.parametrize(
    ("file", "volts"), [("nmos1 pattern1 chip50.xls", 2.158), ("nmos4 pattern5 chip19.xls", 0.361)]
)
def test_published_thresholds_come_out_of_the_command(filmwright, file: str, volts: float):
    # Published with the data: tangent at the largest transconductance, V_D = 0.2 V, without V_D/2; asked for within 5 mV.
    said = filmwright("extract", DATA / "student-nmos" / file, "--json")
    assert said.code == 0
    first = said.fields["curves"][0]
    assert first["drain_voltage"] == pytest.approx(0.2)
    assert first["parameters"]["threshold_voltage"]["value"] == pytest.approx(volts, abs=0.005)


@measured
@pytest.mark.whole
@pytest.mark.parametrize("folder", ["student-nmos", "si-mos-wafer", "oect-hysteresis"])
def test_all_measured_tables_go_through_and_nothing_is_said_in_silence(filmwright, folder: str):
    files = [
        f for f in sorted((DATA / folder).iterdir()) if f.suffix in {".csv", ".xls"} and f.name != "index.csv"
    ]
    assert files
    said = filmwright("extract", *files, "--json")
    assert said.code == 0
    told = {Path(curve["file"]).name for curve in said.fields["curves"]}
    unread = [line for line in said.fields["problems"] if "capacitance–voltage" not in line]
    assert unread == []
    # Either curves or the reason why there are none, for every file.
    silent = [
        f.name
        for f in files
        if f.name not in told and not any(f.name in line for line in said.fields["problems"])
    ]
    assert silent == []
    for curve in said.fields["curves"]:
        for name, row in curve["parameters"].items():
            assert row["valid"] or row["why_not"], (curve["file"], name)


@measured
@pytest.mark.whole
def test_the_index_beside_the_measured_tables_is_no_curve_and_said_to_be_none(filmwright):
    said = filmwright("extract", DATA / "si-mos-wafer" / "index.csv")
    assert said.code == 2
    assert "drain current" in said.err
