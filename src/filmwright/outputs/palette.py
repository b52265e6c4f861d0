"""Colour and hatch of each material: the one home, so that the same colour is the same material everywhere.

The hatch says the class (conductor, semiconductor, insulator, organic, substrate) and is enough on a black
and white print; the colour says the material. Hues lie on a path from blue over yellow to magenta that stays
apart for the common kinds of colour blindness, and neighbours in a usual stack differ in lightness.
"""

from __future__ import annotations

import colorsys
import functools
import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from html import escape

CLASSES = ("conductor", "semiconductor", "insulator", "organic", "substrate")

_CHOSEN = {
    "silicon": "#9aa5b1",
    "glass": "#cfd8dc",
    "sapphire": "#c3d3e0",
    "polyimide": "#cdb48f",
    "silicon dioxide": "#c5dff0",
    "plasma silicon dioxide": "#a9cfe8",
    "silicon nitride": "#5c8fc0",
    "stoichiometric silicon nitride": "#3f6fa5",
    "silicon oxynitride": "#86b3dc",
    "aluminium oxide": "#94c9c0",
    "hafnium oxide": "#4f8f96",
    "tantalum pentoxide": "#6fb3a8",
    "titanium dioxide": "#b8dcd2",
    "zirconium oxide": "#7ea7b3",
    "yttrium oxide": "#9fc4d6",
    "magnesium fluoride": "#dcebf2",
    "titanium": "#566070",
    "chromium": "#434b58",
    "molybdenum": "#6b5d80",
    "gold": "#e8b62e",
    "platinum": "#a9a48f",
    "aluminium": "#dcdcd6",
    "copper": "#a85a30",
    "nickel": "#8a8a6a",
    "tungsten": "#525a4f",
    "silver": "#efefe9",
    "indium tin oxide": "#b7c86a",
    "indium gallium zinc oxide": "#c4609f",
    "zinc oxide": "#e2a6cc",
    "indium zinc oxide": "#d283b6",
    "tin oxide": "#93538f",
    "amorphous silicon": "#8c5a7d",
    "positive novolak resist": "#f0d6a8",
    "negative lift-off resist": "#cf6a50",
    "image-reversal resist": "#e9c18f",
    "lift-off under-layer resist": "#f0b9a0",
    "two-layer lift-off resist": "#f49b7b",
    "negative epoxy resist": "#c98468",
    "electron-beam resist": "#e9a489",
    "adhesion promoter": "#c9a37c",
}

_SPAN = {
    "conductor": ((0.08, 0.20), (0.42, 0.66), 0.30),
    "semiconductor": ((0.80, 0.94), (0.50, 0.68), 0.45),
    "insulator": ((0.47, 0.60), (0.58, 0.80), 0.38),
    "organic": ((0.02, 0.09), (0.60, 0.76), 0.70),
    "substrate": ((0.55, 0.62), (0.66, 0.80), 0.12),
}


@dataclass(frozen=True, kw_only=True)
class Ink:
    """How one material is drawn.

    Attributes
    ----------
    fill : str
        Colour of the area, ``#rrggbb``.
    line : str
        Colour of its outline and hatch: the same hue, darker; nearly white on a dark fill.
    hatch : str
        Its class.
    turn : int
        Direction of the hatch [degree]; tells two materials of one class apart in grey.
    """

    fill: str
    line: str
    hatch: str
    turn: int

    @property
    def solid(self) -> str:
        """The darker of both colours, for what is no more than a line on white paper."""
        return min(self.fill, self.line, key=lambda colour: sum(_channels(colour)))


def _channels(colour: str) -> tuple[float, float, float]:
    r, g, b = (int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5))
    return r, g, b


def _hex(channels: Iterable[float]) -> str:
    return "#" + "".join(f"{round(255 * min(1.0, max(0.0, c))):02x}" for c in channels)


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour, 0 black to 1 white (WCAG 2 definition)."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in _channels(colour)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21 (WCAG 2 definition)."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def _unit(name: str, part: int) -> float:
    """A stable number between 0 and 1 from a name."""
    digest = hashlib.sha256(name.encode()).digest()
    return digest[part] / 255


def _derived(name: str, kind: str) -> str:
    hues, lights, saturation = _SPAN[kind]
    hue = hues[0] + (hues[1] - hues[0]) * _unit(name, 0)
    light = lights[0] + (lights[1] - lights[0]) * _unit(name, 1)
    return _hex(colorsys.hls_to_rgb(hue, light, saturation))


def _darker(fill: str) -> str:
    hue, light, saturation = colorsys.rgb_to_hls(*_channels(fill))
    line = fill
    while light > 0.04 and contrast(line, "#ffffff") < 5.5:
        light -= 0.02
        line = _hex(colorsys.hls_to_rgb(hue, light, saturation))
    if contrast(fill, line) < 1.9:
        line = _hex(colorsys.hls_to_rgb(hue, 0.93, saturation / 2))
    return line


@functools.cache
def ink(material: str, kind: str = "insulator") -> Ink:
    """How a material is drawn.

    Parameters
    ----------
    material : str
        Trade name.
    kind : str
        One of :data:`CLASSES`; decides the hatch, and the hues of a material without a chosen colour.
    """
    sort = kind if kind in CLASSES else "insulator"
    fill = _CHOSEN.get(material) or _derived(material, sort)
    turns = (45, 135, 20, 110) if sort == "conductor" else (0, 90, 30, 60)
    return Ink(fill=fill, line=_darker(fill), hatch=sort, turn=turns[int(_unit(material, 2) * 255) % 4])


def _marks(hatch: str, line: str) -> tuple[float, str]:
    """Size of the tile and the marks on it."""
    if hatch == "conductor":
        return 5.0, f'<path d="M0 2.5H5" stroke="{line}" stroke-width="0.9" opacity="0.55"/>'
    if hatch == "semiconductor":
        return 5.0, (
            f'<circle cx="1.25" cy="1.25" r="0.85" fill="{line}"/>'
            f'<circle cx="3.75" cy="3.75" r="0.85" fill="{line}"/>'
        )
    if hatch == "organic":
        return 9.0, (
            f'<path d="M0 2.25Q2.25 0 4.5 2.25T9 2.25M0 6.75Q2.25 4.5 4.5 6.75T9 6.75" fill="none" '
            f'stroke="{line}" '
            'stroke-width="0.8" opacity="0.6"/>'
        )
    if hatch == "substrate":
        return 14.0, f'<path d="M5 7H9M7 5V9" stroke="{line}" stroke-width="0.7" opacity="0.45"/>'
    return 12.0, f'<path d="M1 3H6M7 9H12" stroke="{line}" stroke-width="0.8" opacity="0.6"/>'


def pattern_id(material: str, prefix: str = "") -> str:
    """A name for the pattern of a material, safe as an XML id."""
    return f"{prefix}m{hashlib.sha256(material.encode()).hexdigest()[:8]}"


def pattern(material: str, kind: str, prefix: str = "", scale: float = 1.0) -> str:
    """The SVG ``<pattern>`` that fills a material: its colour with the hatch of its class."""
    drawn = ink(material, kind)
    size, marks = _marks(drawn.hatch, drawn.line)
    return (
        f'<pattern id="{pattern_id(material, prefix)}" width="{size:g}" height="{size:g}" '
        f'patternUnits="userSpaceOnUse" patternTransform="rotate({drawn.turn}) scale({scale:g})">'
        f"<title>{escape(material)}</title>"
        f'<rect width="{size:g}" height="{size:g}" fill="{drawn.fill}"/>{marks}</pattern>'
    )


def patterns(kinds: Mapping[str, str], prefix: str = "", scale: float = 1.0) -> str:
    """``<defs>`` with one pattern for each material of ``kinds`` (material → class)."""
    return "<defs>" + "".join(pattern(m, k, prefix, scale) for m, k in sorted(kinds.items())) + "</defs>"
