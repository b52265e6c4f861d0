"""A person's folder, made by the verb that people start with."""

import shutil
from pathlib import Path

import pytest

from filmwright import desk


@pytest.fixture(scope="session")
def shipped(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The three examples as ``new`` writes them; copied by those who change them."""
    root = tmp_path_factory.mktemp("examples")
    for name in ("humidity-switch", "delay-line", "platinum-thermometer"):
        desk.new(root / name, name)
    return root


@pytest.fixture
def thermometer(shipped: Path, tmp_path: Path) -> Path:
    """A copy of the smallest example."""
    return Path(shutil.copytree(shipped / "platinum-thermometer", tmp_path / "run"))
