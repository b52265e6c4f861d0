"""What the themes promise: contrast that can be read, and no blue light beside resist."""

from __future__ import annotations

import re

import pytest

from filmwright.web.render import STATIC

pytestmark = pytest.mark.reference

LOOK = (STATIC / "look.css").read_text("utf-8")


def tokens(theme):
    """The colours of a theme by name."""
    start = ":root {" if theme == "paper" else '[data-theme="amber"] {'
    block = LOOK[LOOK.index(start) :].split("}")[0]
    return dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", block))


def luminance(colour):
    """Relative luminance of an sRGB colour, as WCAG 2.2 defines it."""
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    """Contrast ratio of WCAG 2.2: (L1 + 0.05) / (L2 + 0.05)."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_ratio_is_that_of_the_standard():
    assert contrast("#ffffff", "#000000") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("theme", ["paper", "amber"])
@pytest.mark.parametrize(
    ("front", "back", "least"),
    [
        ("ink", "paper", 7),
        ("ink", "wash", 7),
        ("quiet", "paper", 4.5),
        ("quiet", "wash", 4.5),
        ("accent", "paper", 4.5),
        ("accent", "wash", 4.5),
        ("on-action", "action", 4.5),
        ("on-loud", "loud", 7),
        ("edge", "paper", 3),
    ],
)
def test_what_is_read_stands_out(theme, front, back, least):
    colours = tokens(theme)
    assert contrast(colours[front], colours[back]) >= least


def test_the_amber_theme_holds_no_blue():
    assert {colour[5:] for colour in tokens("amber").values()} == {"00"}
    assert set(tokens("amber")) == set(tokens("paper"))
