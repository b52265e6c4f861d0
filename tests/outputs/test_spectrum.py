"""The spectrum of a place as a table and as a picture whose curve lies on its scale."""

import re
from xml.etree import ElementTree

import pytest

from filmwright.outputs import spectrum_csv, spectrum_svg

SVG = "{http://www.w3.org/2000/svg}"
POINTS = tuple((nm * 1e-9, part) for nm, part in ((400, 0.0), (500, 0.25), (600, 0.5), (700, 0.1)))


@pytest.mark.analytic
def test_the_table_has_wavelength_in_nanometres_and_the_share_of_light() -> None:
    lines = spectrum_csv(POINTS).splitlines()
    assert lines == ["wavelength [nm],reflectance [1]", "400,0", "500,0.25", "600,0.5", "700,0.1"]


@pytest.mark.analytic
def test_the_curve_lies_on_the_scale() -> None:
    text = spectrum_svg(POINTS, colour="#112233", name="blue", films="Au 5 nm / <Si>", seen_with="halogen")
    root = ElementTree.fromstring(text)
    (curve,) = [path for path in root.iter(f"{SVG}path") if path.get("fill") == "none"]
    numbers = [float(word) for word in re.findall(r"-?[\d.]+", curve.get("d") or "")]
    xs, ys = numbers[::2], numbers[1::2]
    ticks = {label.text: float(label.get("x") or 0) for label in root.iter(f"{SVG}text")}
    assert xs == pytest.approx([ticks["400"], ticks["500"], ticks["600"], ticks["700"]], abs=0.01)
    # 0, a quarter, a half and a tenth of the light; the scale ends at or above the largest.
    low, high = ys[0], ys[2]
    assert [(low - y) / (low - high) for y in ys] == pytest.approx([0, 0.5, 1, 0.2], abs=1e-3)
    said = " ".join(root.itertext())
    assert "blue (#112233), halogen" in said
    assert "Au 5 nm / <Si>" in said
