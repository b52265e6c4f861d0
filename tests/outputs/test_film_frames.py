"""Frames of the story and the moving picture: size, words, pace, and colours that stay flat."""

import io
import re
from itertools import pairwise

import numpy as np
import pytest
from PIL import Image

from filmwright.outputs import FRAME, Story, StoryStep, frame_png, frame_svg, gif_of, section_svg
from filmwright.outputs.section import SectionPicture


@pytest.fixture(scope="module")
def story(stages, legend):
    steps = []
    for k, (before, after) in enumerate(pairwise(["start", "blanket", "gate", "dielectric"]), start=1):
        picture = SectionPicture(
            section=stages[after],
            previous=stages[before],
            kinds=legend.kinds,
            symbols=legend.symbols,
            title="T",
            prefix=f"s{k}-",
        )
        steps.append(
            StoryStep(
                number=f"{k}.1",
                title=f"Make the {after}",
                caption=f"The {after} is there for a reason.",
                changed="New: something.",
                section=section_svg(picture),
                seconds=float(k),
            )
        )
    return Story(title="A <story>", steps=steps, invented=True)


@pytest.fixture(scope="module")
def frames(story):
    return [frame_png(story, k) for k in range(3)]


def dots(frame):
    return np.asarray(Image.open(io.BytesIO(frame)).convert("RGB"), dtype=int)


@pytest.mark.property
def test_a_frame_says_what_why_where_and_that_it_is_invented(story):
    frame = frame_svg(story, 1)
    for words in ("2.1  Make the gate", "The gate is there for a reason.", "New: something.", "step 2 of 3"):
        assert words in frame
    assert "invented example · A &lt;story&gt;" in frame
    names = re.findall(r' id="([^"]+)"', frame)
    assert len(names) == len(set(names))


@pytest.mark.analytic
def test_frames_have_the_size_that_is_stated(frames):
    assert {dots(frame).shape for frame in frames} == {(FRAME[1], FRAME[0], 3)}


@pytest.mark.analytic
def test_the_moving_picture_has_every_frame_at_its_pace(frames):
    film = Image.open(io.BytesIO(gif_of(frames, [1.0, 4.5, 99.0])))
    found = []
    for k in range(film.n_frames):
        film.seek(k)
        found.append(film.info["duration"])
    assert found == [2000, 4500, 9000], "held between 2 s and 9 s"
    assert film.info["loop"] == 0


@pytest.mark.analytic
def test_flat_colours_stay_flat(frames):
    """The commonest colours come through unchanged, and a dot far from the edges is never of another colour."""
    film = Image.open(io.BytesIO(gif_of(frames, [3.0] * 3)))
    for k, frame in enumerate(frames):
        film.seek(k)
        was, now = dots(frame), np.asarray(film.convert("RGB"), dtype=int)
        assert np.abs(was - now).mean() < 1.0
        packed = (was << np.array([16, 8, 0])).sum(axis=2)
        values, counts = np.unique(packed, return_counts=True)
        for value in values[np.argsort(-counts)][:12]:
            there = packed == value
            assert (now[there] == was[there]).all()
