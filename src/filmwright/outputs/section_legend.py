"""The legend of a section picture, and the signs written on its films."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from filmwright.outputs import palette, svg
from filmwright.outputs.drawing import Look
from filmwright.outputs.frame import Frame, Window, length_text
from filmwright.outputs.geometry import Film, extent, flat_thickness, sample_places, spans

WIDTH = 840.0
"""Of a section picture [px]: text stays readable where a page shows it at three quarters of its size."""


@dataclass(frozen=True, kw_only=True)
class Row:
    """One line of the legend."""

    film: Film
    thickness: str
    state: str


def thickness_text(part: Film, window: Window) -> str:
    """Thickness over flat ground in words; empty for a body that goes on below the window."""
    _, low, _, _ = extent([part])
    if low < window.z0 - 1.0:
        return ""
    found = flat_thickness(part, window.x0, window.x1)
    return " / ".join(dict.fromkeys(length_text(each) for each in found))


def legend_rows(
    now: Sequence[Film], gone: Sequence[Film], fresh: frozenset[str], window: Window
) -> list[Row]:
    lost = {part.film for part in gone}
    rows = []
    for part in reversed(now):
        state = "new" if part.film in fresh else "part gone" if part.film in lost else ""
        rows.append(Row(film=part, thickness=thickness_text(part, window), state=state))
    left = {part.film for part in now}
    rows.extend(
        Row(film=part, thickness="", state="removed") for part in reversed(gone) if part.film not in left
    )
    return rows


def legend_block(rows: Sequence[Row], look: Look, x: float, y: float) -> tuple[str, float]:
    """The legend, and the y below it: swatch, sign and thickness, below them what happened and the name."""
    parts = []
    short = len(rows) > 9
    for row in rows:
        parts.append(_swatch(row, look, x, y))
        name = look.symbol(row.film.material)
        told = row.thickness or row.state
        parts.append(svg.label(x + 39, y + 14, name, 14.5, font_weight=600))
        if svg.text_width(name, 14.5) + svg.text_width(told, 14) + 10 > WIDTH - 12 - x - 39:
            y += 16.0
        parts.append(svg.label(WIDTH - 12, y + 14, told, 14, text_anchor="end"))
        words = [row.state if row.thickness else "", row.film.material if row.film.material != name else ""]
        below = " · ".join(word for word in words if word)
        y += 17.0
        for text in () if short else svg.fitted_words(below, WIDTH - 12 - x - 39, 12.5):
            y += 13.5
            parts.append(svg.label(x + 39, y - 1, text, 12.5, fill_opacity=0.85))
        y += 9.0
    return "".join(parts), y


def _swatch(row: Row, look: Look, x: float, y: float) -> str:
    material = row.film.material
    gone = row.state == "removed"
    return svg.element(
        "rect",
        x=x,
        y=y,
        width=30.0,
        height=19.0,
        rx=2.0,
        fill="none" if gone else f"url(#{palette.pattern_id(material, look.prefix)})",
        stroke="currentColor" if row.state else palette.ink(material, look.kind(material)).line,
        stroke_width=2.2 if row.state == "new" else 1.0,
        stroke_dasharray="4 3" if gone else None,
    )


def symbols_inside(now: Sequence[Film], frame: Frame, look: Look) -> str:
    """Short signs written on films where there is room for them."""
    xs = sample_places(frame.x0, frame.x1, 121)
    parts = []
    for part in now:
        text = look.symbol(part.material)
        need = (7.6 * len(text) + 12) / frame.across
        thickness, low, high = spans(part.rings, xs)
        low, high = np.maximum(low, frame.z0 + 16 / frame.up), np.minimum(high, frame.z1)
        roomy = (thickness * frame.up >= 15) & (np.nan_to_num(high - low) * frame.up >= 15)
        best = _longest_run(roomy)
        if best is None or xs[best[1]] - xs[best[0]] < need:
            continue
        middle = (best[0] + best[1]) // 2
        x, y = frame.x(float(xs[middle])), frame.y(float(low[middle] + high[middle]) / 2)
        wide = 7.6 * len(text) + 8
        parts.append(
            svg.element(
                "rect",
                x=x - wide / 2,
                y=y - 7.5,
                width=wide,
                height=15.0,
                rx=3.0,
                fill="#ffffff",
                fill_opacity=0.82,
            )
            + svg.label(x, y + 4.4, text, 12.5, text_anchor="middle", font_weight=600, fill="#15191f")
        )
    return "".join(parts)


def _longest_run(flags: Any) -> tuple[int, int] | None:
    """First and last index of the longest run of true values."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], flags.astype(int), [0]])))
    if not len(edges):
        return None
    starts, ends = edges[::2], edges[1::2] - 1
    k = int(np.argmax(ends - starts))
    return int(starts[k]), int(ends[k])


def told(rows: Sequence[Row]) -> str:
    """The stack in words, for readers that speak."""
    words = [f"{row.film.material} {row.thickness}".strip() for row in rows if row.state != "removed"]
    return "From the top: " + "; ".join(words)
