"""The examples of the notebook page run, in their order, on the table of an invented device."""

import re
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pandas
import pytest

PAGE = Path(__file__).resolve().parents[2] / "docs" / "notebook.md"
BLOCKS = re.findall(r"```python\n(.*?)```", PAGE.read_text("utf-8"), flags=re.DOTALL)


@pytest.fixture(scope="module")
def lived(tmp_path_factory):
    """Names that the examples leave behind, and the folder in which they ran."""
    folder = tmp_path_factory.mktemp("notebook")
    gate = np.linspace(-2, 8, 51)
    amps = 1e-12 + 1e-7 * np.clip(gate - 1, 0, None)
    rows = "".join(f"{g:.2f},0.1,{i:.6e},1e-13\n" for g, i in zip(gate, amps, strict=True))
    (folder / "T07.csv").write_text("VG (V),VD (V),ID (A),IG (A)\n" + rows, "utf-8")
    names: dict[str, object] = {}
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        for block in BLOCKS:
            exec(compile(block, str(PAGE), "exec"), names)
    return names, folder


@pytest.mark.whole
def test_the_examples_run_and_leave_what_they_promise(lived):
    names, folder = lived
    assert len(BLOCKS) >= 6
    assert names["thresholds"]["value"].iloc[0] == pytest.approx(1.0, abs=0.05)
    assert len(pandas.read_parquet(folder / "parameters.parquet")) == len(names["table"])
    assert (folder / "T07.pdf").read_bytes().startswith(b"%PDF")
    assert names["live"][0].data[0].name.startswith("V_D 0.1 V")
    assert b"<svg" in names["svg"]


@pytest.mark.whole
def test_curve_and_result_show_themselves_as_balanced_tables(lived):
    names, _ = lived

    class Cells(HTMLParser):
        depth, cells = 0, 0

        def handle_starttag(self, tag, attrs):
            self.depth += 1
            self.cells += tag == "td"

        def handle_endtag(self, tag):
            self.depth -= 1

    for shown, least in ((names["curve"]._repr_html_(), 14), (names["result"]._repr_html_(), 40)):
        parser = Cells()
        parser.feed(shown)
        assert parser.depth == 0
        assert parser.cells >= least
    assert "one direction only" in names["result"]._repr_html_()
    assert "−2 V" in names["curve"]._repr_html_() or "-2 V" in names["curve"]._repr_html_()
