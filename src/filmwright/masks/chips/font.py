"""Letters and digits as strokes, to be drawn into a film; lines of one width, corners cut, no closed small holes."""

from __future__ import annotations

from typing import Any

import gdstk

Point = tuple[float, float]
Stroke = tuple[Point, ...]

_WIDTH, _HEIGHT, _ADVANCE = 4.0, 6.0, 6.0
STROKE = 0.9
"""Line width in units of which a letter is 6 high."""


def _s(*strokes: str) -> tuple[Stroke, ...]:
    """Strokes written as digits: ``"00 06"`` goes from (0, 0) to (0, 6)."""
    return tuple(tuple((float(pair[0]), float(pair[1])) for pair in stroke.split()) for stroke in strokes)


_GLYPHS: dict[str, tuple[Stroke, ...]] = {
    "0": _s("10 30 41 45 36 16 05 01 10"),
    "1": _s("05 26 20", "00 40"),
    "2": _s("05 16 36 45 44 00 40"),
    "3": _s("05 16 36 45 44 33 13", "33 42 41 30 10 01"),
    "4": _s("30 36 02 42"),
    "5": _s("46 06 03 33 42 41 30 10 01"),
    "6": _s("36 16 05 01 10 30 41 42 33 03"),
    "7": _s("06 46 10"),
    "8": _s("13 04 05 16 36 45 44 33 13 02 01 10 30 41 42 33"),
    "9": _s("10 30 41 45 36 16 05 04 13 43"),
    "A": _s("00 04 26 44 40", "02 42"),
    "B": _s("00 06 36 45 44 33 03", "33 42 41 30 00"),
    "C": _s("45 36 16 05 01 10 30 41"),
    "D": _s("00 06 26 44 42 20 00"),
    "E": _s("46 06 00 40", "03 33"),
    "F": _s("46 06 00", "03 33"),
    "G": _s("45 36 16 05 01 10 30 41 43 23"),
    "H": _s("00 06", "40 46", "03 43"),
    "I": _s("10 30", "16 36", "20 26"),
    "J": _s("01 10 30 41 46"),
    "K": _s("00 06", "46 03 40"),
    "L": _s("06 00 40"),
    "M": _s("00 06 23 46 40"),
    "N": _s("00 06 40 46"),
    "O": _s("10 30 41 45 36 16 05 01 10"),
    "P": _s("00 06 36 45 44 33 03"),
    "Q": _s("10 30 41 45 36 16 05 01 10", "22 40"),
    "R": _s("00 06 36 45 44 33 03", "23 40"),
    "S": _s("01 10 30 41 42 33 13 04 05 16 36 45"),
    "T": _s("06 46", "26 20"),
    "U": _s("06 01 10 30 41 46"),
    "V": _s("06 20 46"),
    "W": _s("06 10 23 30 46"),
    "X": _s("00 46", "06 40"),
    "Y": _s("06 23 46", "23 20"),
    "Z": _s("06 46 00 40"),
    "/": _s("00 46"),
    "-": _s("03 43"),
    ".": _s("10 20"),
    "+": _s("03 43", "21 25"),
    " ": (),
}


def text_width(text: str, height: float) -> float:
    """Length of a text of a height, both in the unit of the drawing."""
    return max(len(text) * _ADVANCE - (_ADVANCE - _WIDTH), 0.0) * height / _HEIGHT


def written(text: str, origin: Point, height: float, layer: tuple[int, int]) -> list[Any]:
    """Polygons of a text whose lower left corner is at ``origin``, on a layer.

    Parameters
    ----------
    text : str
        Capitals, digits and ``/ - . +``; another sign raises KeyError.
    origin : (x, y)
    height : float
        Of the letters.
    layer : (layer, datatype)
    """
    unit = height / _HEIGHT
    shapes: list[Any] = []
    for number, sign in enumerate(text):
        x0 = origin[0] + number * _ADVANCE * unit
        for stroke in _GLYPHS[sign]:
            points = [(x0 + x * unit, origin[1] + y * unit) for x, y in stroke]
            path = gdstk.FlexPath(
                points, STROKE * unit, joins="bevel", ends="extended", layer=layer[0], datatype=layer[1]
            )
            shapes.extend(path.to_polygons())
    return shapes
