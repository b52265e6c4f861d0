"""The story as pictures for slides and messages: one frame a step, as PNG, and all of them as a moving GIF."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from typing import Any

from filmwright.outputs import svg
from filmwright.outputs.png import png_of
from filmwright.outputs.story import Story, StoryStep

FRAME = WIDTH, HEIGHT = 1280, 800
"""Width and height of a frame [px]."""

_HEAD, _FOOT, _EDGE, _PLAN = 118.0, 34.0, 20.0, 372.0
_COLOURS = 256
_SHORTEST, _LONGEST = 2.0, 9.0
"""For how long a frame of the GIF stands [s]."""


def frame_svg(story: Story, place: int) -> str:
    """One step as a frame of its own: title, caption, section, die, and how far the story has come.

    Parameters
    ----------
    story : Story
    place : int
        0 is the first step.
    """
    step = story.steps[place]
    room = HEIGHT - _HEAD - _FOOT - 8
    wide = WIDTH - 2 * _EDGE - (_PLAN + 16 if step.plan else 0)
    parts = [
        svg.element("rect", x=0.0, y=0.0, width=float(WIDTH), height=float(HEIGHT), fill="#ffffff"),
        *_caption(step),
        _placed(step.section, _EDGE, _HEAD, wide, room) if step.section else "",
        _placed(step.plan, WIDTH - _EDGE - _PLAN, _HEAD, _PLAN, room) if step.plan else "",
        *_progress(story, place),
    ]
    content = svg.element("g", "".join(parts), color="#15191f")
    return svg.document(WIDTH, HEIGHT, content, f"{step.number} {step.title}")


def _caption(step: StoryStep) -> Iterator[str]:
    yield svg.label(_EDGE, 40, f"{step.number}  {step.title}", 27, font_weight=700)
    lines = svg.fitted_words(step.caption, WIDTH - 2 * _EDGE, 19)[:2]
    for k, text in enumerate(lines):
        yield svg.label(_EDGE, 69 + 23 * k, text, 19)
    if step.changed:
        (text, *_) = svg.fitted_words(step.changed, WIDTH - 2 * _EDGE, 19)
        yield svg.label(_EDGE, 69 + 23 * len(lines), text, 19, font_weight=700)


def _progress(story: Story, place: int) -> Iterator[str]:
    y, count = HEIGHT - 22.0, len(story.steps)
    wide = WIDTH - 2 * _EDGE
    yield svg.line(_EDGE, y - 8, _EDGE + wide, y - 8, 3, stroke_opacity=0.18)
    yield svg.line(_EDGE, y - 8, _EDGE + wide * (place + 1) / count, y - 8, 3, stroke="#0d5566")
    made = "invented example · " if story.invented else ""
    yield svg.label(_EDGE, y + 12, f"{made}{story.title}", 15)
    yield svg.label(WIDTH - _EDGE, y + 12, f"step {place + 1} of {count}", 15, text_anchor="end")


def _placed(picture: str, x: float, y: float, width: float, height: float) -> str:
    """An SVG inside another one, as large as fits and not larger than life, at its upper left corner."""
    found = re.match(r'<svg [^>]*viewBox="0 0 ([\d.]+) ([\d.]+)"[^>]*>', picture)
    if found is None:
        raise ValueError("a picture of this room says its size in its viewBox")
    wide, tall = float(found[1]), float(found[2])
    scale = min(width / wide, height / tall)
    size = f'width="{svg.number(scale * wide)}" height="{svg.number(scale * tall)}"'
    head = f'<svg x="{svg.number(x)}" y="{svg.number(y)}" {size} viewBox="0 0 {found[1]} {found[2]}">'
    return head + picture[found.end() :]


def frame_png(story: Story, place: int, scale: float = 1.0) -> bytes:
    """A frame as PNG, ``scale`` times 1280 × 800 dots."""
    return png_of(frame_svg(story, place), scale=scale)


def gif_of(frames: Sequence[bytes], seconds: Sequence[float]) -> bytes:
    """Frames of one size as an animation that runs for ever.

    All share one table of the 256 commonest colours, and every dot gets the nearest of them: flat films stay flat, without
    dots of other colours.

    Parameters
    ----------
    frames : sequence of PNG
    seconds : sequence of float
        For how long each stands; held between 2 s and 9 s.
    """
    import numpy as np
    from PIL import Image

    pictures = [_packed(np.asarray(Image.open(io.BytesIO(frame)).convert("RGB"))) for frame in frames]
    colours, counts = np.unique(np.concatenate([each.ravel() for each in pictures]), return_counts=True)
    table = _parts(colours[np.argsort(-counts, kind="stable")][:_COLOURS])
    nearest = _nearest(_parts(colours), table)
    flat = []
    for each in pictures:
        picture = Image.fromarray(nearest[np.searchsorted(colours, each)])
        picture.putpalette(table.astype(np.uint8).ravel().tolist())
        flat.append(picture)
    told = io.BytesIO()
    flat[0].save(
        told,
        format="GIF",
        save_all=True,
        append_images=flat[1:],
        duration=[round(1000 * min(max(each, _SHORTEST), _LONGEST)) for each in seconds],
        loop=0,
        optimize=False,
    )
    return told.getvalue()


def _packed(dots: Any) -> Any:
    """Colours of an array (…, 3) as one whole number each."""
    wide = dots.astype("int64")
    return (wide[..., 0] << 16) | (wide[..., 1] << 8) | wide[..., 2]


def _parts(packed: Any) -> Any:
    """Red, green and blue of packed colours, array (n, 3)."""
    import numpy as np

    return np.stack([packed >> 16, (packed >> 8) & 255, packed & 255], axis=-1)


def _nearest(colours: Any, table: Any) -> Any:
    """Place in the table of the colour nearest to each, array (n,) of bytes."""
    import numpy as np

    found = np.empty(len(colours), dtype=np.uint8)
    for start in range(0, len(colours), 4096):
        apart = ((colours[start : start + 4096, None, :] - table[None, :, :]) ** 2).sum(axis=2)
        found[start : start + 4096] = apart.argmin(axis=1)
    return found
