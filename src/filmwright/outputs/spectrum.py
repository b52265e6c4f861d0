"""The reflectance spectrum of a place, as a table and as a picture."""

from __future__ import annotations

import math
from collections.abc import Sequence

from filmwright.outputs import svg
from filmwright.outputs.spreadsheet import csv_text
from filmwright.units import convert

Points = Sequence[tuple[float, float]]
"""Wavelength [m] and reflectance [0 to 1]."""

_WIDTH, _HEIGHT = 640.0, 360.0
_LEFT, _TOP, _RIGHT, _BOTTOM = 56.0, 56.0, 620.0, 310.0
_STEP_NM = 50


def spectrum_csv(points: Points) -> str:
    """Two columns with their units at the head.

    Parameters
    ----------
    points : sequence of (wavelength [m], reflectance)
    """
    rows = [(f"{convert(w, 'nm'):.6g}", f"{r:.6g}") for w, r in points]
    return csv_text([("wavelength [nm]", "reflectance [1]"), *rows])


def spectrum_svg(points: Points, *, colour: str, name: str, films: str, seen_with: str) -> str:
    """Reflectance over wavelength, with the colour that it makes.

    Parameters
    ----------
    points : sequence of (wavelength [m], reflectance)
    colour, name : str
        ``#rrggbb`` and its everyday name.
    films : str
        The place, from the top.
    seen_with : str
        Lamp and objective.
    """
    waves = [convert(w, "nm") for w, _ in points]
    first, last = min(waves), max(waves)
    top = min(1.0, math.ceil(max(r for _, r in points) * 10 + 0.5) / 10)

    def x(nanometres: float) -> float:
        return _LEFT + (nanometres - first) / (last - first) * (_RIGHT - _LEFT)

    def y(part: float) -> float:
        return _BOTTOM - part / top * (_BOTTOM - _TOP)

    parts = [
        svg.element(
            "rect", x=_LEFT, y=14.0, width=30.0, height=22.0, rx=3.0, fill=colour, stroke="currentColor"
        ),
        svg.label(_LEFT + 40, 23, f"{name} ({colour}), {seen_with}", 14, font_weight=650),
        svg.label(_LEFT + 40, 40, films, 12),
    ]
    for nanometres in range(math.ceil(first / _STEP_NM) * _STEP_NM, math.floor(last) + 1, _STEP_NM):
        parts.append(svg.line(x(nanometres), _TOP, x(nanometres), _BOTTOM, 0.6, stroke_opacity=0.25))
        parts.append(svg.label(x(nanometres), _BOTTOM + 17, str(nanometres), 12, text_anchor="middle"))
    for tenth in range(round(top * 10) + 1):
        parts.append(svg.line(_LEFT, y(tenth / 10), _RIGHT, y(tenth / 10), 0.6, stroke_opacity=0.25))
        parts.append(svg.label(_LEFT - 8, y(tenth / 10) + 4, f"{tenth * 10}", 12, text_anchor="end"))
    data = "M" + "L".join(
        f"{svg.number(x(w))} {svg.number(y(r))}" for w, (_, r) in zip(waves, points, strict=True)
    )
    parts.append(svg.element("path", d=data, fill="none", stroke="#15191f", stroke_width=2.2))
    parts.append(svg.label((_LEFT + _RIGHT) / 2, _BOTTOM + 38, "wavelength [nm]", 13, text_anchor="middle"))
    parts.append(
        svg.label(
            16, (_TOP + _BOTTOM) / 2, "reflectance [%]", 13, text_anchor="middle",
            transform=f"rotate(-90 16 {svg.number((_TOP + _BOTTOM) / 2)})",
        )
    )  # fmt: skip
    return svg.document(_WIDTH, _HEIGHT, "".join(parts), f"Reflectance of {films}")
