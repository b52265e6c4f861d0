"""The die from above: the uppermost material of each place, the cut, the names of the devices."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from filmwright.numerics import Region
from filmwright.outputs import palette, svg
from filmwright.outputs.drawing import THIN_PX
from filmwright.outputs.frame import bar_length, length_text
from filmwright.outputs.geometry import FloatArray


@dataclass(frozen=True, kw_only=True)
class Patch:
    """A place of the die.

    Attributes
    ----------
    shape : Region
        In drawing coordinates [nm].
    material : str
        The uppermost one.
    buried : bool
        A film that lies under others: drawn as a dotted outline over the rest.
    key : str
        What a page finds the place by; empty when it is only to be seen.
    words : str
        What lies there, for readers that speak.
    places : tuple of (x, y) [nm]
        By how much it is moved to each place where it lies; drawn once and referred to where there are several.
    """

    shape: Region
    material: str
    buried: bool = False
    key: str = ""
    words: str = ""
    places: tuple[tuple[float, float], ...] = ((0.0, 0.0),)


@dataclass(frozen=True, kw_only=True)
class Mark:
    """A name on the die at (x, y) [nm]."""

    x: float
    y: float
    text: str


@dataclass(frozen=True, kw_only=True)
class PlanPicture:
    """Everything that one picture of the die shows.

    Attributes
    ----------
    patches : sequence of Patch
    kinds, symbols : mapping from material to class, and to short sign
    window : (x0, y0, x1, y1) [nm] or None
        What to show; all patches when None.
    cut : points (x, y) [nm]
        The line of the section.
    cut_name : str
    marks : sequence of Mark
    size : (width, height) [px]
        The largest picture; its legend comes below.
    title : str
    prefix : str
        Starts every id; needed when several pictures share a page.
    finest : float [px]
        Outlines smaller than this in both directions are left out; a picture that people look into closely keeps more.
    """

    patches: Sequence[Patch]
    kinds: Mapping[str, str] = field(default_factory=dict)
    symbols: Mapping[str, str] = field(default_factory=dict)
    window: tuple[float, float, float, float] | None = None
    cut: Sequence[tuple[float, float]] = ()
    cut_name: str = ""
    marks: Sequence[Mark] = ()
    size: tuple[float, float] = (340.0, 340.0)
    title: str = "Seen from above"
    prefix: str = "p"
    finest: float = 0.5


def plan_svg(picture: PlanPicture) -> str:
    """The die from above as SVG, in scale; what is too fine to be seen is left out."""
    kinds, symbols, prefix = picture.kinds, picture.symbols, picture.prefix
    width, tall = picture.size
    shown = [patch for patch in picture.patches if not patch.shape.empty]
    x0, y0, x1, y1 = picture.window or _bounds(shown)
    scale = min((width - 24) / (x1 - x0), (tall - 40) / (y1 - y0))
    left, top = (width - scale * (x1 - x0)) / 2, 30.0

    def place(points: FloatArray) -> FloatArray:
        moved = points.copy()
        moved[:, 0] = left + (points[:, 0] - x0) * scale
        moved[:, 1] = top + (y1 - points[:, 1]) * scale
        return moved

    wide, high = scale * (x1 - x0), scale * (y1 - y0)
    used = {patch.material: kinds.get(patch.material, "insulator") for patch in shown}
    box = Region.box(x0, y0, x1, y1)
    parts = [palette.patterns(used, prefix), svg.label(12, 18, picture.title, 14, font_weight=700)]
    frame: dict[str, object] = {"x": left, "y": top, "width": wide, "height": high}
    parts.append(f'<clipPath id="{prefix}clip">{svg.element("rect", **frame)}</clipPath>')
    parts.append(svg.element("rect", **frame, fill="#ffffff"))
    ordered = sorted(shown, key=lambda patch: patch.buried)
    single = [patch for patch in ordered if len(patch.places) == 1]
    many = [patch for patch in ordered if len(patch.places) > 1]
    drawn = "".join(_patch(patch, box, place, picture, used) for patch in single if not patch.buried)
    drawn += _cells(many, scale, lambda patch: _patch(patch, None, place, picture, used), prefix)
    drawn += "".join(_patch(patch, box, place, picture, used) for patch in single if patch.buried)
    drawn += _cut(picture.cut, place, picture.cut_name) + _marks(picture.marks, place)
    # A page finds the place on the die under a pointer by these numbers.
    parts.append(
        svg.element(
            "g",
            drawn,
            clip_path=f"url(#{prefix}clip)",
            color="#15191f",
            data_left=left,
            data_top=top,
            data_px=f"{scale:.9g}",
            data_x0=f"{x0:.9g}",
            data_y1=f"{y1:.9g}",
        )
    )
    parts.append(svg.element("rect", **frame, fill="none", stroke="currentColor", stroke_opacity=0.4))
    y = top + high + 14
    length = bar_length(0.4 * wide / scale)
    end = left + length * scale
    parts.append(
        svg.element(
            "g",
            svg.line(left, y, end, y, 2.2) + svg.label(end + 8, y + 4.5, length_text(length), 12),
            data_bar="across",
            data_nm=length,
            data_px=length * scale,
        )
    )
    legend, y = _legend(
        {p.material: used[p.material] for p in shown if not p.buried}, symbols, y + 24, width, prefix
    )
    parts.append(legend)
    hidden = sorted({symbols.get(patch.material, patch.material) for patch in shown if patch.buried})
    if hidden:
        y += 12
        parts.append(svg.label(12, y, f"dotted: {', '.join(hidden)}, buried", 12))
    if many:
        y += 16
        finest = length_text(picture.finest / scale)
        parts.append(svg.label(12, y, f"what is smaller than {finest} is left out", 12))
    return svg.document(width, y + 4, "".join(parts), picture.title)


def _cells(patches: Sequence[Patch], scale: float, draw: Callable[[Patch], str], prefix: str) -> str:
    """Patches that lie at the same places as one drawing each, referred to at every place."""
    groups: dict[tuple[tuple[float, float], ...], list[Patch]] = {}
    for patch in patches:
        groups.setdefault(patch.places, []).append(patch)
    parts = []
    for number, (places, alike) in enumerate(groups.items()):
        name = f"{prefix}cell{number}"
        parts.append(f'<defs><g id="{name}">{"".join(draw(patch) for patch in alike)}</g></defs>')
        parts += [
            f'<use href="#{name}" x="{svg.number(dx * scale)}" y="{svg.number(-dy * scale)}"/>'
            for dx, dy in places
        ]
    return "".join(parts)


def _bounds(patches: Sequence[Patch]) -> tuple[float, float, float, float]:
    bounds = [patch.shape.bounds for patch in patches]
    return (
        min(b[0] for b in bounds),
        min(b[1] for b in bounds),
        max(b[2] for b in bounds),
        max(b[3] for b in bounds),
    )


def _patch(
    patch: Patch, box: Region | None, place: svg.Map, picture: PlanPicture, kinds: Mapping[str, str]
) -> str:
    part = patch.shape if box is None else patch.shape.intersection(box)
    if part.empty:
        return ""
    placed = [place(ring) for ring in part.rings()]
    seen = [ring for ring in placed if np.ptp(ring, axis=0).max() >= picture.finest]
    if not seen:
        return ""
    data = svg.path_data(seen, lambda ring: ring, decimals=1 if picture.finest >= 0.1 else 2)
    if patch.buried:
        return svg.element(
            "path",
            d=data,
            fill="none",
            stroke="#15191f",
            stroke_width=1.4,
            stroke_dasharray="1.5 3",
            stroke_linecap="round",
            data_buried=patch.material,
        )
    drawn = palette.ink(patch.material, kinds[patch.material])
    size = max(float(np.ptp(ring, axis=0).min()) for ring in seen)
    return svg.element(
        "path",
        d=data,
        fill=f"url(#{palette.pattern_id(patch.material, picture.prefix)})",
        fill_rule="evenodd",
        stroke=drawn.line,
        stroke_width=THIN_PX / 2 if size > 12 else min(THIN_PX / 5, size / 12 if box is None else THIN_PX),
        stroke_linejoin="round",
        data_column=patch.key or None,
        aria_label=patch.words or None,
    )


def _cut(cut: Sequence[tuple[float, float]], place: svg.Map, name: str) -> str:
    """The cut: a white-edged dash-dot line with its ends marked."""
    if len(cut) < 2:
        return ""
    points = place(_array(cut))
    data = "M" + "L".join(f"{svg.number(x)} {svg.number(y)}" for x, y in points)
    parts = [
        svg.element("path", d=data, fill="none", stroke="#ffffff", stroke_width=4.5),
        svg.element(
            "path",
            d=data,
            fill="none",
            stroke="#15191f",
            stroke_width=2.0,
            stroke_dasharray="11 3 2 3",
            data_cut=name or "cut",
        ),
    ]
    for x, y in (points[0], points[-1]):
        parts.append(
            svg.element(
                "circle", cx=float(x), cy=float(y), r=4.0, fill="#15191f", stroke="#ffffff", stroke_width=1.5
            )
        )
    return "".join(parts)


def _array(points: Sequence[tuple[float, float]]) -> FloatArray:
    return np.array(points, dtype=float)


def _marks(marks: Sequence[Mark], place: svg.Map) -> str:
    parts = []
    for mark in marks:
        ((x, y),) = place(_array([(mark.x, mark.y)]))
        wide = 6.8 * len(mark.text) + 8
        drawn = svg.element(
            "rect",
            x=float(x) - wide / 2,
            y=float(y) - 8,
            width=wide,
            height=16.0,
            rx=3.0,
            fill="#ffffff",
            fill_opacity=0.85,
        ) + svg.label(
            float(x), float(y) + 4.2, mark.text, 12, text_anchor="middle", font_weight=600, fill="#15191f"
        )
        parts.append(svg.element("g", drawn, data_x=float(x), data_y=float(y)))
    return "".join(parts)


def _legend(
    kinds: Mapping[str, str], symbols: Mapping[str, str], y: float, width: float, prefix: str
) -> tuple[str, float]:
    """Swatches in rows, and the y below them."""
    parts, x = [], 12.0
    for material, kind in sorted(kinds.items()):
        text = symbols.get(material, material)
        need = 26 + 7.4 * len(text) + 14
        if x + need > width and x > 12:
            x, y = 12.0, y + 22
        drawn = palette.ink(material, kind)
        parts.append(
            svg.element(
                "rect",
                x=x,
                y=y - 11,
                width=20.0,
                height=14.0,
                rx=2.0,
                fill=f"url(#{palette.pattern_id(material, prefix)})",
                stroke=drawn.line,
            )
            + svg.label(x + 26, y, text, 12.5)
        )
        x += need
    return "".join(parts), y + 10
