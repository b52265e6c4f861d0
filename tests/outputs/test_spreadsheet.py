"""What a spreadsheet would run as a formula is marked as text in every table that is written; numbers stay numbers.

The list of first characters is that of OWASP's page "CSV Injection".
"""

import csv
import io
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import filmwright
from filmwright.outputs import csv_text, harmless, table_bytes

RUN = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


@pytest.mark.literature
@pytest.mark.parametrize("first", RUN)
def test_text_that_would_be_run_is_marked_as_text(first):
    assert harmless(f"{first}1+cmd|' /C calc'!A0") == f"'{first}1+cmd|' /C calc'!A0"
    assert harmless(f"  {first}SUM(A1)") == f"'  {first}SUM(A1)"


@pytest.mark.analytic
@pytest.mark.parametrize("cell", [-0.5, 0, None, True, "-0.5", "+1e-3", "2.", "58 nm", "W1-T07", ""])
def test_numbers_and_plain_words_stay_as_they_are(cell):
    assert harmless(cell) is cell


@pytest.mark.property
@given(st.text(max_size=20), st.floats(allow_nan=False))
def test_a_table_read_back_has_no_cell_that_would_be_run(text, number):
    lines = list(csv.reader(io.StringIO(csv_text([("name", "value"), (text, number)]), newline="")))
    (cell, value) = lines[1]
    assert cell in {text, f"'{text}"}
    assert float(value) == number
    run = cell.lstrip(" ")[:1]
    assert run not in RUN or re.fullmatch(r"[+-]?[0-9.eE+-]+", cell)


@pytest.mark.analytic
def test_heads_and_cells_of_a_table_of_results_are_marked_too():
    raw = table_bytes([{"=head": "=1+1", "value": -5.0}], "csv").decode("utf-8-sig")
    assert raw == "'=head,value\r\n'=1+1,-5.0\r\n"


@pytest.mark.property
def test_comma_separated_text_is_written_in_one_place_only():
    source = Path(filmwright.__file__).parent
    writers = {
        path.relative_to(source).as_posix()
        for path in source.rglob("*.py")
        if re.search(r"csv\.(writer|DictWriter)\(|\.to_csv\(", path.read_text("utf-8"))
    }
    assert writers == {"outputs/spreadsheet.py"}
