"""Colours and hatches: stable, apart in grey, legible."""

import re
from itertools import pairwise

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
