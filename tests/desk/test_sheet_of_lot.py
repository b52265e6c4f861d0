"""The sheet of a lot is of the flow that the lot has now."""

import shutil
import subprocess
import uuid
from pathlib import Path

import pytest

from filmwright import desk
from filmwright.record import Event, Store


@pytest.mark.whole
@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext reads the page back")
def test_a_new_version_is_printed_and_said(shipped_thermometer: Path, tmp_path: Path):
    plan, record = shipped_thermometer / "plan.yaml", tmp_path / "record.sqlite"
    name = desk.run(plan, record=record).lot
    first = desk.sheet(plan, lot=name, record=record, into=tmp_path / "first.pdf")
    assert not any("version" in each for each in first.said)
    changed = plan.read_text("utf-8").replace("flow:", "flow: Warmer", 1)
    with Store.open(record) as store:
        sha256, started = store.keep_blob(changed.encode()), store.lot(name).started
        store.append(
            [
                Event(
                    id=str(uuid.uuid4()), lot=name, kind="flow", text="a new title", sha256=sha256,
                    happened=started, written=started, who="AB",
                )
            ]
        )  # fmt: skip
    second = desk.sheet(plan, lot=name, record=record, into=tmp_path / "second.pdf")
    assert any("version 2" in each for each in second.said)
    words = ["pdftotext", str(tmp_path / "second.pdf"), "-"]
    assert "Warmer" in subprocess.run(words, capture_output=True, text=True, check=True).stdout
