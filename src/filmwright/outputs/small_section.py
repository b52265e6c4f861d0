"""The small section of the run sheet: films named at its right edge, no legend, ink for a photocopy."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from filmwright.outputs import palette, svg
from filmwright.outputs.drawing import (
    Look,
    areas,
    bar_across,
    bar_up,
    break_mark,
    clipped,
    exaggeration_text,
    ghosts,
)
from filmwright.outputs.frame import Frame, Window, fitted
from filmwright.outputs.geometry import Bodies, Film, extent, films, removed, sample_places, spans
from filmwright.outputs.section import fresh_films, window_of
from filmwright.outputs.section_notes import spread_out

_LEFT, _NAMES = 30.0, 94.0
_HEAD = 130.0
"""Room for the title and the exaggeration beside each other over a narrow section."""

_WIDE = 0.44
"""Mean width of a letter over the size of its font: long signs are set smaller instead of being cut."""


def small_section_svg(  # noqa: PLR0913 - what is shown, how large, and what stands on it
    section: Bodies,
    *,
    previous: Bodies | None = None,
    kinds: Mapping[str, str],
    symbols: Mapping[str, str],
    window: Window | None = None,
    size: tuple[float, float] = (372.0, 180.0),
    title: str = "",
    prefix: str = "",
) -> str:
    """A small section for paper.

    Parameters
    ----------
    section, previous : Bodies
        After and before the step; without ``previous`` nothing is emphasised.
    kinds, symbols : mapping from material to class, and to short sign
    window : Window or None
        Give before and after the same one.
    size : (width, height) [px]
    title : str
        A word above it, e.g. ``before``.
    prefix : str
        Starts every id; needed when several pictures share a page.
    """
    now = films(section)
    before = films(previous) if previous is not None else None
    gone = removed(before, now) if before is not None else ()
    window = window or window_of([section] if previous is None else [section, previous], fold=True)
    shown = {part.material: kinds.get(part.material, "insulator") for part in (*now, *gone)}
    prefix = prefix or ("a" if previous is not None else "b")
    look = Look(kinds=shown, symbols=symbols, prefix=prefix, family=svg.PAPER, hatch=1.15)
    width, height = size
    top = 20.0
    frame = fitted(window, _LEFT, top, width - _LEFT - _NAMES, height - top - 34.0)
    content = svg.element(
        "rect", x=frame.left, y=frame.top, width=frame.width, height=frame.height, fill="#ffffff"
    )
    content += areas(now, frame, look, fresh_films(now, before)) + ghosts(gone, frame, look)
    _, low, _, high = extent(now)
    if low < frame.z0 - 1:
        content += break_mark(frame)
    if high > frame.z1 + 1:
        content += break_mark(frame, at_top=True)
    bottom = frame.top + frame.height
    drawn = [
        palette.patterns(shown, prefix, look.hatch),
        clipped(content, frame, f"{prefix}clip"),
        svg.element(
            "rect",
            x=frame.left,
            y=frame.top,
            width=frame.width,
            height=frame.height,
            fill="none",
            stroke="#000",
            stroke_width=0.8,
        ),
        svg.label(_LEFT, 13, title, 14, font_weight=700),
        svg.label(_LEFT + max(frame.width, _HEAD), 13, exaggeration_text(frame), 12, text_anchor="end"),
        bar_up(frame, _LEFT - 10, bottom, 0.5 * frame.height, 12),
        bar_across(frame, _LEFT, bottom + 10, 0.35 * frame.width, 12),
        _names(now, gone, fresh_films(now, before), frame, look),
    ]
    used = bottom + 32
    return svg.document(
        width, used, svg.element("g", "".join(drawn), color="#000000"), title or "section", svg.PAPER
    )


def _names(now: Sequence[Film], gone: Sequence[Film], fresh: frozenset[str], frame: Frame, look: Look) -> str:
    """Short signs at the right edge, each with a line to its film; new ones bold, removed ones struck."""
    xs = sample_places(frame.x0, frame.x1, 121)
    left = {part.film for part in now}
    wanted = [(part, part.film in fresh, False) for part in now]
    wanted += [(part, False, True) for part in gone if part.film not in left]
    places = [place for part, _, _ in wanted if (place := _handle(part, xs, frame)) is not None]
    rows = [row for row in wanted if _handle(row[0], xs, frame) is not None]
    low, high = frame.top + 4, frame.top + frame.height + 4
    gap = min(15.0, (high - low) / max(1, len(rows) - 1)) if len(rows) > 1 else 15.0
    heights = spread_out([y for _, y in places], gap, low, high)
    parts = []
    edge = frame.left + frame.width
    for (part, new, off), (x, y), at in zip(rows, places, heights, strict=True):
        text = look.symbol(part.material)
        parts.append(svg.line(x, y, edge + 4, y, 0.6) + svg.line(edge + 4, y, edge + 14, at, 0.6))
        parts.append(svg.element("circle", cx=x, cy=y, r=1.7, fill="#000", stroke="#fff", stroke_width=0.6))
        parts.append(
            svg.label(
                edge + 17,
                at + 4.4,
                text,
                min(13.5, gap + 0.5, (_NAMES - 19) / (_WIDE * len(text))),
                font_weight=700 if new else 400,
                text_decoration="line-through" if off else None,
            )
        )
    return "".join(parts)


def _handle(part: Film, xs: np.ndarray, frame: Frame) -> tuple[float, float] | None:
    """Where the line to a film ends: its right-most column, in the middle of its height [px]."""
    thickness, low, high = spans(part.rings, xs)
    seen = (np.nan_to_num(high, nan=-np.inf) > frame.z0) & (np.nan_to_num(low, nan=np.inf) < frame.z1)
    there = np.flatnonzero((thickness > 0) & seen)
    if not len(there):
        return None
    k = there[-2] if len(there) > 1 else there[-1]
    middle = (max(float(low[k]), frame.z0 + 12 / frame.up) + min(float(high[k]), frame.z1)) / 2
    return frame.x(float(xs[k])), frame.y(middle)
