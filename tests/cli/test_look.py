"""The verb that tells how the die looks."""

import csv
import io
from pathlib import Path
from xml.etree import ElementTree

import pytest
from rich.console import Console

from filmwright import desk
from filmwright.cli.tables import print_look


@pytest.mark.whole
def test_look_tells_every_kind_of_place_with_its_films_and_colour(filmwright, thermometer: Path):
    fields = filmwright("look", "my-run/plan.yaml", "--json").fields
    areas = [each["area"]["value"] for each in fields["places"]]
    assert areas == sorted(areas, reverse=True)
    assert sum(areas) == pytest.approx(25.0, rel=1e-6)  # a die of 5 mm
    for each in fields["places"]:
        assert each["films"][-1]["material"] == "silicon"
        assert each["colour"]
        assert len(each["hex"]) == 7
        assert 0 <= each["luminance"] <= 1
    assert fields["light"] == "daylight D65"
    assert any("silicon:" in line for line in fields["optical_data"])
    assert [each["mask"] for each in fields["alignment_marks"]] == ["opening", "top"]


@pytest.mark.whole
def test_one_place_of_one_step_with_its_spectrum_and_a_picture(filmwright, thermometer: Path):
    said = filmwright(
        "look", "my-run/plan.yaml", "--step", "start", "--at", "1 mm, 2 mm", "--light", "halogen", "--na", "0.3",
        "--spectrum", "s.csv", "--picture", "die.svg", "--window", "C1", "--json",
    )  # fmt: skip
    fields = said.fields
    assert fields["step"] == "as bought"
    assert fields["at"] == {"x": 1000.0, "y": 2000.0, "unit": "um"}
    (place,) = fields["places"]
    assert [film["material"] for film in place["films"]] == ["silicon dioxide", "silicon"]
    rows = list(csv.reader(Path("s.csv").read_text("utf-8").splitlines()))
    assert rows[0] == ["wavelength [nm]", "reflectance [1]"]
    assert [float(rows[1][0]), float(rows[-1][0])] == [380.0, 780.0]
    assert all(0 <= float(row[1]) <= 1 for row in rows[1:])
    assert "halogen, numerical aperture 0.3" in Path("die.svg").read_text("utf-8")
    filmwright("look", "my-run/plan.yaml", "--spectrum", "s.svg")
    assert ElementTree.parse("s.svg").getroot().tag.endswith("svg")


@pytest.mark.whole
def test_for_people_it_fits_a_terminal(thermometer: Path):
    paper = io.StringIO()
    print_look(desk.look(thermometer / "plan.yaml"), Console(file=paper, width=100))
    said = paper.getvalue()
    assert "Contrast of the alignment marks" in said
    assert "SiO₂ 500 nm / Si" in said
    assert max(map(len, said.splitlines())) <= 100


@pytest.mark.whole
@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--light", "candle"), "daylight D65"),
        (("--na", "1.4"), "numerical aperture"),
        (("--at", "9 mm, 1 mm"), "within x 0 to 5000 µm"),
        (("--at", "here"), "two lengths"),
        (("--window", "1 um, 2 um"), "four lengths"),
        (("--step", "99"), "the step"),
        (("--picture", "die.pdf"), ".svg or .png"),
        (("--spectrum", "s.txt"), ".csv or .svg or .png"),
    ],
)
def test_what_cannot_be_looked_at_is_refused_in_words(filmwright, thermometer: Path, words, told):
    said = filmwright("look", "my-run/plan.yaml", *words)
    assert said.code == 2
    assert told in said.err


@pytest.mark.whole
def test_unknown_optics_are_said_and_have_no_spectrum(filmwright, thermometer: Path):
    plan = thermometer / "plan.yaml"
    text = plan.read_text("utf-8")
    assert "{material: silicon dioxide, thickness: 500 nm}" in text
    plan.write_text(text.replace("{material: silicon dioxide,", "{material: copper oxide,"), "utf-8")
    said = filmwright("look", "my-run/plan.yaml", "--step", "start")
    assert said.code == 0
    assert "not known" in said.out
    refused = filmwright("look", "my-run/plan.yaml", "--step", "start", "--spectrum", "s.csv")
    assert refused.code == 2
    assert "copper oxide" in refused.err
    assert not Path("s.csv").exists()
