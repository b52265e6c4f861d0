"""The die as it looks through a microscope: every place filled with its computed colour, nothing added.

What a microscope adds (dark edges, focus, grain) is not drawn, for no model here makes it. Places whose optics are not known
are hatched, and the picture says which materials are missing.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from html import escape
from typing import TYPE_CHECKING

import numpy as np

from filmwright.numerics import Region
from filmwright.outputs import svg
from filmwright.outputs.frame import bar_length, length_text
from filmwright.outputs.geometry import FloatArray

if TYPE_CHECKING:
    from filmwright.emulate import Look, Seen

Box = tuple[float, float, float, float]
_SMALLEST = 0.4
"""Outlines smaller than this [px] in both directions are left out."""

_MOST = 8
"""Colours in the legend, the largest places first."""

_SMALL_TEXT = 11.0
_CHARACTER = 0.52
"""Mean width of a character over its size."""


def micrograph(
    look: Look,
    *,
    window: Box | None = None,
    size: tuple[float, float] = (340.0, 340.0),
    cut: Sequence[tuple[float, float]] = (),
    title: str = "Through the microscope",
    prefix: str = "g",
) -> str:
    """The die, or a window of it, in its computed colours as SVG.

    Parameters
    ----------
    look : Look
        From ``emulate.looks_of``.
    window : (x0, y0, x1, y1) [nm] or None
        What to show; the whole die when None.
    size : (width, height) [px]
        The largest picture; its legend comes below.
    cut : points (x, y) [nm]
        The line of the section.
    title : str
    prefix : str
        Starts every id; needed when several pictures share a page.
    """
    x0, y0, x1, y1 = window or look.plan.die.bounds
    width, tall = size
    scale = min((width - 24) / (x1 - x0), (tall - 40) / (y1 - y0))
    left, top = (width - scale * (x1 - x0)) / 2, 30.0

    def place(points: FloatArray) -> FloatArray:
        return np.column_stack((left + (points[:, 0] - x0) * scale, top + (y1 - points[:, 1]) * scale))

    wide, high = scale * (x1 - x0), scale * (y1 - y0)
    shown = [(each, part) for each, part in look.within(x0, y0, x1, y1) if not part.empty]
    frame: dict[str, object] = {"x": left, "y": top, "width": wide, "height": high}
    hatch = f"{prefix}unknown"
    parts = [
        _hatch(hatch),
        f'<clipPath id="{prefix}lens">{svg.element("rect", **frame)}</clipPath>',
        svg.label(12, 18, title, 14, font_weight=650),
        f'<g clip-path="url(#{prefix}lens)">',
        *(_place(each, part, place, hatch) for each, part in shown),
        _cut(cut, place),
        "</g>",
        svg.element("rect", **frame, fill="none", stroke="currentColor", stroke_opacity=0.4),
    ]
    y = top + high + 14
    parts.append(_bar(left, y, bar_length(0.4 * wide / scale), scale))
    legend, y = _legend(shown, y + 24, width, hatch)
    words, y = _said(look, shown, y + 4, width)
    return svg.document(width, y + 4, "".join([*parts, legend, words]), f"{title}, {_seen_with(look)}")


def _hatch(name: str) -> str:
    """Grey with crossed lines: a colour that nobody computed."""
    return (
        f'<defs><pattern id="{name}" width="8" height="8" patternUnits="userSpaceOnUse">'
        '<rect width="8" height="8" fill="#d9d9d9"/>'
        '<path d="M0 0L8 8M8 0L0 8" stroke="#55585c" stroke-width="0.8"/></pattern></defs>'
    )


def _place(seen: Seen, part: Region, place: svg.Map, hatch: str) -> str:
    placed = [place(ring) for ring in part.rings() if len(ring)]
    large = [ring for ring in placed if np.ptp(ring, axis=0).max() >= _SMALLEST]
    if not large:
        return ""
    fill = seen.hex or f"url(#{hatch})"
    # A thread of its own colour closes the seams that smoothing leaves between neighbours.
    return svg.element(
        "path",
        d=svg.path_data(large, lambda ring: ring, decimals=1),
        fill=fill,
        fill_rule="evenodd",
        stroke=seen.hex or None,
        stroke_width=0.35 if seen.hex else None,
        data_colour=seen.name or "not known",
    )


def _cut(cut: Sequence[tuple[float, float]], place: svg.Map) -> str:
    if len(cut) < 2:
        return ""
    points = place(np.array(cut, dtype=float))
    data = "M" + "L".join(f"{svg.number(x)} {svg.number(y)}" for x, y in points)
    under = svg.element("path", d=data, fill="none", stroke="#ffffff", stroke_width=3.5)
    return under + svg.element(
        "path", d=data, fill="none", stroke="#15191f", stroke_width=1.5, stroke_dasharray="11 3 2 3"
    )


def _bar(left: float, y: float, length: float, scale: float) -> str:
    end = left + length * scale
    return svg.element(
        "g",
        svg.line(left, y, end, y, 2.2) + svg.label(end + 8, y + 4.5, length_text(length), 12),
        data_bar="across",
        data_nm=length,
        data_px=length * scale,
    )


def _legend(shown: Sequence[tuple[Seen, Region]], y: float, width: float, hatch: str) -> tuple[str, float]:
    """A swatch for each name of a colour with the film on top, the largest places first, and the y below them."""
    areas: dict[tuple[str, str], float] = {}
    fills: dict[tuple[str, str], str] = {}
    for seen, part in sorted(shown, key=lambda each: -each[1].area):
        key = (seen.name, seen.column.top.material)
        areas[key] = areas.get(key, 0.0) + part.area
        fills.setdefault(key, seen.hex)
    ranked = sorted(areas, key=lambda key: -areas[key])
    parts = []
    for name, material in ranked[:_MOST]:
        fill = fills[name, material]
        parts.append(
            svg.element(
                "rect",
                x=12.0,
                y=y - 11,
                width=20.0,
                height=14.0,
                rx=2.0,
                fill=fill or f"url(#{hatch})",
                stroke="currentColor",
                stroke_opacity=0.4,
            )
            + svg.label(38, y, f"{name or 'not known'}: {material} on top", 12)
        )
        y += 19
    if len(ranked) > _MOST:
        parts.append(svg.label(38, y, f"and {len(ranked) - _MOST} smaller ones", 12))
        y += 19
    return "".join(parts), y


def _seen_with(look: Look) -> str:
    lens = f"numerical aperture {look.aperture:g}" if look.aperture else "straight down"
    return f"{look.light}, {lens}"


def _said(look: Look, shown: Sequence[tuple[Seen, Region]], y: float, width: float) -> tuple[str, float]:
    """Light, aperture, what is not known, and the data sets, in small letters."""
    unknown = sorted({word for seen, _ in shown for word in seen.unknown})
    lines = [f"Computed for {_seen_with(look)}; edges and focus of a microscope are not drawn."]
    if unknown:
        lines.append("Hatched, optics not known: " + "; ".join(unknown) + ".")
    if look.data:
        lines.append("Optical data: " + "; ".join(look.data) + ".")
    lines.extend(look.notes)
    room = max(20, int((width - 24) / (_CHARACTER * _SMALL_TEXT)))
    parts = []
    for text in (row for each in lines for row in textwrap.wrap(each, room)):
        parts.append(
            f'<text x="12" y="{svg.number(y)}" font-size="{_SMALL_TEXT:g}" fill="currentColor" '
            f'opacity="0.8">{escape(text, quote=False)}</text>'
        )
        y += _SMALL_TEXT * 1.3
    return "".join(parts), y
