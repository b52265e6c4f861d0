"""Plots: valid, the same again, units on the axes, nothing left out."""

import re
import xml.etree.ElementTree as ET

import pytest

from filmwright.outputs import Share, share_svg


def every(prefix="x"):
    shares = [Share(cause="dielectric <38 nm>", amount=0.12, low=0.05, high=0.2)]
    return [share_svg(1.0, shares, 1.35, unit="V", name="threshold", prefix=prefix)]


@pytest.mark.property
def test_plots_are_valid_the_same_again_and_need_no_font_or_address():
    for one, other in zip(every(), every(), strict=True):
        ET.fromstring(one)
        assert one == other
        assert "<text" not in one
        assert "<style" not in one
        assert "http" not in re.sub(r'xmlns(:\w+)?="[^"]*"', "", one)
        assert "currentColor" in one


@pytest.mark.property
def test_two_plots_on_one_page_do_not_share_an_id():
    for one, other in zip(every("a"), every("b"), strict=True):
        ids = [set(re.findall(r'\bid="([^"]+)"', text)) for text in (one, other)]
        assert not ids[0] & ids[1]
        for text, own in zip((one, other), ids, strict=True):
            assert set(re.findall(r'(?:href="|url\()#([^")]+)', text)) <= own
