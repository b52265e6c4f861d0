"""Pictures as PNG, for places that take no SVG."""

from __future__ import annotations

import json

_PAGE = """
#set page(width: auto, height: auto, margin: 0pt, fill: white)
#set text(font: "Libertinus Serif")
#image(bytes(json(bytes(sys.inputs.svg))), format: "svg")
"""


def png_of(svg: str, *, scale: float = 2.0) -> bytes:
    """An SVG of this room as PNG on white, with the fonts that ship with the page setter.

    Parameters
    ----------
    svg : str
    scale : float
        Dots per pixel of the SVG, above 0.
    """
    if scale <= 0:
        raise ValueError(f"the scale is above 0, got {scale}")
    import typst

    found = typst.compile(
        _PAGE.encode(),
        format="png",
        ppi=96.0 * scale,
        font_paths=typst.Fonts(include_system_fonts=False),
        sys_inputs={"svg": json.dumps(svg, ensure_ascii=False)},
    )
    if not isinstance(found, bytes):
        raise TypeError("one picture gave several images")
    return found
