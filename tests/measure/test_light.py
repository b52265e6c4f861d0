"""Tables of optical instruments, as they come and as they should not."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from filmwright.errors import BadInput
from filmwright.measure import read_angles, read_spectrum
from filmwright.units import to_si

NM = to_si(1, "nm")
HEAD = "#Lambda\tAOI\tDelta\tPsi\tZone\tX_pos\tY_pos\n#nm\tdeg\tdeg\tdeg\t-\tmm\tmm\n"


def written(folder: Path, text: str) -> Path:
    path = folder / "table.txt"
    path.write_text(text, "utf-8")
    return path


@pytest.mark.analytic
@pytest.mark.parametrize(
    "text",
    [
        "wavelength (nm), reflectance (%)\n500, 31\n400, 25\n",
        "Wavelength [um];R\n0.5;0.31\n0.4;0.25\n",
        "# lambda\treflectance\n# nm\t%\n500\t31\n400\t25\n",
    ],
)
def test_a_spectrum_is_read_by_the_meaning_of_its_head(tmp_path: Path, text: str):
    found = read_spectrum(written(tmp_path, text))
    assert found.wavelength == pytest.approx([400 * NM, 500 * NM])
    assert found.reflectance == pytest.approx([0.25, 0.31])


@pytest.mark.analytic
def test_zones_are_averaged_and_sums_left_out(tmp_path: Path):
    # Four zones about 359.9° and 0.1° average to 0°; zone 0 is the instrument's own mean, zone 5 its range.
    rows = [(z, 360 - 0.1 if z % 2 else 0.1, 30 + 0.1 * z) for z in (1, 2, 3, 4)] + [(0, 180, 99), (5, 1, 1)]
    text = HEAD + "".join(f"658\t52\t{d}\t{p}\t{z}\t-6.061\t18.183\n" for z, d, p in rows)
    (found,) = read_angles(written(tmp_path, text))
    assert (found.x, found.y) == pytest.approx((to_si(-6.061, "mm"), to_si(18.183, "mm")))
    assert math.cos(found.delta[0, 0]) == pytest.approx(1.0)
    assert math.degrees(found.psi[0, 0]) == pytest.approx(30.25)
    # Range 0.3° of four readings: spread 0.3/2.059, error of the mean half of that.
    assert math.degrees(found.psi_std[0, 0]) == pytest.approx(0.3 / 2.059 / 2)


@pytest.mark.analytic
def test_places_are_told_apart_and_rounding_is_not(tmp_path: Path):
    rows = [(52, -30.306), (56, -30.305), (52, 18.183), (56, 18.189)]
    text = HEAD + "".join(f"658\t{a}\t170\t20\t1\t{x}\t0\n" for a, x in rows)
    found = read_angles(written(tmp_path, text))
    assert [each.psi.shape for each in found] == [(2, 1), (2, 1)]
    assert np.degrees(found[0].incidence) == pytest.approx([52, 56])


@pytest.mark.property
@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("wavelength (nm), reflectance\n500, 31\n", "% is not guessed"),
        ("wavelength, reflectance (%)\n500, 31\n", "length"),
        ("wavelength (nm), transmittance (%)\n500, 31\n", "reflectance cannot be found"),
        ("wavelength (nm), reflectance (%)\n500, 31\n510, oops\n", "a number"),
        ("wavelength (nm), reflectance (%)\n500, 31\n500, 32\n", "all different"),
        ("", "no head"),
    ],
)
def test_a_spoiled_spectrum_is_refused_with_a_remedy(tmp_path: Path, text: str, said: str):
    path = written(tmp_path, text)
    with pytest.raises(BadInput, match=said) as trouble:
        read_spectrum(path)
    for problem in trouble.value.problems:
        assert problem.file == str(path)
        assert problem.remedy


@pytest.mark.property
def test_spoiled_angles_are_refused_too(tmp_path: Path):
    with pytest.raises(BadInput, match="zones"):
        read_angles(written(tmp_path, HEAD + "658\t52\t170\t20\t0\t0\t0\n"))
    gap = HEAD + "658\t52\t170\t20\t1\t0\t0\n633\t56\t170\t20\t1\t0\t0\n"
    with pytest.raises(BadInput, match="gaps"):
        read_angles(written(tmp_path, gap))
    with pytest.raises(BadInput, match="check its name"):
        read_angles(tmp_path / "nothing.dat")
