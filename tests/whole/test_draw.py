"""What ``draw`` writes beside the page: frames, a moving picture, a window; and what it does without a drawing."""

import io
import xml.etree.ElementTree as ET

import pytest
from PIL import Image

from filmwright import desk
from filmwright.errors import BadInput

ON = "2026-11-25"


@pytest.mark.whole
def test_frames_and_moving_picture_have_every_step_and_say_their_size(thermometer):
    told = []
    answer = desk.draw(
        thermometer / "plan.yaml",
        on=ON,
        png=thermometer / "frames",
        gif=thermometer / "story.gif",
        tell=lambda *words: told.append(words),
    )
    frames = sorted((thermometer / "frames").glob("*.png"))
    film = Image.open(io.BytesIO((thermometer / "story.gif").read_bytes()))
    assert len(frames) == film.n_frames == len(told) == 36
    assert told[0][:2] == (0, 36)
    size = sum(path.stat().st_size for path in (*frames, thermometer / "story.gif")) / 1e6
    assert answer.said[-1] == f"36 frames of 1280 × 800 dots, {size:.1f} MB"
    assert {Image.open(io.BytesIO(path.read_bytes())).size for path in frames} == {(1280, 800)}


@pytest.mark.whole
def test_a_window_is_named_by_a_device_or_by_lengths_and_is_in_scale(thermometer):
    for window, wide in (("C1", None), ("100 um, 200 um, 400 um, 350 um", 300_000.0)):
        answer = desk.draw(thermometer / "plan.yaml", on=ON, window=window)
        assert "window of the finished die" in answer.said[-1]
        for name in ("window.svg", "window-seen.svg"):
            root = ET.fromstring((thermometer / "pictures" / name).read_text(encoding="utf-8"))
            bar = next(node for node in root.iter() if node.get("data-bar"))
            scale = float(bar.get("data-px")) / float(bar.get("data-nm"))
            if wide:
                assert 876 / wide == pytest.approx(scale, rel=1e-6)


@pytest.mark.whole
@pytest.mark.parametrize("window", ["T99", "1 um, 2 um, 3 um", "3 um, 0 um, 1 um, 9 um", "a, b, c, d"])
def test_a_window_that_is_none_is_told_with_a_remedy(thermometer, window):
    with pytest.raises(BadInput) as bad:
        desk.draw(thermometer / "plan.yaml", on=ON, window=window)
    (problem,) = bad.value.problems
    assert problem.got == f'"{window}"'
    assert "--window" in problem.remedy


@pytest.mark.whole
def test_without_a_drawing_columns_are_drawn(tmp_path):
    (tmp_path / "plan.yaml").write_text(
        "flow: Two films\nwafer:\n  body: silicon\n  diameter: 100 mm\n"
        "  films: [{material: silicon dioxide, thickness: 300 nm}]\n"
        "steps:\n  - deposit: titanium\n    method: electron-beam evaporation\n    thickness: 60 nm\n",
        encoding="utf-8",
    )
    answer = desk.draw(tmp_path / "plan.yaml", on=ON)
    assert answer.said == ("no drawing, so no section: columns of films",)
    (picture,) = (tmp_path / "pictures" / "sections").glob("*.svg")
    words = [
        "".join(node.itertext())
        for node in ET.fromstring(picture.read_text(encoding="utf-8")).iter()
        if node.tag.endswith("text")
    ]
    assert {"Ti", "60 nm", "SiO₂", "300 nm", "Si"} <= set(words)
