"""A lot of the humidity switch that was started, run to its end and probed, in a record of its own."""

import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest


@dataclass(frozen=True)
class Kept:
    """A folder with a plan, and the record of a lot that was run from it."""

    folder: Path
    lot: str

    @property
    def record(self) -> Path:
        """The record."""
        return self.folder / "record.sqlite"


@pytest.fixture
def kept(made: Path, tmp_path: Path) -> Kept:
    """A copy of what the demo ran: plan, lab file, drawing and record, to change."""
    from filmwright.record import Store

    folder = tmp_path / "run"
    folder.mkdir()
    for name in ("plan.yaml", "lab.yaml", "humidity-switch.oas", "record.sqlite"):
        shutil.copy(made / "humidity-switch" / name, folder / name)
    shutil.copytree(made / "humidity-switch" / "record.sqlite.files", folder / "record.sqlite.files")
    with Store.open(folder / "record.sqlite") as store:
        (lot,) = store.lots()
    return Kept(folder, lot.name)


@pytest.fixture(scope="session")
def first_told(made: Path) -> dict[str, Any]:
    """The comparison of the demo's lot as it was first told."""
    from filmwright import desk
    from filmwright.record import Store

    record = made / "humidity-switch" / "record.sqlite"
    with Store.open(record) as store:
        (lot,) = store.lots()
    return desk.compare(lot.name, record=record).fields()


@pytest.fixture
def shipped_thermometer(tmp_path: Path) -> Path:
    """The smallest example, to change."""
    from filmwright import desk

    desk.new(tmp_path / "thermometer", "platinum-thermometer")
    return tmp_path / "thermometer"
