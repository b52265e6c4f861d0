"""thickness: as a person types it."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

from filmwright.knowledge import optical
from filmwright.process import illuminated, stacks
from filmwright.units import to_si

DATA = (
    Path(os.environ.get("FILMWRIGHT_SHARED_DATA", Path(__file__).parents[3] / "shared" / "data"))
    / "ellipsometry"
)
NM = to_si(1, "nm")


@pytest.fixture
def spectrum(tmp_path: Path) -> Path:
    """300 nm of oxide on silicon, without noise."""
    waves = np.arange(450, 755, 5) * NM
    index = {name: optical(name).index(waves) for name in ("silicon dioxide", "silicon")}
    column = [("silicon dioxide", 300 * NM), ("silicon", 0.0)]
    shares = illuminated(stacks(waves, [column], index)).reflectance[0]
    rows = "".join(f"{w / NM:.0f}\t{r:.5f}\n" for w, r in zip(waves, shares, strict=True))
    path = tmp_path / "oxide.txt"
    path.write_text(f"wavelength (nm)\treflectance\n{rows}", "utf-8")
    return path


@pytest.mark.whole
def test_every_order_is_printed_with_its_interval(filmwright, spectrum: Path):
    said = filmwright("thickness", spectrum, "--films", "SiO2 / Si", "--up-to", "1 um", "--spread", "0.5 %")
    assert said.code == 0
    assert "300.00 ±" in said.out
    assert "Malitson" in said.out
    assert said.out.count("none") >= 2
    told = filmwright("thickness", spectrum, "--films", "SiO2 / Si", "--up-to", "1 um", "--json").fields
    assert told["places"][0]["orders"][0]["thickness_nm"] == pytest.approx(300, abs=0.01)


@pytest.mark.whole
def test_problems_have_exit_code_two(filmwright, spectrum: Path):
    said = filmwright("thickness", spectrum, "--films", "SiO2 300 nm / Si")
    assert said.code == 2
    assert "one film without a thickness" in said.err
    told = filmwright("thickness", spectrum, "--films", "glue / Si", "--json")
    assert told.code == 2
    assert told.fields["problems"][0]["got"] == '"glue"'


@pytest.mark.whole
@pytest.mark.skipif(not DATA.is_dir(), reason=f"measured maps are not at {DATA}")
def test_two_measured_maps_become_a_map_of_the_film_between(filmwright):
    said = filmwright(
        "thickness", DATA / "map_after.dat", "--before", DATA / "map_before.dat",
        "--films", "clear 1.5 / silicon dioxide / silicon", "--up-to", "300 nm",
    )  # fmt: skip
    assert said.code == 0
    assert "70.46 nm of 32 places" in said.out
    assert "(max − min) / (2 × mean)" in said.out
    assert "radial part" in said.out
