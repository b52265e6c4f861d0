"""Tables of many shapes give the same curve; what cannot be read says so."""

from __future__ import annotations

import contextlib
import io
import zipfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from filmwright.errors import BadInput
from filmwright.measure import Sweep, extract, read_table

GATE = np.round(np.linspace(-1.0, 3.0, 21), 3)
CURRENT = np.maximum(GATE - 0.5, 0.0) * 2e-6 + 1e-10


def rows(separator: str = ",", decimal: str = ".", scale: float = 1.0) -> list[str]:
    return [
        separator.join(f"{each:.6g}".replace(".", decimal) for each in (vg, 0.1, current * scale, 1e-12))
        for vg, current in zip(GATE, CURRENT, strict=True)
    ]


def read(tmp_path: Path, content: bytes | str, name: str = "curve.csv") -> tuple[Sweep, ...]:
    path = tmp_path / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return read_table(path).sweeps


def assert_the_curve(sweeps: tuple[Sweep, ...]) -> None:
    (sweep,) = sweeps
    np.testing.assert_allclose(sweep.gate_voltage, GATE, atol=1e-9)
    np.testing.assert_allclose(sweep.drain_current, CURRENT, rtol=1e-5)
    assert sweep.drain_voltage == pytest.approx(0.1)


TEXT = "VG (V),VD (V),ID (A),IG (A)\n" + "\n".join(rows()) + "\n"
SHAPES = {
    "plain": TEXT,
    "byte-order mark": b"\xef\xbb\xbf" + TEXT.encode(),
    "utf-16": TEXT.encode("utf-16"),
    "utf-16 without mark": TEXT.encode("utf-16-le"),
    "carriage returns": TEXT.replace("\n", "\r\n"),
    "preamble of 200 lines": "\n".join(f"Setting {k}: value {k}" for k in range(200)) + "\n\n" + TEXT,
    "preamble with commas": "Setup,transfer\nUser,nobody\nStart,-1,V\nDate,1.2.2024\n" + TEXT,
    "latin-1 preamble": "Gerät: Größe 5 µm\n".encode("latin-1") + TEXT.encode(),
    "tabs": "VG\tVD\tID\tIG\n" + "\n".join(rows("\t")),
    "decimal comma, semicolon": "VG;VD;ID;IG\n" + "\n".join(rows(";", ",")),
    "decimal comma, tab": "U_GS / V\tU_DS / V\tI_D / A\tI_G / A\n" + "\n".join(rows("\t", ",")),
    "blanks": "VG   VD   ID   IG\n" + "\n".join(rows("   ")),
    "comment sign": "# VG VD ID IG\n" + "\n".join(rows(" ")),
    "unit row": "VG,VD,ID,IG\nV,V,uA,A\n" + "\n".join(rows(scale=1e6)),
    "unit in brackets": "VGS [V],VDS [V],ID [nA],IG [A]\n" + "\n".join(rows(scale=1e9)),
    "other order": "Index,Drain current (A),Time,Gate voltage (V),Drain voltage (V)\n"
    + "\n".join(f"{k},{i:.6g},{k * 0.1},{v},0.1" for k, (v, i) in enumerate(zip(GATE, CURRENT, strict=True))),
    "engineering suffixes": "VG,VD,ID\n"
    + "\n".join(f"{v * 1e3:.6g}m,100m,{i * 1e6:.6g}u" for v, i in zip(GATE, CURRENT, strict=True)),
    "bias in the name": "VG (V),ID (A) (VD = 0.1 V)\n"
    + "\n".join(f"{v},{i:.6g}" for v, i in zip(GATE, CURRENT, strict=True)),
    "bias above": "VD = 100 mV\nVG (V),ID (A)\n"
    + "\n".join(f"{v},{i:.6g}" for v, i in zip(GATE, CURRENT, strict=True)),
    "bias above in two cells": "Drain voltage (V),0.1\nVG (V),ID (A)\n"
    + "\n".join(f"{v},{i:.6g}" for v, i in zip(GATE, CURRENT, strict=True)),
    "source not at zero": "VG,VS,VD,ID\n"
    + "\n".join(f"{v + 2},2,2.1,{i:.6g}" for v, i in zip(GATE, CURRENT, strict=True)),
    "German names": "Gatespannung (V);Drainspannung (V);Drainstrom (A);Gatestrom (A)\n"
    + "\n".join(rows(";", ",")),
    "overflow and missing": TEXT + "3.2,0.1,9.9e37,1e-12\n3.4,0.1,NaN,1e-12\n3.6,0.1,,1e-12\n",
}


@pytest.mark.analytic
@pytest.mark.parametrize("shape", SHAPES)
def test_every_shape_gives_the_same_curve(tmp_path: Path, shape: str) -> None:
    assert_the_curve(read(tmp_path, SHAPES[shape]))


@pytest.mark.analytic
def test_a_wide_table_gives_a_curve_for_each_bias(tmp_path: Path) -> None:
    text = "VG,VD=0.1V,VD=1V\n" + "\n".join(
        f"{v},{i:.6g},{2 * i:.6g}" for v, i in zip(GATE, CURRENT, strict=True)
    )
    one, two = read(tmp_path, text)
    assert (one.drain_voltage, two.drain_voltage) == (0.1, 1.0)
    np.testing.assert_allclose(two.drain_current, 2 * CURRENT, rtol=1e-5)


@pytest.mark.analytic
def test_blocks_follow_one_another(tmp_path: Path) -> None:
    text = "\n\n".join(
        f"VD = {vd} V\nVG,ID\n" + "\n".join(f"{v},{v * vd:g}" for v in GATE) for vd in (0.1, 5)
    )
    assert [each.drain_voltage for each in read(tmp_path, text)] == [0.1, 5.0]


@pytest.mark.analytic
def test_a_double_sweep_is_split_and_paired(tmp_path: Path) -> None:
    there = [f"{v},0.1,{i:.6g}" for v, i in zip(GATE, CURRENT, strict=True)]
    back = [f"{v},0.1,{i * 1.1:.6g}" for v, i in zip(GATE[::-1], CURRENT[::-1], strict=True)]
    for joint in (0, 1):
        one, two = read(tmp_path, "VG,VD,ID\n" + "\n".join(there + back[joint:]))
        assert (one.rising, two.rising) == (True, False)
        assert one.pair == two.pair >= 0
        assert len(one.gate_voltage) == len(two.gate_voltage) == len(GATE)


@pytest.mark.analytic
def test_output_curves_are_sliced_at_constant_drain_voltage(tmp_path: Path) -> None:
    lines = [f"{vg},{vd},{max(vg - 1, 0) * vd:g}" for vg in range(7) for vd in np.linspace(0, 2, 11)]
    low, high = read(tmp_path, "VG,VD,ID\n" + "\n".join(lines))
    assert low.sliced
    assert (low.drain_voltage, high.drain_voltage) == (pytest.approx(0.2), 2.0)
    np.testing.assert_allclose(low.drain_current, [0.2 * max(vg - 1, 0) for vg in range(7)], atol=1e-12)
    family = read_table(tmp_path / "curve.csv").output_curves
    assert [each.gate_voltage for each in family] == list(range(7))
    np.testing.assert_allclose(family[3].drain_voltage, np.linspace(0, 2, 11), atol=1e-12)
    np.testing.assert_allclose(family[3].drain_current, 2 * np.linspace(0, 2, 11), atol=1e-12)
    assert {each.direction for each in family} == {"forward"}


@pytest.mark.analytic
def test_source_referred_p_type_is_turned(tmp_path: Path) -> None:
    text = "VSG (V),VSD (V),ID (A)\n" + "\n".join(
        f"{v},0.1,{-i:.6g}" for v, i in zip(GATE, CURRENT, strict=True)
    )
    (result,) = extract(read(tmp_path, text))
    assert result.type == "p"
    assert result.drain_voltage == -0.1
    assert result.parameters["threshold_voltage"].value == pytest.approx(-0.5, abs=0.02)


@pytest.mark.analytic
def test_a_capacitance_curve_is_recognised(tmp_path: Path) -> None:
    path = tmp_path / "cv.csv"
    path.write_text(
        "vbc,cbc,G (uS),f (kHz)\n"
        + "\n".join(f"{v},{1e-11 + 1e-12 * k},{0.1 * k:.6g},100" for k, v in enumerate(GATE))
    )
    measurement = read_table(path)
    assert measurement.sweeps == ()
    (curve,) = measurement.capacitance
    np.testing.assert_allclose(curve.voltage, GATE)
    np.testing.assert_allclose(curve.capacitance, 1e-11 + 1e-12 * np.arange(len(GATE)))
    assert curve.conductance is not None
    np.testing.assert_allclose(curve.conductance, 1e-7 * np.arange(len(GATE)))
    assert curve.frequency == pytest.approx(1e5)
    assert "not a current–voltage sweep" in measurement.warnings[0]


def workbook(rows: list[list[str | float]]) -> bytes:
    """The smallest .xlsx that holds the rows (Office Open XML, ECMA-376)."""

    def cell(value: str | float) -> str:
        if isinstance(value, str):
            return f'<c t="inlineStr"><is><t>{value}</t></is></c>'
        return f"<c><v>{value!r}</v></c>"

    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    office = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    package = "http://schemas.openxmlformats.org/package/2006"
    body = "".join("<row>" + "".join(map(cell, row)) + "</row>" for row in rows)
    link = f'<Relationships xmlns="{package}/relationships"><Relationship Id="r1" Type="{office}/'
    parts = {
        "[Content_Types].xml": f'<Types xmlns="{package}/content-types"><Default Extension="xml" '
        'ContentType="application/xml"/></Types>',
        "_rels/.rels": f'{link}officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/_rels/workbook.xml.rels": f'{link}worksheet" Target="worksheets/sheet1.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{main}" xmlns:r="{office}"><sheets>'
        '<sheet name="Data" sheetId="1" r:id="r1"/></sheets></workbook>',
        "xl/worksheets/sheet1.xml": f'<worksheet xmlns="{main}"><sheetData>{body}</sheetData></worksheet>',
    }
    memory = io.BytesIO()
    with zipfile.ZipFile(memory, "w") as bundle:
        for name, text in parts.items():
            bundle.writestr(name, text)
    return memory.getvalue()


@pytest.mark.analytic
def test_a_workbook_gives_the_same_curve_also_after_a_damaged_one(tmp_path: Path) -> None:
    lines = [[float(v), 0.1, float(i)] for v, i in zip(GATE, CURRENT, strict=True)]
    content = workbook([["invented"], ["VG (V)", "VD (V)", "ID (A)"], *lines])
    assert_the_curve(read(tmp_path, content, "curve.xlsx"))
    with pytest.raises(BadInput, match="a workbook that cannot be read"):
        read(tmp_path, content[: len(content) // 2])
    assert_the_curve(read(tmp_path, content, "named wrongly.csv"))


BAD = {
    "no drain current": ("VG,VD,IG\n1,2,3\n2,2,3\n", "no drain current"),
    "no names": ("1,2,3\n2,2,3\n", "numbers without column names"),
    "one row": ("VG,VD,ID\n1,0.1,1e-6\n", "1 row of values"),
    "header only": ("VG,VD,ID\n", "no drain current"),
    "all NaN": ("VG,ID\n" + "\n".join("nan,nan" for _ in range(9)), "without one finite drain current"),
    "gate held": ("VG,VD,ID\n" + "\n".join("1,0.1,1e-6" for _ in range(9)), "rows of values"),
    "junk": (bytes(range(256)) * 20, "binary data"),
    "empty": ("", "an empty file"),
    "blank": ("\n \n\n", "an empty file"),
    "half a workbook": (b"PK\x03\x04" + b"\x00\x01" * 200, "a workbook that cannot be read"),
    "half an old workbook": (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\x00\x01" * 400, "workbook"),
}


@pytest.mark.analytic
@pytest.mark.parametrize("case", BAD)
def test_bad_input_says_what_is_wrong(tmp_path: Path, case: str) -> None:
    content, words = BAD[case]
    with pytest.raises(BadInput) as caught:
        read(tmp_path, content)
    (problem,) = caught.value.problems
    assert words in str(problem)
    assert problem.file.endswith("curve.csv")
    assert all((problem.what, problem.expected, problem.why, problem.remedy))


@pytest.mark.analytic
def test_a_missing_file_says_so(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="a file that can be read"):
        read_table(tmp_path / "none.csv")


@pytest.mark.property
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_mutated_files_end_in_a_result_or_a_clear_error(tmp_path: Path, data: st.DataObject) -> None:
    content = bytearray(TEXT.encode(data.draw(st.sampled_from(["utf-8", "utf-16"]))))
    for _ in range(data.draw(st.integers(1, 8))):
        at = data.draw(st.integers(0, len(content)))
        size = data.draw(st.sampled_from([0, 1, 3, 40, 400]))
        content[at : at + size] = data.draw(
            st.binary(max_size=6) | st.sampled_from([b"\n", b",", b"-", b"e99", b"VG"])
        )
    with contextlib.suppress(BadInput):
        check(read(tmp_path, bytes(content)))


def check(sweeps: tuple[Sweep, ...]) -> None:
    for result in extract(sweeps):
        for parameter in result.parameters.values():
            assert parameter.valid or parameter.why_not
            assert parameter.value is None or np.isfinite(parameter.value)
