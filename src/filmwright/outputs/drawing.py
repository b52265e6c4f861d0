"""Draws films into a frame: areas, outlines, ghosts, break mark, scale bars. No layout."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from filmwright.numerics import Region
from filmwright.outputs import palette, svg
from filmwright.outputs.frame import Frame, Window, bar_length, length_text
from filmwright.outputs.geometry import Film

THIN_PX = 1.6
"""A film that would be thinner in the picture is drawn as a line of this width, so that it is seen."""

FINE, HEAVY = 0.7, 2.4


@dataclass(frozen=True, kw_only=True)
class Look:
    """What decides the look of a drawing, beside its shapes.

    Attributes
    ----------
    kinds : mapping from material to its class
    symbols : mapping from material to its short sign
    family : str
        Font family.
    prefix : str
        Starts every id, so that several drawings can share a page.
    hatch : float
        Size of the hatch.
    """

    kinds: Mapping[str, str]
    symbols: Mapping[str, str]
    family: str = svg.SANS
    prefix: str = ""
    hatch: float = 1.0

    def kind(self, material: str) -> str:
        """Class of a material; insulator when nothing is said."""
        return self.kinds.get(material, "insulator")

    def symbol(self, material: str) -> str:
        """Short sign of a material, its name when it has none."""
        return self.symbols.get(material, material)


def crop(parts: Iterable[Film], window: Window, rim: float) -> tuple[Film, ...]:
    """Films cut to a window with a rim [nm] around it; what lies outside is dropped."""
    box = Region.box(window.x0 - rim, window.z0 - rim, window.x1 + rim, window.z1 + rim)
    found = []
    for part in parts:
        shape = part.shape.intersection(box)
        if not shape.empty:
            found.append(Film(material=part.material, film=part.film, shape=shape))
    return tuple(found)


def thinnest_px(part: Film, frame: Frame) -> float:
    """Mean thickness of a film in the picture [px]: twice its area over its outline."""
    area, outline = 0.0, 0.0
    for ring in part.rings:
        points = frame.place(ring)
        x, y = points[:, 0], points[:, 1]
        area += 0.5 * abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))))
        outline += float(np.hypot(*(points - np.roll(points, -1, axis=0)).T).sum())
    return 2 * area / outline if outline else 0.0


def areas(parts: Sequence[Film], frame: Frame, look: Look, fresh: frozenset[str] = frozenset()) -> str:
    """Filled films; those of ``fresh`` (film labels) with a heavy outline; very thin ones last, as lines."""
    thin, thick, new = [], [], Region.of([])
    for part in parts:
        drawn = palette.ink(part.material, look.kind(part.material))
        data = svg.path_data(part.rings, frame.place)
        size = thinnest_px(part, frame)
        common = {"d": data, "fill_rule": "evenodd", "stroke_linejoin": "round", "data_film": part.film}
        pattern = f"url(#{palette.pattern_id(part.material, look.prefix)})"
        if part.film in fresh:
            new = new.union(part.shape)
        if size < THIN_PX:
            thin.append(
                svg.element("path", **common, fill=drawn.solid, stroke=drawn.solid, stroke_width=THIN_PX)
            )
        else:
            thick.append(svg.element("path", **common, fill=pattern, stroke=drawn.line, stroke_width=FINE))
    return "".join(thick + thin) + ("" if new.empty else _heavy(new, frame))


def _heavy(new: Region, frame: Frame) -> str:
    """One heavy outline around all that is new."""
    return svg.element(
        "path",
        d=svg.path_data(new.rings(), frame.place),
        fill="none",
        stroke="currentColor",
        stroke_width=HEAVY,
        stroke_linejoin="round",
        data_new="yes",
    )


def ghosts(parts: Iterable[Film], frame: Frame, look: Look) -> str:
    """What was taken away: a dashed outline with a breath of its colour."""
    found = []
    for part in parts:
        drawn = palette.ink(part.material, look.kind(part.material))
        found.append(
            svg.element(
                "path",
                d=svg.path_data(part.rings, frame.place),
                fill=drawn.fill,
                fill_opacity=0.16,
                fill_rule="evenodd",
                stroke="currentColor",
                stroke_width=1.1,
                stroke_dasharray="5 3.5",
                stroke_linejoin="round",
                data_ghost=part.film,
            )
        )
    return "".join(found)


def clipped(content: str, frame: Frame, name: str) -> str:
    """Content clipped to the frame."""
    shape = svg.element("rect", x=frame.left, y=frame.top, width=frame.width, height=frame.height)
    return f'<clipPath id="{name}">{shape}</clipPath><g clip-path="url(#{name})">{content}</g>'


def break_mark(frame: Frame, paper: str = "#ffffff", *, at_top: bool = False) -> str:
    """A zigzag near the lower (upper) border: what is drawn goes on beyond it."""
    y = frame.top + (5.0 if at_top else frame.height - 7.0)
    teeth = max(6, round(frame.width / 26))
    xs = np.linspace(frame.left - 4, frame.left + frame.width + 4, 2 * teeth + 1)
    points = [(x, y + (3.0 if k % 2 else -3.0)) for k, x in enumerate(xs)]
    edge = "L".join(f"{svg.number(x)} {svg.number(v)}" for x, v in points)
    lower = "L".join(f"{svg.number(x)} {svg.number(v + 4.5)}" for x, v in reversed(points))
    return (
        svg.element("path", d=f"M{edge}L{lower}Z", fill=paper)
        + svg.element("path", d=f"M{edge}", fill="none", stroke="currentColor", stroke_width=0.9)
        + svg.element("path", d=f"M{lower}", fill="none", stroke="currentColor", stroke_width=0.9)
    )


def bar_across(frame: Frame, x: float, y: float, available: float, size: float = 12) -> str:
    """Scale bar along the cut, its left end at (x, y)."""
    length = bar_length(available / frame.across)
    end = x + length * frame.across
    mark = (
        svg.line(x, y, end, y, 2.2)
        + svg.line(x, y - 4, x, y + 4, 1.4)
        + svg.line(end, y - 4, end, y + 4, 1.4)
    )
    words = svg.label((x + end) / 2, y + size + 5, length_text(length), size, text_anchor="middle")
    return svg.element("g", mark + words, data_bar="across", data_nm=length, data_px=length * frame.across)


def bar_up(frame: Frame, x: float, y: float, available: float, size: float = 12) -> str:
    """Scale bar along the height, its lower end at (x, y), the number written upward beside it."""
    length = bar_length(available / frame.up)
    top = y - length * frame.up
    mark = (
        svg.line(x, y, x, top, 2.2)
        + svg.line(x - 4, y, x + 4, y, 1.4)
        + svg.line(x - 4, top, x + 4, top, 1.4)
    )
    middle = (y + top) / 2
    words = svg.label(
        x - 9,
        middle,
        length_text(length),
        size,
        text_anchor="middle",
        transform=f"rotate(-90 {svg.number(x - 9)} {svg.number(middle)})",
    )
    return svg.element("g", mark + words, data_bar="up", data_nm=length, data_px=length * frame.up)


def exaggeration_text(frame: Frame) -> str:
    """Words for the vertical exaggeration."""
    value = frame.exaggeration
    return "in scale" if abs(value - 1) < 1e-9 else f"height exaggerated {value:.4g} ×"


def sky(frame: Frame) -> str:
    """The paper behind a section: white in light and dark pages, so that colours stay the same."""
    return svg.element(
        "rect", x=frame.left, y=frame.top, width=frame.width, height=frame.height, fill="#ffffff"
    )


def border(frame: Frame) -> str:
    """A fine line around a frame."""
    return svg.element(
        "rect",
        x=frame.left,
        y=frame.top,
        width=frame.width,
        height=frame.height,
        fill="none",
        stroke="currentColor",
        stroke_opacity=0.35,
        stroke_width=1,
    )
