"""A number without a source is refused, wherever it stands, and the tool that continuous integration runs ends with a failure."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from filmwright.knowledge import shipped

DATA = Path(shipped.__file__).parent / "data"
TOOL = Path(__file__).parents[2] / "tools" / "check_facts.py"
WHERE = [
    # one value of each kind of entry: file, with its source, without
    ("materials/metals.toml", "'4.5 g/cm³ ± 2 % | | deposition-monitor'", "'4.5 g/cm³ ± 2 %'"),
    ("materials/insulators.toml", "'3.9 ± 3 % | thermal | sze-1981'", "'3.9 ± 3 % | thermal'"),
    ("materials/metals.toml", "| 298 K to 1941 K | alcock-1984'", "| 298 K to 1941 K'"),
    ("materials/metals.toml", "Z 22; M 47.9 g/mol | argon, 50 eV to 10000 eV | yamamura-1996'", "Z 22; M 47.9 g/mol | argon, 50 eV to 10000 eV'"),
    ("media/etches.toml", "'25 Å/s ± 20 % | 20 °C | burns-2011'", "'25 Å/s ± 20 % | 20 °C'"),
    ("media/plasmas.toml", "williams-2003", "williams-20003"),
    ("resists.toml", "| dill-1975'", "'"),
    ("substances.toml", "'3 ppm | OSHA, 8 h average | niosh'", "'3 ppm | OSHA, 8 h average'"),
    ("substances.toml", "classified_by = 'clp-read'\n", ""),
    ("models.toml", "'2.649 g/cm³ ± 0.1 % | AT cut | lu-1972'", "'2.649 g/cm³ ± 0.1 % | AT cut'"),
]  # fmt: skip


@pytest.mark.property
@pytest.mark.parametrize(
    ("file", "old", "new"), WHERE, ids=[f"{file}: {new or old}" for file, old, new in WHERE]
)
def test_the_tool_fails_on_a_number_without_source(tmp_path: Path, file: str, old: str, new: str):
    folder = Path(shutil.copytree(DATA, tmp_path / "facts"))
    text = (folder / file).read_text("utf-8")
    assert old in text, "the shipped facts changed: change this test with them"
    (folder / file).write_text(text.replace(old, new, 1), "utf-8")
    told = subprocess.run([sys.executable, TOOL, folder], capture_output=True, text=True, check=False)
    assert told.returncode == 2, told.stdout
    assert "Traceback" not in told.stderr
    assert Path(file).stem in told.stdout or "source" in told.stdout, told.stdout
