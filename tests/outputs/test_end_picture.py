"""The picture of what is seen during an etch."""

import xml.etree.ElementTree as ET

import numpy as np
import pytest

from filmwright.emulate import EndTrace
from filmwright.outputs import end_trace_svg

TRACE = EndTrace(
    material="titanium",
    medium="a bath",
    time=np.linspace(0.0, 100.0, 11),
    end=80.0,
    end_low=60.0,
    end_high=120.0,
    total=95.0,
    first=75.0,
    last=85.0,
    wavelength=670e-9,
    reflectance=np.linspace(0.5, 0.1, 11),
    stages=((1.0, "#888888", "silver"), (0.0, "#ff0000", "red")),
    strip=((0.0, "#888888"), (50.0, "#ff0000")),
)


@pytest.mark.property
def test_the_curve_ends_where_its_numbers_do_and_nothing_leaves_the_picture():
    tree = ET.fromstring(end_trace_svg(TRACE, title="An etch"))
    words = " ".join(each.text or "" for each in tree.iter() if each.tag.endswith("text"))
    for said in ("An etch", "end point 80 s", "laser 670 nm", "100% silver", "0% red", "time [s]"):
        assert said in words
    # the band is cut at the last time that is shown: 60 of 100 s on
    band = next(e for e in tree.iter() if e.tag.endswith("rect") and "url" in e.get("fill", ""))
    assert float(band.get("width")) == pytest.approx(0.4 * 670, abs=0.1)
    path = next(each for each in tree.iter() if each.tag.endswith("path")).get("d")
    first, last = path[1:].split("L")[0], path[1:].split("L")[-1]
    heights = [float(first.split()[1]), float(last.split()[1])]
    # 50 % at first on a scale that goes to 50 %, 10 % at last: the difference is four fifths of the panel
    assert heights[1] - heights[0] == pytest.approx(0.8 * 150, abs=0.1)
