"""A person's folder, made by the verb that people start with."""

import shutil
from pathlib import Path

import pytest

from filmwright import desk

EXAMPLES = ("humidity-switch", "delay-line", "platinum-thermometer")


@pytest.fixture(scope="session")
def shipped(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The three examples as ``new`` writes them; nobody changes them."""
    root = tmp_path_factory.mktemp("shipped")
    for name in EXAMPLES:
        desk.new(root / name, name)
    return root


@pytest.fixture
def switch(shipped: Path, tmp_path: Path) -> Path:
    """A copy of the humidity switch to change."""
    return Path(shutil.copytree(shipped / "humidity-switch", tmp_path / "my-run"))


@pytest.fixture
def thermometer(shipped: Path, tmp_path: Path) -> Path:
    """A copy of the smallest example to change."""
    return Path(shutil.copytree(shipped / "platinum-thermometer", tmp_path / "my-run"))
