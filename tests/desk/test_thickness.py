"""The verb thickness: spectra and angles with the films as people write them."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest

from filmwright.desk.optics import ThicknessAnswer, thickness
from filmwright.errors import BadInput
from filmwright.knowledge import optical
from filmwright.process import illuminated, psi_delta, stacks
from filmwright.units import to_si

NM = to_si(1, "nm")
WAVES = np.arange(400, 805, 10) * NM
STACK = [("zinc oxide", 42 * NM), ("silicon nitride", 100 * NM), ("chromium", 0.0)]


@pytest.fixture
def spectrum(tmp_path: Path) -> Path:
    """Reflectance of an invented island."""
    index = {name: optical(name).index(WAVES) for name, _ in STACK}
    shares = illuminated(stacks(WAVES, [STACK], index)).reflectance[0]
    rows = "".join(f"{wave / NM:.0f}, {100 * share:.3f}\n" for wave, share in zip(WAVES, shares, strict=True))
    path = tmp_path / "island.csv"
    path.write_text(f"wavelength (nm), reflectance (%)\n{rows}", "utf-8")
    return path


def angles(folder: Path, name: str, film: float) -> Path:
    """Angles of nine places of an invented wafer: film nm of index 1.5 on 2 nm of oxide on silicon, thinner at the rim."""
    wave = np.array([633.0]) * NM
    index = {
        "silicon dioxide": optical("silicon dioxide").index(wave),
        "silicon": optical("silicon").index(wave),
        "film": 1.5,
    }
    lines = ["#Lambda\tAOI\tDelta\tPsi\tZone\tX_pos\tY_pos", "#nm\tdeg\tdeg\tdeg\t-\tmm\tmm"]
    for x in (-30, 0, 30):
        for y in (-30, 0, 30):
            d = film * (1 - 0.1 * (x * x + y * y) / 2500)
            stack = stacks(wave, [[("film", d * NM), ("silicon dioxide", 2 * NM), ("silicon", 0.0)]], index)
            for degrees in (55, 62, 69):
                psi, delta = (math.degrees(each[0, 0]) for each in psi_delta(stack, math.radians(degrees)))
                lines.append(f"633\t{degrees}\t{delta:.5f}\t{psi:.5f}\t1\t{x}\t{y}")
    path = folder / name
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return path


@pytest.mark.analytic
def test_a_spectrum_tells_the_film_that_was_left_open(spectrum: Path):
    found = thickness(spectrum, "ZnO / silicon nitride 100 nm / Cr", up_to="500 nm", spread="0.5 %")
    assert found.film == "zinc oxide"
    best, *others = found.places[0].orders
    assert best.thickness == pytest.approx(42 * NM, abs=0.05 * NM)
    assert others
    assert all(each.odds < 1e-6 for each in others)
    assert any("Johnson" in line for line in found.said)
    beneath = thickness(
        spectrum, "zinc oxide 42 nm / silicon nitride / chromium", up_to="500 nm", free_index=0.1
    )
    assert beneath.places[0].orders[0].thickness == pytest.approx(100 * NM, abs=0.2 * NM)
    assert json.loads(json.dumps(found.fields()))["places"][0]["orders"][0]["odds"] == 1.0


@pytest.mark.analytic
def test_two_maps_tell_the_film_between_them(tmp_path: Path):
    before, after = angles(tmp_path, "before.dat", 0.0), angles(tmp_path, "after.dat", 80.0)
    found = thickness(after, "clear 1.48 / silicon dioxide / silicon", up_to="200 nm", before=before)
    assert isinstance(found, ThicknessAnswer)
    assert found.grown is not None
    # 80 nm at the centre, a tenth less at 50 mm; the map reaches 30·√2 mm.
    assert found.grown.fit.centre == pytest.approx(80 * NM, abs=0.05 * NM)
    assert found.grown.fit.bowl == pytest.approx(-8 * 0.72 * NM, abs=0.1 * NM)
    assert found.grown.index == pytest.approx(1.5, abs=1e-3)
    assert found.fields()["map"]["radial_nm"] == pytest.approx(-5.76, abs=0.1)
    alone = thickness(before, "silicon dioxide / silicon", up_to="100 nm")
    assert len(alone.places) == 9
    assert all(place.orders[0].thickness == pytest.approx(2 * NM, abs=0.01 * NM) for place in alone.places)


@pytest.mark.property
@pytest.mark.parametrize(
    ("words", "said"),
    [
        ({"films": "zinc oxide"}, "one film without a thickness"),
        ({"films": "zinc oxide 40 nm / chromium"}, "one film without a thickness"),
        ({"films": "zinc oxide / silicon nitride / chromium"}, "write the thickness of all films but one"),
        ({"films": "zink oxide / chromium"}, 'did you mean "zinc oxide"'),
        ({"films": "copper oxide / silicon"}, "covers visible light"),
        ({"films": "zinc oxide / chromium", "up_to": "2"}, "length"),
        ({"films": "zinc oxide / chromium", "up_to": "0 nm"}, "above zero"),
        ({"films": "zinc oxide / chromium", "free_index": -0.1}, "from 0 to below 1"),
        (
            {"films": "zinc oxide / silicon dioxide / silicon", "before": Path("b.dat")},
            "a map is made of angles",
        ),
        ({"films": "zinc oxide / chromium", "before": Path("b.dat")}, "the film beneath and the body"),
    ],
)
def test_spoiled_words_are_told_with_a_remedy(spectrum: Path, words: dict[str, object], said: str):
    with pytest.raises(BadInput, match=said) as trouble:
        thickness(spectrum, **words)
    assert all(problem.remedy for problem in trouble.value.problems)


@pytest.mark.property
def test_another_data_set_may_be_named(spectrum: Path):
    films = "zinc oxide / silicon nitride 100 nm / chromium"
    usual = thickness(spectrum, films, up_to="100 nm").places[0].orders[0]
    found = thickness(spectrum, films, up_to="100 nm", data=["main/Cr/Rakic-LD"])
    assert any("chromium: main/Cr/Rakic-LD" in line for line in found.said)
    assert any("other data sets: main/Cr/Johnson" in line for line in found.said)
    assert found.places[0].orders[0].reduced_chi2 > 10 * usual.reduced_chi2
    with pytest.raises(BadInput, match="did you mean"):
        thickness(spectrum, films, up_to="100 nm", data=["main/Cr/Rakic"])


@pytest.mark.property
def test_all_problems_come_at_once(spectrum: Path):
    with pytest.raises(BadInput) as trouble:
        thickness(spectrum, "zink oxide / chromium", up_to="2", spread="1 nm", free_index=2.0)
    assert len(trouble.value.problems) == 4
