"""How a place of the die is told."""

from __future__ import annotations

from filmwright.units import convert, to_si


def at(place: tuple[float, float]) -> str:
    """A point [nm] as a person finds it on the drawing."""
    x, y = (convert(to_si(each, "nm"), "um") for each in place)
    return f"at ({x:.1f}, {y:.1f}) µm"
