"""Tables of results: one row for each curve and parameter, units beside the numbers, nothing that a spreadsheet would run."""

import csv
import io

import numpy as np
import pyarrow.parquet
import pytest

from filmwright.measure import Geometry, Parameter, Sweep, extract
from filmwright.outputs import frame, parameter_rows, plain_rows, table_bytes, table_html
from filmwright.outputs.plots_of_curves import value_text
from filmwright.units import to_si

GATE = np.linspace(0, 10, 41)
GEOMETRY = Geometry(width=to_si(100, "um"), length=to_si(10, "um"), areal_capacitance=to_si(60, "nF/cm^2"))


@pytest.fixture(scope="module")
def rows():
    sweep = Sweep(
        gate_voltage=GATE, drain_current=1e-7 * np.clip(GATE - 2, 0, None) + 1e-12, drain_voltage=0.1,
        file='=HYPERLINK("x")', device="T07", label="block 1", sha256="ab" * 32,
    )  # fmt: skip
    return parameter_rows(extract([sweep], GEOMETRY), [sweep], [GEOMETRY])


@pytest.mark.analytic
def test_a_row_tells_whose_number_it_is_in_which_unit_and_how_it_was_read(rows):
    found = {row["parameter"]: row for row in rows}
    threshold = found["threshold_voltage_linear"]
    assert threshold["value"] == pytest.approx(2.0, abs=0.02)
    assert threshold["unit"] == "V"
    assert (threshold["W [µm]"], threshold["L [µm]"], threshold["C [nF/cm²]"]) == (100.0, 10.0, 60.0)
    assert (threshold["device"], threshold["sha256"]) == ("T07", "ab" * 32)
    assert threshold["window from [V]"] < threshold["window to [V]"]
    assert found["on_off_ratio"]["unit"] == "1"
    refused = found["hysteresis"]
    assert not refused["valid"]
    assert refused["why not"]
    assert refused["value"] is None


@pytest.mark.property
def test_no_cell_is_a_formula_for_a_spreadsheet_and_numbers_stay_numbers(rows):
    text = table_bytes(rows, "csv").decode("utf-8-sig")
    read = list(csv.DictReader(io.StringIO(text)))
    assert len(read) == len(rows)
    for row in read:
        for name, cell in row.items():
            harmless = not cell.startswith(("=", "+", "@", "\t", "\r"))
            assert harmless, (name, cell)
            assert not cell.startswith("-") or np.isfinite(float(cell))
    assert read[0]["file"] == '\'=HYPERLINK("x")'
    assert plain_rows([{"a": "-5 V", "b": -5.0, "c": "x=1"}]) == [{"a": "'-5 V", "b": -5.0, "c": "x=1"}]


@pytest.mark.reference
def test_pandas_and_parquet_hold_the_same_numbers_with_their_units(rows, tmp_path):
    table = frame(rows)
    assert table.attrs["units"] == {
        "drain voltage [V]": "V", "bulk voltage [V]": "V", "W [µm]": "µm", "L [µm]": "µm", "C [nF/cm²]": "nF/cm²",
        "window from [V]": "V", "window to [V]": "V",
    }  # fmt: skip
    assert [str(table[name].dtype) for name in ("value", "std", "bulk voltage [V]")] == ["float64"] * 3
    (tmp_path / "a.parquet").write_bytes(table_bytes(rows, "parquet"))
    back = pyarrow.parquet.read_table(tmp_path / "a.parquet").to_pylist()
    for one, other in zip(rows, back, strict=True):
        value = None if other["value"] is None or np.isnan(other["value"]) else other["value"]
        assert value == one["value"]
        assert (other["unit"], other["method"], other["valid"]) == (one["unit"], one["method"], one["valid"])
    assert frame([]).empty


@pytest.mark.property
def test_a_notebook_shows_text_as_text_and_says_how_many_rows_it_left_out():
    many = [{"file": "<b>", "value": 1.5e-3, "valid": True, "std": None}] * 70
    html = table_html(many, ("file", "value", "valid", "std"), most=60)
    assert "&lt;b&gt;" in html
    assert "<b>" not in html
    assert html.count("<tr>") == 61
    assert "10 more rows" in html
    assert "<td>0.0015</td><td>yes</td><td>–</td>" in html


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("value", "std", "unit", "text"),
    [
        (1.76563, 0.00093, "V", "1.76563 ± 0.00093 V"),
        (-1.2, 0.05, "V", "−1.200 ± 0.050 V"),
        (9.36e-5, None, "A/V", "93.6 µS"),
        (0.1856, 0.0035, "V/decade", "0.1856 ± 0.0035 V/decade"),
        (123456.0, 20.0, "", "123456 ± 20"),
    ],
)
def test_a_value_is_written_to_the_second_digit_of_its_error(value, std, unit, text):
    one = Parameter(value=value, std=std, unit=unit, method="m", window=None, valid=True)
    assert value_text(one) == text
