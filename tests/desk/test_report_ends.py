"""The figures of the plasma etches in the report."""

import re
from pathlib import Path

import pytest


@pytest.mark.whole
def test_the_report_has_a_figure_for_each_plasma_etch_and_none_for_a_bath(made: Path):
    page = (made / "humidity-switch" / "report.html").read_text("utf-8")
    part = page.split('<h3 id="ends">')[1].split("<h2")[0]
    # The plan of the demo has one plasma etch among three: the pads are opened in boron trichloride, end point + 20 %.
    assert part.count("<figure>") == 1
    assert "boron trichloride" in part
    assert "invented" in part
    over, needed = (float(each) for each in re.findall(r"([0-9]+) %", part.split("</figcaption>")[0]))
    assert over == 20
    assert 0 < needed < over
