"""What lies at one place: the column of films, drawn and in words, and how two columns differ."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from filmwright.outputs import palette, svg
from filmwright.outputs.frame import length_text
from filmwright.outputs.legend import Legend
from filmwright.units import convert

if TYPE_CHECKING:
    from filmwright.wafer import Column, Layer

WIDTH = 300.0
_BAR, _LEFT, _TOP = 92.0, 12.0, 8.0
_LEAST, _MOST, _STACK = 19.0, 120.0, 190.0
"""Least and greatest height of a film, and of all films if they can [px]."""


@dataclass(frozen=True, kw_only=True)
class ColumnLayer:
    """One film at a place, in words.

    Attributes
    ----------
    film, material, sign, thickness : str
    nm : float
        Its thickness.
    born : str
        Number of the step that put it down; ``as bought`` before the first one.
    marks : tuple of str
    """

    film: str
    material: str
    sign: str
    thickness: str
    nm: float
    born: str
    marks: tuple[str, ...] = ()


def layers_told(column: Column, legend: Legend, steps: Mapping[str, str]) -> tuple[ColumnLayer, ...]:
    """The films of a column, lowest first; ``steps`` says which step put down which film."""
    return tuple(
        ColumnLayer(
            film=layer.film,
            material=layer.material,
            sign=legend.symbols.get(layer.material, layer.material),
            thickness=length_text(convert(layer.thickness, "nm")) if k else "",
            nm=convert(layer.thickness, "nm"),
            born=steps.get(layer.film, "as bought"),
            marks=tuple(sorted(layer.marks)),
        )
        for k, layer in enumerate(column.layers)
    )


def heights(films: Sequence[float]) -> list[float]:
    """Heights [px] of films of given thickness [nm], lowest first: in scale among themselves, within limits."""
    whole = sum(films)
    scale = _STACK / whole if whole else 1.0
    return [min(max(scale * each, _LEAST), _MOST) for each in films]


def column_svg(
    column: Column, legend: Legend, *, prefix: str = "col-", alone: bool = True, title: str = ""
) -> str:
    """A column as SVG: each film with its sign and thickness at its side, the body cropped.

    Parameters
    ----------
    column : Column
    legend : Legend
    prefix : str
        Starts every id.
    alone : bool
        Whether the picture brings its own patterns; else the page has them under the same prefix.
    title : str
        A line above it.
    """
    layers = column.layers
    tall = [26.0, *heights([convert(layer.thickness, "nm") for layer in layers[1:]])]
    head = _TOP + (22.0 if title else 0.0)
    y = head + sum(tall)
    base = y
    parts = [svg.label(_LEFT, 20, title, 14, font_weight=700)] if title else []
    for layer, height in zip(layers, tall, strict=True):
        y -= height
        parts.append(
            _drawn(layer, y, height, legend, prefix, words="" if layer is layers[0] else "thickness")
        )
    zigzag = "".join(
        f"L{svg.number(_LEFT + _BAR * k / 12)} {svg.number(base - (3 if k % 2 else 7))}" for k in range(13)
    )
    left, right = svg.number(_LEFT - 2), svg.number(_LEFT + _BAR + 2)
    low = svg.number(base + 2)
    parts.append(svg.element("path", d=f"M{left} {low}{zigzag}L{right} {low}Z", fill="var(--card, #ffffff)"))
    parts.append(
        svg.label(_LEFT, base + 17, "thin films drawn thicker, thick ones shorter", 12, fill_opacity=0.85)
    )
    kinds = {layer.material: legend.kinds.get(layer.material, "insulator") for layer in layers}
    own = palette.patterns(kinds, prefix) if alone else ""
    told = "From the top: " + "; ".join(
        f"{layer.material} {length_text(convert(layer.thickness, 'nm'))}" for layer in reversed(layers[1:])
    )
    return svg.document(WIDTH, base + 24, own + "".join(parts), title or "column of films", svg.SANS, told)


def _drawn(layer: Layer, y: float, height: float, legend: Legend, prefix: str, words: str) -> str:
    """One film: its area, and its sign and thickness beside it."""
    drawn = palette.ink(layer.material, legend.kinds.get(layer.material, "insulator"))
    box = svg.element(
        "rect",
        x=_LEFT,
        y=y,
        width=_BAR,
        height=height,
        fill=f"url(#{palette.pattern_id(layer.material, prefix)})",
        stroke=drawn.line,
        stroke_width=1.0,
        data_film=layer.film,
    )
    at = y + height / 2 + 5
    sign = legend.symbols.get(layer.material, layer.material)
    text = svg.label(_LEFT + _BAR + 10, at, sign, 14, font_weight=600)
    if words:
        thickness = length_text(convert(layer.thickness, "nm"))
        text += svg.label(WIDTH - 12, at, thickness, 14, text_anchor="end")
    return box + text
