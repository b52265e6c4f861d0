"""Damaged tables and workbooks end in a clear error or a flagged result: with a kept seed, a few hundred of them.

Ten thousand are read by ``python -m bench.fuzz 10000``.
"""

from __future__ import annotations

import importlib.util
import io
import zipfile
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest


def _bench() -> ModuleType:
    place = Path(__file__).parents[2] / "bench" / "fuzz.py"
    spec = importlib.util.spec_from_file_location("bench_fuzz", place)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


FUZZ = _bench()


@pytest.mark.property
@pytest.mark.parametrize("part", range(4))
def test_damaged_tables_end_in_a_clear_error_or_a_flagged_result(tmp_path: Path, part: int) -> None:
    random, sound = np.random.default_rng([FUZZ.SEED, part]), FUZZ.seeds()
    path = tmp_path / "damaged.csv"
    told = set()
    for number in range(100):
        content = FUZZ.damaged(sound[int(random.integers(len(sound)))], random)
        path.write_bytes(content)
        told.add(FUZZ.outcome(path, with_parameters=number % 10 == 0))
    assert {"refused", "read, something noticed"} <= told


@pytest.mark.property
def test_the_sound_tables_are_read(tmp_path: Path) -> None:
    for number, content in enumerate(FUZZ.seeds()):
        path = tmp_path / f"{number}.csv"
        path.write_bytes(content)
        assert FUZZ.outcome(path).startswith("read")


@pytest.mark.property
def test_damaged_workbooks_end_in_a_clear_error_or_a_flagged_result(tmp_path: Path) -> None:
    random = np.random.default_rng(FUZZ.SEED)
    whole = _workbook([["VG (V)", "VD (V)", "ID (A)"], *[[v / 4, 0.1, 1e-9 * v * v] for v in range(40)]])
    path = tmp_path / "damaged.xlsx"
    path.write_bytes(whole)
    assert FUZZ.outcome(path).startswith("read")
    told = set()
    for _ in range(120):
        content = bytearray(whole)
        for at in random.integers(0, len(content), int(random.integers(1, 15))):
            content[int(at)] = int(random.integers(256))
        path.write_bytes(
            bytes(content[: int(random.integers(1, len(content)))] if random.random() < 0.2 else content)
        )
        told.add(FUZZ.outcome(path, with_parameters=False))
    assert "refused" in told


def _workbook(rows: list[list[str | float]]) -> bytes:
    """The smallest .xlsx that holds the rows, stored without compression so that damage reaches the cells (ECMA-376)."""
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    office = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    package = "http://schemas.openxmlformats.org/package/2006"
    cells = [
        "".join(
            f'<c t="inlineStr"><is><t>{c}</t></is></c>' if isinstance(c, str) else f"<c><v>{c!r}</v></c>"
            for c in row
        )
        for row in rows
    ]
    link = f'<Relationships xmlns="{package}/relationships"><Relationship Id="r1" Type="{office}/'
    parts = {
        "[Content_Types].xml": f'<Types xmlns="{package}/content-types"><Default Extension="xml" ContentType="application/xml"/></Types>',
        "_rels/.rels": f'{link}officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/_rels/workbook.xml.rels": f'{link}worksheet" Target="worksheets/sheet1.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{main}" xmlns:r="{office}"><sheets><sheet name="Data" sheetId="1" r:id="r1"/></sheets></workbook>',
        "xl/worksheets/sheet1.xml": f'<worksheet xmlns="{main}"><sheetData>{"".join(f"<row>{c}</row>" for c in cells)}</sheetData></worksheet>',
    }
    memory = io.BytesIO()
    with zipfile.ZipFile(memory, "w") as bundle:
        for name, text in parts.items():
            bundle.writestr(name, text)
    return memory.getvalue()
