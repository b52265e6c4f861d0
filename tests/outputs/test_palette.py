"""Colours and hatches: stable, apart in grey, legible."""

import re
from itertools import pairwise

import numpy as np
import pytest

from filmwright.outputs.palette import CLASSES, contrast, ink, luminance, pattern

STACK = ["silicon", "silicon dioxide", "titanium", "aluminium oxide", "indium gallium zinc oxide", "gold"]


@pytest.mark.literature
def test_contrast_of_black_and_white_is_21():
    """WCAG 2.2, definition of contrast ratio: 21:1 for black on white (published)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0, abs=1e-9)


@pytest.mark.analytic
def test_neighbours_of_a_usual_stack_differ_in_grey():
    for below, above in pairwise(STACK):
        assert contrast(ink(below).fill, ink(above).fill) > 1.25, (below, above)


# Machado, Oliveira and Fernandes, IEEE Trans. Vis. Comput. Graph. 15 (2009) 1291, doi:10.1109/TVCG.2009.113: matrices at
# full severity, for linear light (published; their rows add up to one, so that grey stays grey).
SEEN = {
    "usual": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "without long-wave cones": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "without middle-wave cones": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "without short-wave cones": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}
# IEC 61966-2-1: linear sRGB to XYZ; its white is the sum of the columns.
TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
RESISTS = ("positive novolak resist", "two-layer lift-off resist")
NEIGHBOURS = [
    ("silicon", "silicon dioxide"),
    ("silicon dioxide", "titanium"),
    ("titanium", "aluminium oxide"),
    ("silicon dioxide", "aluminium oxide"),
    ("aluminium oxide", "indium gallium zinc oxide"),
    ("indium gallium zinc oxide", "titanium"),
    ("titanium", "gold"),
    ("gold", "aluminium oxide"),
    ("silicon dioxide", "chromium"),
    ("chromium", "silicon nitride"),
    ("silicon dioxide", "silicon nitride"),
    ("silicon nitride", "zinc oxide"),
    ("zinc oxide", "molybdenum"),
    ("silicon nitride", "molybdenum"),
    ("titanium", "platinum"),
    ("platinum", "aluminium oxide"),
    *(
        (resist, other)
        for resist in RESISTS
        for other in (
            "titanium",
            "gold",
            "platinum",
            "molybdenum",
            "zinc oxide",
            "indium gallium zinc oxide",
            "aluminium oxide",
        )
    ),
]


def lab(colour, matrix):
    """CIE 1976 L*a*b* of an sRGB colour as one with these cones sees it."""
    c = np.array([int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)])
    linear = np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)
    ratio = TO_XYZ @ np.clip(np.array(matrix) @ linear, 0, 1) / TO_XYZ.sum(axis=1)
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


@pytest.mark.analytic
def test_grey_stays_grey_in_every_simulated_eye():
    for matrix in SEEN.values():
        assert np.array(matrix).sum(axis=1) == pytest.approx([1, 1, 1], abs=2e-6)
        assert np.abs(lab("#808080", matrix)[1:]).max() < 0.1


@pytest.mark.literature
@pytest.mark.parametrize("eye", SEEN)
def test_films_that_touch_in_the_bundled_flows_stay_apart_for_the_colour_blind(eye):
    """About 2.3 is a just noticeable difference of this measure (Mahy and others 1994, published); five times that is asked."""
    for one, other in NEIGHBOURS:
        apart = float(np.linalg.norm(lab(ink(one).fill, SEEN[eye]) - lab(ink(other).fill, SEEN[eye])))
        assert apart > 5 * 2.3, (one, other, apart)


@pytest.mark.property
@pytest.mark.parametrize("kind", CLASSES)
def test_outline_and_hatch_show_on_their_film_and_outline_or_film_on_paper(kind):
    for name in [*STACK, "kryptonium oxide", "x", "βαρύς", "chromium"]:
        drawn = ink(name, kind)
        assert contrast(drawn.fill, drawn.line) >= 1.8
        assert max(contrast(drawn.line, "#ffffff"), contrast(drawn.fill, "#ffffff")) >= 3.0


@pytest.mark.property
def test_a_derived_colour_depends_on_the_name_alone():
    assert ink("kryptonium", "conductor") == ink("kryptonium", "conductor")
    assert ink("kryptonium", "conductor").fill != ink("xenonium", "conductor").fill


@pytest.mark.analytic
def test_each_class_has_its_own_hatch():
    marks = {re.sub("#[0-9a-f]{6}", "", pattern("anything", kind).split("/>", 1)[1]) for kind in CLASSES}
    assert len(marks) == len(CLASSES)


@pytest.mark.analytic
def test_luminance_of_grey_is_linear_light():
    assert luminance("#808080") == pytest.approx(((128 / 255 + 0.055) / 1.055) ** 2.4)


@pytest.mark.property
def test_a_pattern_escapes_the_name_of_its_material():
    assert "<script>" not in pattern("<script>alert(1)</script>", "conductor")
