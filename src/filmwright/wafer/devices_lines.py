"""Length and width of one conductor line between two wide ends, read off its outline."""

from __future__ import annotations

import math

from filmwright.numerics import Region

BEND = 1.25
"""A disc so many line widths across fits nowhere in a line, not even in its corners (2·√2/(1 + √2) = 1.17)."""

LONG = 5.0
"""Length over width from which on a strip is called a line (judgement)."""

WHOLE = 0.95
"""Part of all that is narrow which one line must hold (judgement)."""

UNEVEN = 0.1
"""Relative change of its width from which on a line has no one width (judgement)."""

_CORNERS = 0.01
"""Part of a line's area that its corners may hold where it is wider than it may be."""

_ROUNDS = 8


def strip_size(area: float, perimeter: float) -> tuple[float, float] | None:
    """Width and length of a strip of one width from its area and perimeter.

    W·L = A and 2·(W + L) = P, so W and L are the roots of x² − (P/2)·x + A = 0. Right-angled bends with sharp corners
    leave both equations exact, with L along the middle of the line.

    Parameters
    ----------
    area : float
        Positive, in any unit of length squared.
    perimeter : float
        In that unit of length.

    Returns
    -------
    width, length : float
        None where the roots are not real, or L is less than five times W.
    """
    half = perimeter / 4
    rest = half**2 - area
    if rest < 0 or area <= 0:
        return None
    length = half + math.sqrt(rest)
    width = area / length
    return (width, length) if length >= LONG * width else None


def line_size(conductor: Region) -> tuple[float, float] | None:
    """Width and length of the line that joins the two wide ends of a conductor [nm].

    What a disc of 1.25 line widths fits into is an end (pad, bar); the rest is the line.

    Parameters
    ----------
    conductor : Region
        Its whole outline [nm].

    Returns
    -------
    width, length : float [nm]
        None unless there is one line of one width between exactly two ends.
    """
    line, ends, size = conductor, Region.nothing(), strip_size(conductor.area, conductor.perimeter)
    for _ in range(_ROUNDS):
        if size is None:
            return None
        width = size[0]
        ends = conductor.grown(-BEND * width / 2).grown(BEND * width / 2)
        narrow = conductor.difference(ends)
        if narrow.empty:
            return None
        line = max(narrow.parts(), key=lambda part: part.area)
        size = strip_size(line.area, line.perimeter)
        if line.area < WHOLE * narrow.area:
            continue
        if size is not None and math.isclose(size[0], width, rel_tol=1e-6):
            break
    else:
        return None
    return size if len(ends.parts()) == 2 and len(line.rings()) == 1 and _even(line, *size) else None


def _even(line: Region, width: float, length: float) -> bool:
    """Whether a strip is nowhere wider than a tenth above its width but in corners, and nowhere narrower than a tenth below."""
    wide = line.grown(-(1 + UNEVEN) * width / 2)
    core = line.grown(-(1 - UNEVEN) * width / 2)
    straight = UNEVEN * width * (length - width)
    return wide.area <= _CORNERS * line.area and len(core.parts()) == 1 and core.area >= straight / 2
