"""The run sheet as it is printed: read back from the PDF."""

import re
import shutil
import subprocess

import pytest

from filmwright.emulate import Listing, Reading
from filmwright.errors import BadInput
from filmwright.outputs import (
    OpenFinding,
    RunSheet,
    SheetSetting,
    SheetStep,
    run_sheet_pdf,
    small_section_svg,
)
from filmwright.outputs.sheet import lot_text, qr_svg

EVIL = '#strong[x] $a$ <b> & \\ "q" @ref *bold*'


def step(k, **more):
    basis = {
        "code": f"GA-{k}7",
        "number": f"{k}.1",
        "title": f"Expose level {k}",
        "tool": "mask aligner",
        "recipe": "hard contact",
        "duration": "12 min",
        "settings": (
            SheetSetting(
                name="time",
                value="8.3 s",
                band="± 0.9 s",
                rests_on="lamp read 3 days ago: 12.1 mW/cm²",
                extra=0.25,
            ),
            SheetSetting(name="gap", value="20 µm", rests_on="common practice", per_wafer={"W2": "35 µm"}),
        ),
        "look": ("gate fingers along the flat",),
        "cautions": ("Ultraviolet light: never look past the shield.",),
        "gear": ("goggles",),
        "waste": "none",
        "interlock": "lamp house",
        "second_person": True,
        "hold": f"marks inside 1 µm, level {k}",
        "wait": "GA-97 within 2 h",
    }
    return SheetStep(**(basis | more))


def sheet(**more):
    basis = {
        "lot": "HS-0412",
        "wafers": ("W1", "W2"),
        "title": "Humidity switch",
        "digest": "3fa9c01b22de",
        "steps": tuple(step(k) for k in range(1, 8)),
        "total": "2 h",
        "findings": (
            OpenFinding(severity="stop", step="GA-17", what="developer takes 12 nm", remedy="cover it"),
        ),
    }
    return RunSheet(**(basis | more))


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """Text of each page of a sheet, by the arguments of ``sheet``."""
    if not shutil.which("pdftotext"):
        pytest.skip("pdftotext is not installed")

    def read(made):
        path = tmp_path_factory.mktemp("sheet") / "sheet.pdf"
        path.write_bytes(run_sheet_pdf(made))
        text = subprocess.run(
            ["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True
        ).stdout
        return text.split("\f")[:-1]

    return read


@pytest.mark.whole
def test_every_page_says_lot_wafers_digest_and_page_of_all(pages):
    found = pages(sheet())
    assert len(found) >= 4
    for k, text in enumerate(found, start=1):
        for words in ("HS-0412", "W1, W2", "3fa9c01b22de", f"{k} of {len(found)}", "own procedure"):
            assert words in text, (words, k)


@pytest.mark.whole
def test_each_step_stands_whole_on_one_page(pages):
    found = pages(sheet())
    for k in range(1, 8):
        hold = f"marks inside 1 µm, level {k}"
        (page,) = [text for text in found if hold in text]
        for words in (
            f"Expose level {k}",
            f"GA-{k}7",
            "8.3 s",
            "± 0.9 s",
            "lamp read 3 days ago",
            "CAUTION",
            "initials",
        ):
            assert words in page


@pytest.mark.whole
def test_a_step_prints_all_that_the_bench_needs(pages):
    text = re.sub(r"\s+", " ", " ".join(pages(sheet(steps=(step(1),)))))
    for words in (
        "mask aligner",
        "hard contact",
        "gate fingers along the flat",
        "looks like",
        "Second person needed",
        "goggles",
        "Waste:",
        "Interlock:",
        "go",
        "rework",
        "scrap",
        "GA-97 within 2 h",
        "start it by",
        "35 µm",
        "end point seen after",
        "× 1.25",
        "Rework, extra and repeated steps",
        "Where it stood",
    ):
        assert words in text, words


@pytest.mark.whole
def test_readings_tables_neighbours_and_alarms_are_printed(pages):
    made = step(
        1,
        readings=(
            Reading(
                name="height of the edge",
                expected="60 nm (54 nm to 66 nm)",
                accepted="57 nm to 63 nm",
                times=3,
            ),
            Reading(name="force of the stylus"),
        ),
        tables=(
            Listing(
                title="Sweeps",
                columns=("", "what", "gate"),
                rows=(("1", "transfer", "0 to 6 V"),),
                note="up and back",
            ),
        ),
        neighbours=("solvents",),
        alarms=("chlorine 0.5 ppm",),
        runs=3,
        together="GA-19",
    )
    text = re.sub(r"\s+", " ", " ".join(pages(sheet(steps=(made,)))))
    for words in (
        "height of the edge",
        "60 nm (54 nm to 66 nm)",
        "the plan accepts 57 nm to 63 nm",
        "place 1",
        "place 3",
        "force of the stylus",
        "Sweeps",
        "0 to 6 V",
        "up and back",
        "Never with: solvents",
        "Alarm: chlorine 0.5 ppm",
        "in 3 runs",
        "One wafer at a time",
        "GA-19",
    ):
        assert words in text, words
    assert "place 4" not in text


@pytest.mark.whole
def test_an_open_stop_forbids_the_start_and_an_acknowledged_one_does_not(pages):
    assert "do not start" in re.sub(r"\s+", " ", pages(sheet())[0])
    finding = OpenFinding(
        severity="stop", step="GA-17", what="w", remedy="r", acknowledged="tested on chip 4"
    )
    text = re.sub(r"\s+", " ", pages(sheet(findings=(finding,)))[0])
    assert "do not start" not in text
    assert "tested on chip 4" in text


@pytest.mark.whole
def test_text_is_never_read_as_markup(pages):
    made = sheet(
        title=EVIL, steps=(step(1, title=EVIL, hold=EVIL, settings=(SheetSetting(name=EVIL, value=EVIL),)),)
    )
    text = re.sub(r"\s+", " ", " ".join(pages(made)))
    assert text.count("#strong[x]") >= 4
    assert "*bold*" in text


@pytest.mark.whole
def test_an_invented_example_says_so_on_every_page(pages):
    for text in pages(sheet(invented=True)):
        assert "invented" in text
    assert all("invented" not in text for text in pages(sheet()))


@pytest.mark.whole
def test_a_sheet_with_sections_gives_the_same_bytes_again(stages, legend):
    pictures = {
        "before": small_section_svg(stages["island"], kinds=legend.kinds, symbols=legend.symbols),
        "after": small_section_svg(
            stages["contacts"], previous=stages["island"], kinds=legend.kinds, symbols=legend.symbols
        ),
    }
    made = sheet(steps=(step(1, **pictures),))
    one, other = run_sheet_pdf(made), run_sheet_pdf(made)
    assert one.startswith(b"%PDF")
    assert one == other


@pytest.mark.property
@pytest.mark.parametrize("wrong", [{"steps": ()}, {"wafers": ()}, {"wafers": tuple("ABCDEF")}])
def test_what_cannot_be_printed_is_refused_with_a_remedy(wrong):
    with pytest.raises(BadInput) as caught:
        run_sheet_pdf(sheet(**wrong))
    assert caught.value.problems[0].remedy


@pytest.mark.property
def test_the_code_of_a_lot_carries_its_name_and_digest():
    assert lot_text(sheet()) == "filmwright lot=HS-0412 flow=3fa9c01b22de"
    assert qr_svg(lot_text(sheet())) != qr_svg(lot_text(sheet(lot="HS-0413")))
