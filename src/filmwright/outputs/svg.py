"""Small helpers that write clean SVG: numbers without noise, text escaped, paths from rings."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from html import escape

import numpy as np
from numpy.typing import NDArray

SANS = "Inter, 'Segoe UI', 'Helvetica Neue', Arial, 'Liberation Sans', sans-serif"
PAPER = "'Libertinus Serif', serif"

Ring = NDArray[np.float64]
Map = Callable[[Ring], Ring]


def number(value: float, decimals: int = 2) -> str:
    """A coordinate with at most two decimals."""
    text = f"{value:.{decimals}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def element(tag: str, content: str = "", /, **attributes: object) -> str:
    """An element; ``stroke_width`` becomes ``stroke-width``, floats are shortened, values are escaped."""
    parts = [tag]
    for key, value in attributes.items():
        if value is None:
            continue
        shown = number(value) if isinstance(value, float) else str(value)
        parts.append(f'{key.rstrip("_").replace("_", "-")}="{escape(shown)}"')
    head = " ".join(parts)
    return f"<{head}>{content}</{tag}>" if content else f"<{head}/>"


def label(x: float, y: float, text: str, size: float = 12, **attributes: object) -> str:
    """A piece of text with its baseline at (x, y)."""
    attributes.setdefault("fill", "currentColor")
    return element(
        "text", escape(text, quote=False), x=float(x), y=float(y), font_size=float(size), **attributes
    )


def line(x0: float, y0: float, x1: float, y1: float, width: float = 1.0, **attributes: object) -> str:
    """A straight line."""
    attributes.setdefault("stroke", "currentColor")
    return element(
        "line",
        x1=float(x0),
        y1=float(y0),
        x2=float(x1),
        y2=float(y1),
        stroke_width=float(width),
        **attributes,
    )


def path_data(rings: Iterable[Ring], place: Map, decimals: int = 2) -> str:
    """Path data of closed rings after ``place`` moved them to the picture; repeated points are dropped."""
    found = []
    for ring in rings:
        points = place(np.asarray(ring, dtype=float))
        words = [f"{number(x, decimals)} {number(y, decimals)}" for x, y in points]
        kept = [word for k, word in enumerate(words) if k == 0 or word != words[k - 1]]
        if len(kept) > 1 and kept[0] == kept[-1]:
            kept.pop()
        if len(kept) == 1:
            kept.append(kept[0])
        found.append("M" + "L".join(kept) + "Z")
    return "".join(found)


def document(
    width: float, height: float, content: str, title: str, family: str = SANS, desc: str = ""
) -> str:
    """A whole SVG document of the given size, with a title for readers that speak."""
    note = f"<desc>{escape(desc, quote=False)}</desc>" if desc else ""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {number(width)} {number(height)}" '
        f'width="{number(width)}" height="{number(height)}" role="img" font-family="{escape(family)}">'
        f"<title>{escape(title, quote=False)}</title>{note}{content}</svg>"
    )


_WORDS = re.compile(r"[\d.]+ (?:%|[nµm]?m|Å)(?=\W|$)\S*|\S+")
_NARROW, _WIDE = frozenset("iljtfrI.,:;'|!()[] ·"), frozenset("mwMW%@—…")


def text_width(text: str, size: float) -> float:
    """About how wide a text is in a sans-serif font [px], on the safe side; no font is asked."""
    units = sum(0.34 if c in _NARROW else 0.9 if c in _WIDE else 0.72 if c.isupper() else 0.57 for c in text)
    return units * size


def fitted_words(text: str, width: float, size: float) -> list[str]:
    """Text broken at spaces into lines that are at most ``width`` [px] wide, if its words allow.

    A number stays with its unit.
    """
    lines: list[str] = []
    current = ""
    for word in _WORDS.findall(text):
        longer = f"{current} {word}".strip()
        if current and text_width(longer, size) > width:
            lines.append(current)
            current = word
        else:
            current = longer
    return [*lines, current] if current else lines
