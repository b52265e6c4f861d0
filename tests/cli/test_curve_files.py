"""extract: the page, the figures for print and the tables that it writes, through the command line."""

import csv
from pathlib import Path

import numpy as np
import pandas
import pytest

from filmwright import desk
from filmwright.outputs import notebook_figures

SIZES = ("--width", "100 um", "--length", "10 um", "--capacitance", "62 nF/cm^2")


def table(device: str = "T07") -> str:
    """A loop of an invented device at one drain voltage: up, and down 0.5 V later."""
    gate = np.linspace(-2, 8, 51)
    up = 1e-12 + 1e-7 * np.clip(gate - 1, 0, None)
    down = 1e-12 + 1e-7 * np.clip(gate - 1.5, 0, None)
    rows = [*zip(gate, up, strict=True), *zip(gate[::-1], down[::-1], strict=True)]
    return "VG (V),VD (V),ID (A),IG (A)\n" + "".join(f"{g:.2f},0.1,{i:.6e},1e-13\n" for g, i in rows)


@pytest.fixture
def measured(tmp_path: Path) -> Path:
    (tmp_path / "T07.csv").write_text(table(), "utf-8")
    return tmp_path


@pytest.mark.whole
def test_page_figure_and_tables_are_written_and_named(filmwright, measured: Path):
    wanted = {
        "--page": "page.html",
        "--figure": "figure.pdf",
        "--csv": "rows.csv",
        "--parquet": "rows.parquet",
    }
    said = filmwright(
        "extract", "T07.csv", *SIZES, *(word for pair in wanted.items() for word in pair), "--json"
    )
    assert said.code == 0
    assert said.fields["written"] == list(wanted.values())
    page = (measured / "page.html").read_text("utf-8")
    bare = page.replace("http://www.w3.org/2000/svg", "").replace("http://www.w3.org/1999/xlink", "")
    assert "http:" not in bare
    assert "https:" not in bare
    assert page.count('id="figure-library"') == 1
    assert "V_T, tangent" in page
    assert "SHA-256" in page
    assert (measured / "figure.pdf").read_bytes().startswith(b"%PDF")
    with (measured / "rows.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    curves = said.fields["curves"]
    assert len(rows) == sum(len(curve["parameters"]) for curve in curves)
    written = pandas.read_parquet(measured / "rows.parquet")
    for row, (_, line) in zip(rows, written.iterrows(), strict=True):
        own = next(c for c in curves if c["direction"] == row["direction"])["parameters"][row["parameter"]]
        assert row["unit"] == (own["unit"] or "1") == line["unit"]
        assert (float(row["value"]) if row["value"] else None) == own["value"]
        assert np.isnan(line["value"]) if own["value"] is None else line["value"] == own["value"]


@pytest.mark.whole
def test_a_figure_of_no_known_kind_is_refused_before_anything_is_drawn(filmwright, measured: Path):
    said = filmwright("extract", "T07.csv", "--figure", "figure.gif")
    assert said.code == 2
    assert "ends in .svg, .pdf or .png" in said.err
    assert "write figure.pdf" in said.err


@pytest.mark.whole
def test_a_notebook_gets_table_figures_and_files(measured: Path):
    answer = desk.extract([measured / "T07.csv"], "100 um", "10 um", "62 nF/cm^2")
    shown = answer._repr_html_()
    assert shown.startswith("<table>")
    assert "threshold_voltage" in shown
    assert "<svg" in shown
    assert "<script" not in shown
    frame = answer.table()
    assert set(frame["direction"]) == {"forward", "backward"}
    assert answer.to_csv(measured / "a.csv").stat().st_size > 1000
    assert len(pandas.read_parquet(answer.to_parquet(measured / "a.parquet"))) == len(frame)
    live = notebook_figures(answer.plots()[0])
    assert live[0].data[0].x[0] == -2.0
    first, second, *_ = answer.to_figure(measured / "b.svg")
    assert (first.name, second.name) == ("b.svg", "b-2.svg")
